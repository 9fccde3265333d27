"""How long what is still to shoot would take at the unit's pace of the last weeks.

A projection, never a promise: it says what follows if the unit goes on as it did, and it takes no
further retakes into account. The range is that of whole weeks, the slowest and the quickest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from credits.footage.footage import WEEK, Footage, total_of
from credits.model.facts import WeeklyTarget
from credits.units.film_time import iso_week, week_days
from credits.units.rounding import Exact, exact_sum

PACE_WEEKS = 6
"""Weeks with shooting: what is older says little about how quick the unit is now."""
LEAST_PEOPLE = 3
"""Animators: the pace of fewer is that of a person or two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitWeek:
    """A week in which the unit shot: frames of shot footage, and days on which it shot."""

    week: str
    days: int
    shot: Exact
    kept: Exact
    accepted: Exact

    @property
    def pace(self) -> Fraction:
        """Return kept frames a shoot day."""
        return Fraction(self.kept) / self.days


def unit_weeks(footage: Footage) -> tuple[UnitWeek, ...]:
    """Return the weeks with shooting, the first one first; undated work is in none."""
    by_week = defaultdict(list)
    for cell in footage.summed_by("day").cells:
        if cell.day is not None and cell.by_shot_shot:
            by_week[iso_week(cell.day)].append(cell)
    found = []
    for week in sorted(by_week):
        cells = by_week[week]
        frames = total_of(cells).by_shot
        found.append(
            UnitWeek(
                week=week,
                days=len({cell.day for cell in cells}),
                shot=frames.shot,
                kept=frames.kept,
                accepted=frames.accepted,
            )
        )
    return tuple(found)


def people_in(footage: Footage, weeks: Iterable[UnitWeek]) -> int:
    """Count who animated in some weeks."""
    wanted = {each.week for each in weeks}
    cells = footage.summed_by("person", WEEK).cells
    return len({c.person for c in cells if c.day is not None and iso_week(c.day) in wanted})


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitPace:
    """The unit's pace in kept frames a shoot day, over its last weeks with shooting.

    pace: of all of these together. low, high: of the slowest and of the quickest of them.
    days_a_week: shoot days in one of them, on average.
    """

    weeks: tuple[UnitWeek, ...]
    pace: Fraction
    low: Fraction
    high: Fraction
    days_a_week: Fraction


def unit_pace(weeks: Sequence[UnitWeek]) -> UnitPace | None:
    """Return the pace of the last weeks; None where nothing was kept in them."""
    last = tuple(weeks[-PACE_WEEKS:])
    kept, days = exact_sum(week.kept for week in last), sum(week.days for week in last)
    if not kept:
        return None
    return UnitPace(
        weeks=last,
        pace=Fraction(kept) / days,
        low=min(week.pace for week in last),
        high=max(week.pace for week in last),
        days_a_week=Fraction(days, len(last)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """How long something would take: a day or week that is begun counts as one.

    least: at the pace of the quickest week. most: of the slowest; None: nothing was kept in it.
    """

    expected: int
    least: int
    most: int | None


@dataclass(frozen=True, slots=True)
class Projection:
    """How many shoot days frames would take, and how many weeks of as many shoot days as lately."""

    days: Span
    weeks: Span


def projection(frames: int, pace: UnitPace) -> Projection:
    """Return how long it would take to keep so many frames at a pace."""

    def span(a_unit: Fraction) -> Span:
        expected, least = (ceil(frames / (own * a_unit)) for own in (pace.pace, pace.high))
        most = ceil(frames / (pace.low * a_unit)) if pace.low else None
        return Span(expected=expected, least=least, most=most)

    return Projection(span(Fraction(1)), span(pace.days_a_week))


def target_of(week: str, targets: Iterable[WeeklyTarget]) -> int | None:
    """Return how many frames the unit is to keep in an ISO week; None: there is no target.

    A target of a day holds from the week of that day on.
    """
    sunday = week_days(week)[-1]
    begun = [each for each in targets if each.from_on is None or each.from_on <= sunday]
    return begun[-1].frames if begun else None
