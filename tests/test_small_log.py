"""The text that the tests write their productions in means what it says."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from credits.model.facts import CutClip, EntryNumber, Shot, Take
from credits.model.log import Verb
from credits.units.frames import Frames
from tests.small_log import WORKED_EXAMPLE, small_ledger, small_log


def test_cells_become_facts_and_empty_cells_are_not_given() -> None:
    log = small_log("""
        [people]
        person, credit_name, sort_name, name_confirmed_on
        ana, Ana Lind, "Lind, Ana", 2026-02-01
        ben
        [sequences]
        sequence
        010
        [shots]
        shot, sequence, frames
        010-020, 010, 48
        [takes]
        shot, take
        010-020, 2
    """)
    ana, ben = log.people
    assert (ana.sort_name, ana.name_confirmed_on) == ("Lind, Ana", date(2026, 2, 1))
    assert (ben.credit_name, ben.sort_name) == ("Ben", None)
    assert log.shots == (Shot(code="010-020", sequence="010", length=48),)
    assert log.takes == (Take(shot="010-020", number=2),)


def test_entries_are_records_and_lines_correct_them() -> None:
    log = small_log("""
        [people]
        person
        ana
        [entries]
        craft, person, share, finished_on
        sculpt, ana, 1/2, 2026-03-02
        paint, ana
        [lines]
        verb, corrects, craft, person, why
        amend, A-1, casting, ana
        void, A-2, , , never done
    """)
    assert [(str(line.number), line.verb) for line in log.lines] == [
        ("A-1", Verb.RECORD),
        ("A-2", Verb.RECORD),
        ("A-3", Verb.AMEND),
        ("A-4", Verb.VOID),
    ]
    first, _, third, fourth = log.lines
    assert first.work is not None
    assert first.work.share == Fraction(1, 2)
    assert first.logged_at < third.logged_at
    assert (fourth.corrects, fourth.work, fourth.why) == (EntryNumber("A", 2), None, "never done")


def test_clips_lie_end_to_end_and_speed_shortens_them() -> None:
    cut = small_log(
        "", "shot, take, first, last, speed, film_first\na, , 9, 40\nb, 2, 1, 9, 2\na, , 1, 1, , 50"
    ).cut
    assert cut is not None
    assert cut.clips == (
        CutClip(
            order=1, film_first=1, shown=32, shot="a", take=None, source_first=9, source_last=40
        ),
        CutClip(
            order=2,
            film_first=33,
            shown=5,
            shot="b",
            take=2,
            source_first=1,
            source_last=9,
            speed=Fraction(2),
        ),
        CutClip(
            order=3, film_first=50, shown=1, shot="a", take=None, source_first=1, source_last=1
        ),
    )
    assert cut.length == 50


def test_a_code_that_no_table_has_is_refused() -> None:
    with pytest.raises(ValueError, match=r"\[entries\] person 'ana' is not in \[people\]"):
        small_log("""
            [entries]
            craft, person
            sculpt, ana
        """)


def test_the_worked_example_is_seven_entries_on_one_shot() -> None:
    ledger = small_ledger(WORKED_EXAMPLE)
    assert [entry.craft for entry in ledger.entries] == [
        "animation",
        "animation",
        "animation",
        "sculpt",
        "fabrication",
        "voice",
        "repair",
    ]
    assert ledger.entries[2].frames == Frames.span(13, 48)
    assert ledger.cut is not None
    assert ledger.cut.length == 32
