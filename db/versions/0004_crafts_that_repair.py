"""A craft says whether it is a repair, so that a production's own repair craft counts as one.

Revision ID: 0004
Revises: 0003
"""

from __future__ import annotations

from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.execute(
        "ALTER TABLE crafts ADD COLUMN repair INTEGER DEFAULT 0 NOT NULL"
        " CONSTRAINT ck_crafts_repair_is_yes_or_no CHECK (repair IN (0, 1))"
    )
    op.execute("UPDATE crafts SET repair = 1 WHERE craft_key = 'repair'")


def downgrade() -> None:
    op.drop_column("crafts", "repair")
