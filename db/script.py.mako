"""${message}

Revision ID: ${up_revision}
Revises: ${down_revision | comma,n}
"""

from __future__ import annotations

import sqlalchemy as sa
import sqlmodel
from alembic import op
${imports if imports else ""}
revision: str = ${'"%s"' % up_revision}
down_revision: str | None = ${'"%s"' % down_revision if down_revision else "None"}
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
