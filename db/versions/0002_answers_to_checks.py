"""Answers to checks: who settled which question, when and why, and on which facts.

Revision ID: 0002
Revises: 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "settlements",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("check_name", sa.Text(), nullable=False),
        sa.Column("subjects", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("settled_at", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        sa.Column("settled_by", sa.Text(), nullable=True),
        sa.Column("taken_back", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "length(trim(check_name)) > 0", name=op.f("ck_settlements_the_answer_names_a_check")
        ),
        sa.CheckConstraint(
            "CASE WHEN json_valid(subjects) THEN json_type(subjects) = 'array' ELSE 0 END",
            name=op.f("ck_settlements_the_subjects_are_a_list"),
        ),
        sa.CheckConstraint(
            "length(trim(facts)) > 0",
            name=op.f("ck_settlements_the_answer_names_the_facts_it_rests_on"),
        ),
        sa.CheckConstraint(
            "taken_back OR coalesce(length(trim(why)), 0) > 0",
            name=op.f("ck_settlements_an_answer_says_why"),
        ),
        sa.CheckConstraint(
            "taken_back IN (0, 1)", name=op.f("ck_settlements_taken_back_is_yes_or_no")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_settlements")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("settlements")
