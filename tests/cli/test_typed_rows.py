"""A row as somebody types it: what it means, and what is wrong with it."""

from __future__ import annotations

from datetime import date

import pytest

from credits.app.work.rows import TypedRow, read_row
from credits.model.log import WrittenLog
from tests.small_log import small_log

THURSDAY = date(2026, 3, 5)


def film() -> WrittenLog:
    return small_log(
        """
        [people]
        person, credit_name
        ana, Ana Lind
        zoe, Zoë Ødegård
        ben1, Ben Moss
        ben2, Ben Moss

        [characters]
        character, name
        wick, The Wick
        brine, Brine

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames
        010-020, 010, 60

        [stages]
        stage
        s1

        [entries]
        craft, person, character, shot, frames, finished_on, minutes
        animation, ana, wick, 010-020, 1-30, 2026-03-04, 480
        """
    )


def typed(**cells: str) -> TypedRow:
    row = {"craft": "animation", "person": "ana", "character": "wick", "shot": "010-020"}
    return read_row({**row, **cells}, film(), THURSDAY)


def test_names_days_and_lengths_become_what_the_log_has() -> None:
    row = typed(person="zoe odegard", character="the wick", finished_on="mon", minutes="1/2 day")
    assert row.cells["person"] == "zoe"
    assert row.cells["character"] == "wick"
    assert row.cells["finished_on"] == "2026-03-02"
    assert row.cells["minutes"] == "300"
    assert row.findings == ()
    assert row.line is not None
    assert row.line.work is not None
    assert row.line.work.person == "zoe"
    assert row.line.source is None


def test_a_code_is_meant_before_a_name() -> None:
    assert typed(person="BEN1").cells["person"] == "ben1"


def test_a_name_of_two_people_asks_which() -> None:
    (finding,) = typed(person="ben moss").findings
    assert finding.column == "person"
    assert str(finding) == (
        "person 'ben moss': is the name of 2 people."
        " Write the code of one: ben1 (Ben Moss) or ben2 (Ben Moss)."
    )


def test_everything_that_is_wrong_is_said_each_beside_its_column() -> None:
    row = typed(person="anna", frames="60-50", minutes="8x", shot="010-02")
    assert row.line is None
    assert [finding.column for finding in row.findings] == ["person", "shot", "frames", "minutes"]
    assert "Did you mean ana (Ana Lind)?" in str(row.findings[0])


def test_an_entry_that_says_the_same_is_named() -> None:
    same = typed(frames="1-30", finished_on="yesterday", minutes="8h")
    assert str(same.said_by) == "A-1"
    assert typed(frames="31-60", finished_on="yesterday", minutes="8h").said_by is None


@pytest.mark.parametrize("text", ["<script>", "=cmd()", "\u202eana", "ана", "🎩", "x" * 500])
def test_odd_texts_are_findings(text: str) -> None:
    row = typed(person=text)
    assert row.line is None
    assert row.findings[0].column == "person"


def test_an_empty_row_needs_its_craft_and_person() -> None:
    row = read_row({}, film(), THURSDAY)
    assert row.line is None
    assert row.findings != ()
