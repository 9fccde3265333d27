"""Checks of engagements, long days, and nobody left out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from credits.checks.checks import CHECKS
from credits.checks.rule import Known, Severity, find_checks
from credits.figures.snapshot import Snapshot
from tests.checks.small_checks import checks_of, numbers, the_check_of
from tests.small_log import WORKED_EXAMPLE, small_ledger

# --- outside-engagement, no-engagement


ENGAGED = """
    [people]
    person, credit_name
    ana, Ana Lind
    ben, Ben Ode
    [engagements]
    person, job_title, starts_on, ends_on
    ana, Animator, 2026-01-05, 2026-02-27
    ana, Lead animator, 2026-03-16
"""


def test_entries_outside_every_engagement() -> None:
    text = """
        [entries]
        craft, person, finished_on
        rigging, ana, 2026-02-27
        rigging, ana, 2026-02-28
        rigging, ana, 2026-03-15
        rigging, ana, 2026-03-16
        rigging, ana
    """
    check = the_check_of("outside-engagement", ENGAGED + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ana"),)
    assert numbers(check) == ["A-2", "A-3"]
    assert check.message == (
        "Ana Lind (ana) is engaged from 2026-01-05 until 2026-02-27 and from 2026-03-16, and has "
        "2 entries outside that on 2 days from 2026-02-28 to 2026-03-15 (A-2 and A-3)."
    )


def test_entries_inside_an_engagement_or_without_a_date_are_not_outside() -> None:
    text = """
        [entries]
        craft, person, started_on, finished_on
        rigging, ana, 2025-12-20, 2026-01-05
        rigging, ana, , 2027-01-01
        rigging, ana
        rigging, ben, , 2020-01-01
    """
    assert checks_of("outside-engagement", ENGAGED + text) == ()


def test_a_person_with_entries_and_no_engagement() -> None:
    text = """
        [entries]
        craft, person, finished_on
        rigging, ana, 2026-02-02
        rigging, ben, 2026-02-02
        paint, ben
    """
    check = the_check_of("no-engagement", ENGAGED + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ben"),)
    assert numbers(check) == ["A-2", "A-3"]
    assert "Ben Ode (ben) has 2 entries (A-2 and A-3) and no engagement" in check.message


def test_the_engagement_of_the_other_code_of_a_person_counts() -> None:
    text = """
        [people]
        person, same_as
        ana
        anna, ana
        [engagements]
        person, starts_on
        anna, 2026-01-05
        [entries]
        craft, person, finished_on
        rigging, ana, 2026-01-06
    """
    assert checks_of("no-engagement", text) == ()
    assert checks_of("outside-engagement", text) == ()


# --- day-too-long


PEOPLE = """
    [people]
    person
    ana
    ben
"""


def test_more_than_16_hours_on_one_date() -> None:
    text = """
        [entries]
        craft, person, minutes, finished_on
        animation, ana, 600, 2026-03-02
        repair, ana, 361, 2026-03-02
        repair, ana, , 2026-03-02
    """
    check = the_check_of("day-too-long", PEOPLE + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ana"), ("date", "2026-03-02"))
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == "Ana (ana) has 16 h 01 min on 2026-03-02 in 2 entries (A-1 and A-2)."


@pytest.mark.parametrize(
    ("second", "why"),
    [
        ("repair, ana, 360, , 2026-03-02", "16 hours are not more than 16"),
        ("repair, ana, 900, , 2026-03-03", "another date"),
        ("repair, ben, 900, , 2026-03-02", "another person"),
        ("repair, ana, 900", "no date"),
        ("repair, ana, 2400, 2026-02-27, 2026-03-02", "the minutes of four days"),
    ],
)
def test_a_day_that_is_not_too_long(second: str, why: str) -> None:
    text = f"""
        [entries]
        craft, person, minutes, started_on, finished_on
        animation, ana, 600, , 2026-03-02
        {second}
    """
    assert checks_of("day-too-long", PEOPLE + text) == (), why


def test_work_begun_and_finished_on_one_date_counts_as_that_date() -> None:
    text = """
        [entries]
        craft, person, minutes, started_on, finished_on
        animation, ana, 961, 2026-03-02, 2026-03-02
        animation, ana, 961, 2026-03-03
    """
    dates = [check.subjects[1][1] for check in checks_of("day-too-long", PEOPLE + text)]
    assert dates == ["2026-03-02", "2026-03-03"]


# --- left-out


def test_a_person_whom_the_credits_neither_print_nor_hold() -> None:
    results = Snapshot(small_ledger(WORKED_EXAMPLE))
    without_ben = replace(
        results.credits,
        sections=tuple(
            replace(section, lines=tuple(line for line in section.lines if line.person != "ben"))
            for section in results.credits.sections
        ),
    )
    known = Known(ledger=results.ledger, runs=results.runs, use=results.use, credits=without_ben)
    (check,) = (check for check in find_checks(known, CHECKS) if check.kind == "left-out")
    assert check.severity is Severity.WRONG
    assert check.subjects == (("person", "ben"),)
    assert numbers(check) == ["A-2", "A-5"]
    assert "Ben (ben) has 2 entries and 0 engagements" in check.message
    assert "built-in plan" in check.message


def test_somebody_held_is_not_left_out() -> None:
    text = """
        [people]
        person, credit_wish
        ana, uncredited
        ben
        cai
        [engagements]
        person
        ben
        [entries]
        craft, person
        animation, ana
    """
    results = Snapshot(small_ledger(text))
    assert [held.person for held in results.credits.held] == ["ana"]
    assert checks_of("left-out", text) == ()
