"""Checks of what a single entry says: its take, its day, its minutes, its shot."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given

from credits.checks.entries import DayInTheFuture, FootageWithoutShot, TakeMissing, TakeUnknown
from credits.checks.rule import Known, find_checks
from credits.model.facts import Purpose
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.checks.small_checks import FILM, checks_of, numbers, the_check_of
from tests.laws.strategies import productions

TAKES = """
    [takes]
    shot, take, purpose
    010-020, 1, block
    010-020, 2, shoot
    010-020, 3, shoot
    010-030, 1, rehearsal
"""

# --- take-unknown


def test_a_take_that_the_table_does_not_have_while_it_has_others() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, take, frames, finished_on
        animation, ana, wick-1, 010-020, 22, 1-9, 2026-03-02
        rigging, ben, wick-1, 010-020, 22, 1-9, 2026-03-02
        animation, ana, wick-1, 010-020, 2, 10-20, 2026-03-02
    """
    check = the_check_of("take-unknown", FILM + TAKES + text)
    assert check.subjects == (("shot", "010-020"), ("take", "22"))
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == (
        "2 entries (A-1 and A-2) name take 22 of shot 010-020, and the takes table has takes "
        "1, 2 and 3."
    )
    assert check.hint.startswith("If take 2 was meant: credits amend A-2 --take 2;")


@pytest.mark.parametrize(("typed", "meant"), [(33, 3), (4, 3), (12, 2), (31, 3), (99, 3)])
def test_the_take_that_was_most_likely_meant(typed: int, meant: int) -> None:
    text = f"""
        [entries]
        craft, person, puppet, shot, take
        animation, ana, wick-1, 010-020, {typed}
    """
    assert f"If take {meant} was meant" in the_check_of("take-unknown", FILM + TAKES + text).hint


def test_a_shot_without_a_row_in_the_takes_table_may_have_any_take() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, take
        animation, ana, wick-1, 010-020, 7
    """
    assert checks_of("take-unknown", FILM + text) == ()


# --- take-missing


def test_animation_without_a_take_where_the_shot_has_several() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, take, frames, finished_on
        animation, ana, wick-1, 010-020, , 1-9, 2026-03-02
        animation, ana, wick-1, 010-020, 2, 1-9, 2026-03-02
        rigging, ben, wick-1, 010-020, , 1-9, 2026-03-02
    """
    check = the_check_of("take-missing", FILM + TAKES + text)
    assert numbers(check) == ["A-1"]
    assert check.message == (
        "1 entry (A-1) in shot 010-020 names no take, and the shot has takes 1 (block), 2 (shoot) "
        "and 3 (shoot)."
    )
    assert check.hint == "Ask which take it was, then: credits amend A-1 --take 2"


@pytest.mark.parametrize(
    ("take", "is_asked"),
    [
        ("1, block", True),
        ("1, rehearsal", True),
        ("2, shoot", True),
        ("1, shoot", False),
    ],
)
def test_animation_without_a_take_where_the_shot_has_one(take: str, is_asked: bool) -> None:
    text = f"""
        [takes]
        shot, take, purpose
        010-020, {take}
        [entries]
        craft, person, puppet, shot
        animation, ana, wick-1, 010-020
    """
    assert bool(checks_of("take-missing", FILM + text)) == is_asked


# --- footage-without-shot


def test_animation_without_a_shot() -> None:
    text = """
        [entries]
        craft, person, puppet, sequence, shot
        animation, ana, wick-1
        animation, ana, wick-1, 010
        animation, ana, wick-1, , 010-020
        rigging, ana, wick-1
    """
    check = the_check_of("footage-without-shot", FILM + text)
    assert check.subjects == (("person", "ana"), ("craft", "animation"))
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == (
        "Ana Lind (ana) has 2 entries of animation (A-1 and A-2) without a shot, so that no frames "
        "are claimed."
    )


# --- day-in-the-future


def _logged(day: str, at: str) -> str:
    return f"""
        [lines]
        verb, logged_at, craft, person, character, finished_on
        record, {at}, voice, ana, wick, {day}
    """


def test_a_day_after_the_one_on_which_it_was_logged() -> None:
    check = the_check_of("day-in-the-future", FILM + _logged("2027-03-02", "2026-03-02T18:00"))
    assert check.subjects == (("date", "2027-03-02"),)
    assert check.message == (
        "1 entry (A-1) is dated 2027-03-02, and logged on 2026-03-02, before that day."
    )
    assert "credits amend A-1 --finished-on DATE" in check.hint


def test_elsewhere_it_may_be_tomorrow() -> None:
    tomorrow = _logged("2026-03-03", "2026-03-02T23:59")
    assert checks_of("day-in-the-future", FILM + tomorrow) == ()
    assert checks_of("day-in-the-future", FILM + _logged("2026-03-04", "2026-03-02T23:59"))


# --- longer-than-a-day


def _minutes(minutes: int, days: str) -> str:
    return f"""
        [production]
        day_minutes
        420
        [entries]
        craft, person, character, minutes, started_on, finished_on
        sculpt, ana, wick, {minutes}, {days}
    """


@pytest.mark.parametrize(
    ("minutes", "days", "is_asked"),
    [
        (840, ", 2026-03-02", False),
        (841, ", 2026-03-02", True),
        (841, ",", True),
        (841, "2026-03-02, 2026-03-03", False),
        (1681, "2026-03-02, 2026-03-03", True),
        (1680, "2026-03-02, 2026-03-03", False),
    ],
)
def test_more_minutes_than_the_days_can_hold(minutes: int, days: str, is_asked: bool) -> None:
    assert bool(checks_of("longer-than-a-day", FILM + _minutes(minutes, days))) == is_asked


def test_it_says_how_long_and_what_a_day_is() -> None:
    check = the_check_of("longer-than-a-day", FILM + _minutes(6000, "2026-03-02, 2026-03-04"))
    assert check.subjects == (("entry", "A-1"),)
    assert check.message == (
        "A-1 has 100 h 00 min of Ana Lind (ana) for 3 days; a day of the production has 420 "
        "minutes."
    )


def test_a_day_that_is_asked_about_already_is_not_asked_about_twice() -> None:
    text = FILM + _minutes(2000, ", 2026-03-02")
    assert checks_of("longer-than-a-day", text) == ()
    assert len(checks_of("day-too-long", text)) == 1


# --- what holds for every production

ASKED = (TakeUnknown, TakeMissing, FootageWithoutShot, DayInTheFuture)


@given(productions())
def test_entries_are_asked_about_exactly_where_a_look_at_each_says_so(log: WrittenLog) -> None:
    ledger = replay(log)
    asked: dict[str, set[object]] = {}
    for check in find_checks(Known(ledger=ledger, runs={}), ASKED):
        asked.setdefault(check.kind, set()).update(check.entries)
    expected: dict[str, set[object]] = {}
    for entry in ledger.entries:
        own = {take.number: take.purpose for take in log.takes if take.shot == entry.shot}
        footage = next(craft.footage for craft in log.crafts if craft.code == entry.craft)
        take, day = entry.work.take, entry.work.day
        says = {
            "take-unknown": bool(own) and take is not None and take not in own,
            "take-missing": footage and take is None and own not in ({}, {1: Purpose.SHOOT}),
            "footage-without-shot": footage and entry.work.shot is None,
            "day-in-the-future": day is not None
            and day - entry.logged_at.date() > timedelta(days=1),
        }
        for kind, is_asked in says.items():
            expected.setdefault(kind, set()).update([entry.number] if is_asked else [])
    for kind, entries in expected.items():
        assert asked.get(kind, set()) == entries, kind
