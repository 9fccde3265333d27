"""A line knows the sheet that it came in; rows of lists are voided and corrected with a reason.

The sheet of older lines is read from where they were read: the file's name without folder and
ending, and in a workbook the sheet's name.

Revision ID: 0005
Revises: 0004
"""

from __future__ import annotations

import re

import sqlalchemy as sa
from alembic import op

revision: str = "0005"
down_revision: str | None = "0004"
branch_labels: str | None = None
depends_on: str | None = None

_SOURCE = re.compile(r"(?:.*/)?(?P<file>[^/]+?)\.[A-Za-z]+(?: sheet (?P<sheet>.+))? row [0-9]+")


def sheet_of(source: str) -> str | None:
    """Return the sheet of a source such as ``week/entries.csv row 3``; None: it is of no sheet."""
    found = _SOURCE.fullmatch(source)
    if found is None:
        return None
    return "/".join(name for name in (found["file"], found["sheet"]) if name)


def upgrade() -> None:
    op.execute("ALTER TABLE entries ADD COLUMN sheet TEXT")
    connection = op.get_bind()
    sources = connection.execute(
        sa.text("SELECT line, source FROM entries WHERE source IS NOT NULL")
    )
    known = [
        {"line": line, "sheet": sheet} for line, source in sources if (sheet := sheet_of(source))
    ]
    if known:
        connection.execute(sa.text("UPDATE entries SET sheet = :sheet WHERE line = :line"), known)
    op.create_table(
        "list_corrections",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.Text(), nullable=False),
        sa.Column("row_key", sa.Text(), nullable=False),
        sa.Column("instead", sa.Text(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("corrected_by", sa.Text(), nullable=True),
        sa.Column("written_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(trim(table_name)) > 0",
            name=op.f("ck_list_corrections_the_correction_names_a_table"),
        ),
        sa.CheckConstraint(
            "length(trim(row_key)) > 0",
            name=op.f("ck_list_corrections_the_correction_names_a_row"),
        ),
        sa.CheckConstraint(
            "length(trim(why)) > 0", name=op.f("ck_list_corrections_the_correction_says_why")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_list_corrections")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("list_corrections")
    op.drop_column("entries", "sheet")
