"""A proof has a seal, by which it shows that nobody has altered it; shots belong to episodes.

Older proofs are sealed as they are found. The rule is written out here: it is that of this version.

Revision ID: 0006
Revises: 0005
"""

from __future__ import annotations

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision: str = "0006"
down_revision: str | None = "0005"
branch_labels: str | None = None
depends_on: str | None = None

SEALED = (
    "number", "saved_at", "saved_by", "note", "plan_text", "cut", "last_line", "log_lines",
    "changes", "lines", "people", "content", "episode",
)  # fmt: skip


def upgrade() -> None:
    op.execute("ALTER TABLE shots ADD COLUMN episode TEXT")
    op.execute(
        "ALTER TABLE proofs ADD COLUMN seal TEXT"
        " CONSTRAINT ck_proofs_the_seal_is_64_digits CHECK (length(seal) = 64)"
    )
    op.execute("ALTER TABLE proofs ADD COLUMN episode TEXT")
    connection = op.get_bind()
    proofs = connection.execute(sa.text(f"SELECT {', '.join(SEALED)} FROM proofs")).all()
    for row in proofs:
        said = dict(zip(SEALED, row, strict=True))
        text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
        seal = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
        statement = sa.text("UPDATE proofs SET seal = :seal WHERE number = :number")
        connection.execute(statement, {"seal": seal, "number": row[0]})


def downgrade() -> None:
    with op.batch_alter_table("proofs") as proofs:
        proofs.drop_constraint("ck_proofs_the_seal_is_64_digits", type_="check")
        proofs.drop_column("seal")
        proofs.drop_column("episode")
    op.drop_column("shots", "episode")
