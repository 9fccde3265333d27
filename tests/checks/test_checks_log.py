"""Checks of the log itself."""

from __future__ import annotations

from credits.checks.rule import Severity
from tests.checks.small_checks import checks_of, numbers, the_check_of

# --- omitted-shot-worked


OMITTED = """
    [people]
    person
    ana
    [characters]
    character
    wick
    [sequences]
    sequence
    010
    [shots]
    shot, sequence, frames, status
    010-020, 010, 48, omitted
    010-030, 010, 48, shooting
    010-040, 010, 48, omitted
"""


def test_entries_on_an_omitted_shot() -> None:
    text = """
        [entries]
        craft, person, character, shot, finished_on
        animation, ana, wick, 010-020, 2026-03-02
        rigging, ana, wick, 010-020, 2026-03-04
        animation, ana, wick, 010-030, 2026-03-04
    """
    check = the_check_of("omitted-shot-worked", OMITTED + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("shot", "010-020"),)
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == (
        "Shot 010-020 is omitted, and has 2 entries on 2 days from 2026-03-02 to 2026-03-04 "
        "(A-1 and A-2)."
    )


def test_an_omitted_shot_whose_entries_were_voided() -> None:
    text = """
        [entries]
        craft, person, character, shot
        animation, ana, wick, 010-020
        animation, ana, wick, 010-030
        [lines]
        verb, corrects
        void, A-1
    """
    assert checks_of("omitted-shot-worked", OMITTED + text) == ()


# --- amended-twice


def test_two_amendments_that_do_not_know_of_each_other() -> None:
    check = the_check_of(
        "amended-twice",
        """
        [people]
        person
        ana
        [entries]
        craft, person
        paint, ana
        [lines]
        number, verb, corrects, craft, person, logged_at
        A-2, amend, A-1, costume, ana, 2026-02-02T09:00
        B-1, amend, A-1, hair, ana, 2026-02-01T09:00
        """,
    )
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("entry", "A-1"),)
    assert numbers(check) == ["A-2", "B-1"]
    assert check.message == (
        "A-1 was corrected by A-2 and B-1, which do not know of each other; A-2 counts."
    )


def test_an_amendment_of_an_amendment_knows_of_it() -> None:
    text = """
        [people]
        person
        ana
        [entries]
        craft, person
        paint, ana
        [lines]
        verb, corrects, craft, person
        amend, A-1, costume, ana
        amend, A-2, hair, ana
    """
    assert checks_of("amended-twice", text) == ()
