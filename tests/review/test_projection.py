"""The unit's pace of the last weeks, and how long so many frames would take at it."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from credits.figures.snapshot import Snapshot
from credits.model.facts import WeeklyTarget
from credits.review.projection import (
    PACE_WEEKS,
    Span,
    UnitWeek,
    people_in,
    projection,
    target_of,
    unit_pace,
    unit_weeks,
)
from tests.small_log import small_ledger

WORK = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 240

    [takes]
    shot, take, decision
    010-010, 1, accepted

    [entries]
    craft, person, character, shot, take, frames, finished_on
    animation, ana, wick, 010-010, 1, 1-40, 2026-03-02
    animation, ben, wick, 010-010, 1, 41-60, 2026-03-02
    animation, ana, wick, 010-010, 1, 31-40, 2026-03-04
    animation, ana, wick, 010-010, 1, 61-80, 2026-03-16
    animation, ben, wick, 010-010, 2, 1-9, 2026-03-16
    animation, ben, wick, 010-010, 1, 200-240
"""


def week(kept: int, days: int = 5, name: str = "2026-W10") -> UnitWeek:
    return UnitWeek(week=name, days=days, shot=kept, kept=kept, accepted=0)


def test_weeks_with_shooting_have_their_frames_and_days_and_undated_work_is_in_none() -> None:
    footage = Snapshot(small_ledger(WORK)).footage
    weeks = unit_weeks(footage)
    assert [(own.week, own.days, own.shot, own.kept, own.accepted) for own in weeks] == [
        ("2026-W10", 2, 70, 60, 60),
        ("2026-W12", 1, 29, 29, 20),
    ]
    assert (people_in(footage, weeks), people_in(footage, weeks[:0])) == (2, 0)


def test_the_pace_is_that_of_the_last_weeks_together_and_its_range_that_of_single_ones() -> None:
    pace = unit_pace([week(900, 1), *(week(kept) for kept in (100, 200, 150, 50, 100, 300))])
    assert pace is not None
    assert len(pace.weeks) == PACE_WEEKS
    assert (pace.pace, pace.low, pace.high) == (30, 10, 60)
    assert pace.days_a_week == 5
    found = projection(1000, pace)
    # 33 1/3 shoot days: the thirty-fourth is begun.
    assert found.days == Span(expected=34, least=17, most=100)
    assert found.weeks == Span(expected=7, least=4, most=20)


def test_one_week_alone_has_no_range_and_a_week_without_frames_no_end() -> None:
    one = unit_pace([week(100, 4)])
    assert one is not None
    assert projection(100, one).days == Span(expected=4, least=4, most=4)
    lost = unit_pace([week(0, 1), week(100, 4)])
    assert lost is not None
    assert projection(100, lost).days == Span(expected=5, least=4, most=None)


def test_without_kept_frames_there_is_no_pace() -> None:
    assert unit_pace([]) is None
    assert unit_pace([week(0)]) is None


@given(
    kept=st.lists(st.integers(0, 500), min_size=1, max_size=9),
    frames=st.integers(0, 10_000),
    more=st.integers(0, 1000),
)
def test_more_frames_never_take_less_and_the_expected_lies_in_the_range(
    kept: list[int], frames: int, more: int
) -> None:
    pace = unit_pace([week(each, 1 + at % 5) for at, each in enumerate(kept)])
    if pace is None:
        assert not any(kept[-PACE_WEEKS:])
        return
    fewer, many = projection(frames, pace), projection(frames + more, pace)
    for few, much in ((fewer.days, many.days), (fewer.weeks, many.weeks)):
        assert few.least <= few.expected <= much.expected
        assert few.most is None or few.expected <= few.most
    assert Fraction(fewer.days.expected) * pace.pace >= frames


def test_a_target_of_a_day_holds_from_its_week_on() -> None:
    targets = (WeeklyTarget(200, date(2026, 3, 4)), WeeklyTarget(300, date(2026, 3, 16)))
    weeks = ("2026-W09", "2026-W10", "2026-W11", "2026-W12", "2027-W01")
    assert [target_of(week, targets) for week in weeks] == [None, 200, 200, 300, 300]
    assert target_of("2026-W09", (WeeklyTarget(5),)) == 5
    assert target_of("2026-W09", ()) is None


def test_a_day_of_which_nothing_was_kept_is_a_shoot_day_of_the_unit() -> None:
    # All of 2 March was photographed again on the 4th.
    text = WORK.replace("wick, 010-010, 1, 31-40, 2026-03-04", "wick, 010-010, 1, 1-60, 2026-03-04")
    first, _ = unit_weeks(Snapshot(small_ledger(text)).footage)
    assert (first.days, first.shot, first.kept, first.pace) == (2, 120, 60, 30)
