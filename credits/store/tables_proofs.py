"""The tables of the end credits: frozen proofs, and words on how names are spelled.

Both are append-only; ``triggers.py`` sees to it.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlmodel import Field

from credits.store.tables_base import (
    LogTable,
    code_of,
    has_text,
    is_date,
    position,
    rules,
    yes_or_no,
)


class ConfirmationRow(LogTable, table=True):
    """A word on how a name is spelled. A date in the people table writes one by trigger."""

    __tablename__ = "confirmations"
    __table_args__ = rules(
        the_confirmed_name_has_text=has_text("name"),
        confirmed_on_is_a_date=is_date("confirmed_on"),
        is_right_is_yes_or_no=yes_or_no("is_right"),
    )
    position: int | None = position()
    person: str = code_of("people.person")
    name: str
    confirmed_on: date
    is_right: bool
    confirmed_by: str | None
    written_at: datetime


class ProofRow(LogTable, table=True):
    """A frozen compilation of the credits, and how far the log went when it was made."""

    __tablename__ = "proofs"
    __table_args__ = rules(
        the_number_counts_from_1="number >= 1",
        the_proof_names_its_plan=has_text("plan_text"),
        the_log_lines_are_not_negative="log_lines >= 0",
        the_changes_are_not_negative="changes >= 0",
        the_lines_are_not_negative="lines >= 0",
        the_people_are_not_negative="people >= 0",
        the_content_is_an_object=(
            "CASE WHEN json_valid(content) THEN json_type(content) = 'object' ELSE 0 END"
        ),
    )
    number: int | None = Field(default=None, primary_key=True)
    saved_at: datetime
    saved_by: str | None
    note: str | None
    plan_text: str
    cut: int | None = Field(foreign_key="cut_versions.version")
    last_line: str | None
    log_lines: int
    changes: int
    lines: int
    people: int
    content: str
