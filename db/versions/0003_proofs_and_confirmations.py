"""Proofs of the credits, and words on how names are spelled.

What the history knows of dates in the people table becomes the first words, each on the name as it
stood when the date came in.

Revision ID: 0003
Revises: 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0003"
down_revision: str | None = "0002"
branch_labels: str | None = None
depends_on: str | None = None

WORDS_GIVEN = """
    INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at)
    SELECT code,
        CASE WHEN new_on IS NULL THEN old_name ELSE new_name END,
        coalesce(new_on, old_on), new_on IS NOT NULL, changed_at
    FROM (
        SELECT position, code, changed_at,
            json_extract(old_row, '$.credit_name') AS old_name,
            json_extract(new_row, '$.credit_name') AS new_name,
            json_extract(old_row, '$.name_confirmed_on') AS old_on,
            json_extract(new_row, '$.name_confirmed_on') AS new_on
        FROM history WHERE table_name = 'people' AND new_row IS NOT NULL
    )
    WHERE new_on IS NOT old_on ORDER BY position
"""


def upgrade() -> None:
    op.create_table(
        "confirmations",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("confirmed_on", sa.Text(), nullable=False),
        sa.Column("is_right", sa.Integer(), nullable=False),
        sa.Column("confirmed_by", sa.Text(), nullable=True),
        sa.Column("written_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(trim(name)) > 0", name=op.f("ck_confirmations_the_confirmed_name_has_text")
        ),
        sa.CheckConstraint(
            "confirmed_on IS date(confirmed_on)",
            name=op.f("ck_confirmations_confirmed_on_is_a_date"),
        ),
        sa.CheckConstraint(
            "is_right IN (0, 1)", name=op.f("ck_confirmations_is_right_is_yes_or_no")
        ),
        sa.ForeignKeyConstraint(
            ["person"], ["people.person"], name=op.f("fk_confirmations_person_people")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_confirmations")),
        sqlite_strict=True,
    )
    op.create_table(
        "proofs",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("saved_at", sa.Text(), nullable=False),
        sa.Column("saved_by", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("plan_text", sa.Text(), nullable=False),
        sa.Column("cut", sa.Integer(), nullable=True),
        sa.Column("last_line", sa.Text(), nullable=True),
        sa.Column("log_lines", sa.Integer(), nullable=False),
        sa.Column("changes", sa.Integer(), nullable=False),
        sa.Column("lines", sa.Integer(), nullable=False),
        sa.Column("people", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.CheckConstraint("number >= 1", name=op.f("ck_proofs_the_number_counts_from_1")),
        sa.CheckConstraint(
            "length(trim(plan_text)) > 0", name=op.f("ck_proofs_the_proof_names_its_plan")
        ),
        sa.CheckConstraint("log_lines >= 0", name=op.f("ck_proofs_the_log_lines_are_not_negative")),
        sa.CheckConstraint("changes >= 0", name=op.f("ck_proofs_the_changes_are_not_negative")),
        sa.CheckConstraint("lines >= 0", name=op.f("ck_proofs_the_lines_are_not_negative")),
        sa.CheckConstraint("people >= 0", name=op.f("ck_proofs_the_people_are_not_negative")),
        sa.CheckConstraint(
            "CASE WHEN json_valid(content) THEN json_type(content) = 'object' ELSE 0 END",
            name=op.f("ck_proofs_the_content_is_an_object"),
        ),
        sa.ForeignKeyConstraint(
            ["cut"], ["cut_versions.version"], name=op.f("fk_proofs_cut_cut_versions")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_proofs")),
        sqlite_strict=True,
    )
    op.execute(WORDS_GIVEN)


def downgrade() -> None:
    op.drop_table("proofs")
    op.drop_table("confirmations")
