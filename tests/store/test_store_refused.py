"""What the log refuses, and the words in which it does."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from credits.errors import CreditsError, ProblemsFound
from credits.model.facts import Engagement, EntryNumber, Person, Shot, Take, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store import open_log
from credits.units.frames import NO_FRAMES, Frames


def refused(folder: Path, batch: Batch) -> str:
    """The words in which the batch is refused; nothing of it is left."""
    with open_log(folder) as log:
        before = log.read()
        with pytest.raises(ProblemsFound) as caught, log.writing() as pen:
            pen.write(batch)
        assert log.read() == before
    return str(caught.value)


def record(work: Work, source: str | None = None) -> NewLine:
    return NewLine(Verb.RECORD, work, source=source)


def test_an_unknown_code_is_named_with_its_place(film: Path) -> None:
    batch = Batch(
        lines=(
            record(Work("voice", "ana", "wick"), "entries.csv row 2"),
            record(Work("voise", "ana", "wick"), "entries.csv row 3"),
            record(Work("voice", "cai", "wik"), "entries.csv row 4"),
        )
    )
    assert refused(film, batch).splitlines() == [
        "entries.csv row 3: craft 'voise': is not in the crafts table."
        " Add it to the crafts table, or correct the code.",
        "entries.csv row 4: character 'wik': is not in the characters table."
        " Add it to the characters table, or correct the code.",
        "entries.csv row 4: person 'cai': is not in the people table."
        " Add it to the people table, or correct the code.",
    ]


def test_a_code_spelled_with_other_case_is_told_its_spelling(film: Path) -> None:
    said = refused(film, Batch(lines=(record(Work("voice", "ANA", "wick")),)))
    assert said == (
        "entry row 1: person 'ANA': is not in the people table. There it is spelled ana."
    )


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (record(Work("voice", "ana", minutes=-1)), "the minutes are not negative"),
        (record(Work("voice", "ana", wait_minutes=-1)), "the wait minutes are not negative"),
        (record(Work("voice", "ana", shot="010-020", take=0)), "the take counts from 1"),
        (record(Work("voice", "ana", take=1)), "a take and frames are of a shot"),
        (record(Work("voice", "ana", frames=Frames.span(1, 2))), "a take and frames are of a shot"),
        (record(Work("voice", "ana", shot="010-020", frames=NO_FRAMES)), "names frames or leaves"),
        (record(Work("voice", "ana", poses_on=0)), "poses are held for 1 frame or more"),
        (record(Work("voice", "ana", share=Fraction(0))), "the share is a positive number"),
        (record(Work("voice", "ana", share=Fraction(-1, 2))), "the share is a positive number"),
        (
            record(Work("voice", "ana", started_on=date(2026, 3, 2), finished_on=date(2026, 3, 1))),
            "the work is finished after it is started",
        ),
        (record(Work("voice", "ana", minutes=2**63)), "is too large a number"),
        (record(Work("voice", "ana", note="\ud800")), "cannot be kept as UTF-8"),
        (NewLine(Verb.RECORD), "a record or amend names a craft and a person"),
        (NewLine(Verb.AMEND, Work("voice", "ana")), "names the line it corrects"),
        (NewLine(Verb.RECORD, Work("voice", "ana"), EntryNumber("A", 1)), "corrects no line"),
        (NewLine(Verb.VOID), "names the line it corrects"),
        (NewLine(Verb.VOID, Work("voice", "ana"), EntryNumber("A", 1)), "a void carries no work"),
        (NewLine(Verb.VOID, None, EntryNumber("A", 2)), "'A-2': corrects a line that the log"),
        (NewLine(Verb.VOID, None, EntryNumber("A", 9)), "'A-9': corrects a line that the log"),
        (NewLine(Verb.VOID, None, EntryNumber("B", 1)), "'B-1': corrects a line that the log"),
    ],
)
def test_a_line_that_cannot_be_true_is_refused(film: Path, line: NewLine, said: str) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(lines=(record(Work("voice", "ben", "wick")),)))
    assert said in refused(film, Batch(lines=(line,)))


def test_a_void_is_not_corrected(film: Path) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(lines=(record(Work("voice", "ana", "wick")),)))
        pen.write(Batch(lines=(NewLine(Verb.VOID, None, EntryNumber("A", 1)),)))
    amend = NewLine(Verb.AMEND, Work("voice", "ana", "wick"), EntryNumber("A", 2))
    assert "a void is not corrected: write a new entry" in refused(film, Batch(lines=(amend,)))


@pytest.mark.parametrize(
    ("batch", "said"),
    [
        (Batch(people=(Person("", "Nobody"),)), "the person has a code"),
        (Batch(people=(Person("cai", " "),)), "person 'cai': .*the person has a credit name"),
        (Batch(people=(Person("ana", "Ana", same_as="zed"),)), "same_as 'zed': ana is the same as"),
        (Batch(people=(Person("ana", "Ana", same_as="ana"),)), "nobody is the same as themselves"),
        (Batch(shots=(Shot("010-030", "020", 48),)), "sequence '020': is not in the sequences"),
        (Batch(shots=(Shot("010-030", "010", 0),)), "shot '010-030': .*at least 1 frame"),
        (Batch(takes=(Take("010-020", 0),)), "the take counts from 1"),
        (
            Batch(
                engagements=(
                    Engagement("ana", "Art", "Painter", date(2026, 1, 2), date(2026, 1, 1)),
                )
            ),
            "the engagement ends after it starts",
        ),
    ],
)
def test_a_row_that_cannot_be_true_is_refused(film: Path, batch: Batch, said: str) -> None:
    import re

    assert re.search(said, refused(film, batch))


def test_a_changed_row_is_refused_like_a_new_one(film: Path) -> None:
    assert "at least 1 frame" in refused(film, Batch(shots=(Shot("010-020", "010", -4),)))


def test_a_refused_batch_leaves_the_batch_before_it_in_the_same_transaction(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(Batch(people=(Person("cai", "Cai"),)))
            with pytest.raises(CreditsError):
                pen.write(
                    Batch(people=(Person("dee", "Dee"),), lines=(record(Work("voice", "zed")),))
                )
        assert [p.code for p in log.read().people] == ["ana", "ben", "cai"]
