"""What the log refuses, and the words in which it does."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from credits.errors import CreditsError, ProblemsFound
from credits.model.facts import Engagement, EntryNumber, Person, Shot, Take, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store.log import open_log
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
    return NewLine(verb=Verb.RECORD, work=work, source=source)


def test_an_unknown_code_is_named_with_its_place(film: Path) -> None:
    batch = Batch(
        lines=(
            record(Work(craft="voice", person="ana", character="wick"), "entries.csv row 2"),
            record(Work(craft="voise", person="ana", character="wick"), "entries.csv row 3"),
            record(Work(craft="voice", person="cai", character="wik"), "entries.csv row 4"),
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
    said = refused(
        film, Batch(lines=(record(Work(craft="voice", person="ANA", character="wick")),))
    )
    assert said == (
        "entry row 1: person 'ANA': is not in the people table. There it is spelled ana."
    )


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (record(Work(craft="voice", person="ana", minutes=-1)), "the minutes are not negative"),
        (
            record(Work(craft="voice", person="ana", wait_minutes=-1)),
            "the wait minutes are not negative",
        ),
        (
            record(Work(craft="voice", person="ana", shot="010-020", take=0)),
            "the take counts from 1",
        ),
        (record(Work(craft="voice", person="ana", take=1)), "a take and frames are of a shot"),
        (
            record(Work(craft="voice", person="ana", frames=Frames.span(1, 2))),
            "a take and frames are of a shot",
        ),
        (
            record(Work(craft="voice", person="ana", shot="010-020", frames=NO_FRAMES)),
            "names frames or leaves",
        ),
        (
            record(Work(craft="voice", person="ana", poses_on=0)),
            "poses are held for 1 frame or more",
        ),
        (
            record(Work(craft="voice", person="ana", share=Fraction(0))),
            "the share is a positive number",
        ),
        (
            record(Work(craft="voice", person="ana", share=Fraction(-1, 2))),
            "the share is a positive number",
        ),
        (
            record(
                Work(
                    craft="voice",
                    person="ana",
                    started_on=date(2026, 3, 2),
                    finished_on=date(2026, 3, 1),
                )
            ),
            "the work is finished after it is started",
        ),
        (record(Work(craft="voice", person="ana", minutes=2**63)), "is too large a number"),
        (record(Work(craft="voice", person="ana", note="\ud800")), "cannot be kept as UTF-8"),
        (NewLine(verb=Verb.RECORD), "a record or amend names a craft and a person"),
        (
            NewLine(verb=Verb.AMEND, work=Work(craft="voice", person="ana")),
            "names the line it corrects",
        ),
        (
            NewLine(
                verb=Verb.RECORD,
                work=Work(craft="voice", person="ana"),
                corrects=EntryNumber("A", 1),
            ),
            "corrects no line",
        ),
        (NewLine(verb=Verb.VOID), "names the line it corrects"),
        (
            NewLine(
                verb=Verb.VOID, work=Work(craft="voice", person="ana"), corrects=EntryNumber("A", 1)
            ),
            "a void carries no work",
        ),
        (
            NewLine(verb=Verb.VOID, work=None, corrects=EntryNumber("A", 2)),
            "'A-2': corrects a line that the log",
        ),
        (
            NewLine(verb=Verb.VOID, work=None, corrects=EntryNumber("A", 9)),
            "'A-9': corrects a line that the log",
        ),
        (
            NewLine(verb=Verb.VOID, work=None, corrects=EntryNumber("B", 1)),
            "'B-1': corrects a line that the log",
        ),
    ],
)
def test_a_line_that_cannot_be_true_is_refused(film: Path, line: NewLine, said: str) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(lines=(record(Work(craft="voice", person="ben", character="wick")),)))
    assert said in refused(film, Batch(lines=(line,)))


def test_a_void_is_not_corrected(film: Path) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(lines=(record(Work(craft="voice", person="ana", character="wick")),)))
        pen.write(Batch(lines=(NewLine(verb=Verb.VOID, work=None, corrects=EntryNumber("A", 1)),)))
    amend = NewLine(
        verb=Verb.AMEND,
        work=Work(craft="voice", person="ana", character="wick"),
        corrects=EntryNumber("A", 2),
    )
    assert "a void is not corrected: write a new entry" in refused(film, Batch(lines=(amend,)))


@pytest.mark.parametrize(
    ("batch", "said"),
    [
        (Batch(people=(Person(code="", credit_name="Nobody"),)), "the person has a code"),
        (
            Batch(people=(Person(code="cai", credit_name=" "),)),
            "person 'cai': .*the person has a credit name",
        ),
        (
            Batch(people=(Person(code="ana", credit_name="Ana", same_as="zed"),)),
            "same_as 'zed': ana is the same as",
        ),
        (
            Batch(people=(Person(code="ana", credit_name="Ana", same_as="ana"),)),
            "nobody is the same as themselves",
        ),
        (
            Batch(shots=(Shot(code="010-030", sequence="020", length=48),)),
            "sequence '020': is not in the sequences",
        ),
        (
            Batch(shots=(Shot(code="010-030", sequence="010", length=0),)),
            "shot '010-030': .*at least 1 frame",
        ),
        (Batch(takes=(Take(shot="010-020", number=0),)), "the take counts from 1"),
        (
            Batch(
                engagements=(
                    Engagement(
                        person="ana",
                        department="Art",
                        job_title="Painter",
                        starts_on=date(2026, 1, 2),
                        ends_on=date(2026, 1, 1),
                    ),
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
    assert "at least 1 frame" in refused(
        film, Batch(shots=(Shot(code="010-020", sequence="010", length=-4),))
    )


def test_a_refused_batch_leaves_the_batch_before_it_in_the_same_transaction(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
            with pytest.raises(CreditsError):
                pen.write(
                    Batch(
                        people=(Person(code="dee", credit_name="Dee"),),
                        lines=(record(Work(craft="voice", person="zed")),),
                    )
                )
        assert [p.code for p in log.read().people] == ["ana", "ben", "cai"]


def test_a_refused_first_batch_leaves_nothing_and_the_next_one_is_written(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            with pytest.raises(ProblemsFound):
                pen.write(
                    Batch(
                        people=(Person(code="dee", credit_name="Dee"),),
                        lines=(record(Work(craft="voice", person="zed")),),
                    )
                )
            pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
        assert [p.code for p in log.read().people] == ["ana", "ben", "cai"]
        assert log.read().lines == ()


def test_every_refused_row_is_named_in_a_later_batch_of_a_transaction_too(film: Path) -> None:
    wrong = tuple(record(Work(craft="voice", person=who)) for who in ("yan", "ana", "zed"))
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
        with pytest.raises(ProblemsFound) as caught:
            pen.write(Batch(lines=wrong))
    assert [finding.value for finding in caught.value.findings] == ["yan", "zed"]
