"""A line that is written says what was to be written."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime

from credits.model.facts import EntryNumber, Work
from credits.model.log import NewLine, Verb


def test_a_written_line_says_everything_that_was_said_of_it() -> None:
    said = NewLine(
        verb=Verb.AMEND,
        work=Work(craft="animation", person="ana"),
        corrects=EntryNumber("A", 3),
        logged_by="ben",
        why="misread",
        ref="12",
        source="unit.csv:4",
        sheet="unit",
    )
    assert all(getattr(said, field.name) is not None for field in fields(NewLine))
    line = said.written(EntryNumber("A", 7), datetime(2026, 3, 2, tzinfo=UTC))
    assert (line.number, line.logged_at.day) == (EntryNumber("A", 7), 2)
    for field in fields(NewLine):
        assert getattr(line, field.name) == getattr(said, field.name)
