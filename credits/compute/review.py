"""One animator's review: figures by week and by shot, with the unit's range as context (3.7).

A basis for a conversation, not a ranking: nobody else is named, no score is made, and a range that
could be only one or two other people's is left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial

from credits.compute.claims import Exact, TakeRuns
from credits.compute.footage import MEASURES, Footage
from credits.compute.review_days import DayWork, day_works
from credits.compute.review_figures import Figures, figures_of, figures_together
from credits.compute.review_waits import Wait
from credits.film_time import FrameRate, iso_week, week_days
from credits.ledger.ledger import Ledger

LEAST_OTHERS = 3
FOUR_WEEKS = timedelta(days=28)
MOST_EARLIER = 12

Of = Callable[[Figures], Exact | None]


@dataclass(frozen=True, slots=True)
class Period:
    """From a day to a day, both included; None: no end on that side.

    A period with an end holds dated work alone; one without holds undated work too.
    """

    first: date | None = None
    last: date | None = None

    def holds(self, day: date | None) -> bool:
        """Whether work of that day counts."""
        if day is None:
            return self.first is None and self.last is None
        return (self.first or day) <= day <= (self.last or day)


WHOLE_TIME = Period()


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and the highest figure of the others, exactly, and how many others have one."""

    low: Exact
    high: Exact
    others: int


@dataclass(frozen=True, slots=True)
class WeekReview:
    """A week (None: undated work), its figures, the same by shot, the others' ranges that week."""

    week: str | None
    figures: Figures
    shots: tuple[ShotReview, ...]
    ranges: Mapping[str, Range]


@dataclass(frozen=True, slots=True)
class ShotReview:
    """A shot (None: work and waits on no one shot) and its figures in the period or week."""

    shot: str | None
    figures: Figures


@dataclass(frozen=True, slots=True)
class EarlierReview:
    """An earlier period of the same person."""

    period: Period
    figures: Figures


@dataclass(frozen=True, slots=True)
class Review:
    """The whole review. ``total`` is the sum of ``weeks`` and of the footage of ``shots``.

    ``ranges``: by the name of a figure, over the same weeks; those of fewer than three others are
    left out. ``others``: how many others animated in those weeks. ``waits``: the repairs behind
    the wait. ``works``: everything that the figures are sums of.
    """

    person: str
    period: Period
    total: Figures
    weeks: tuple[WeekReview, ...]
    shots: tuple[ShotReview, ...]
    ranges: Mapping[str, Range]
    others: int
    earlier: tuple[EarlierReview, ...]
    waits: tuple[Wait, ...]
    works: tuple[DayWork, ...]


def _measure(name: str, figures: Figures) -> Exact:
    return figures.footing.by_shot.of(name)


def figures_by_name(rate: FrameRate) -> dict[str, Of]:
    """Every figure that a review compares over time and with the unit, by its name."""
    return {
        **{name: partial(_measure, name) for name in MEASURES},
        "character_kept": lambda f: f.footing.character.kept,
        "stage_days": lambda f: f.stage_days,
        "shoot_days": lambda f: f.shoot_days,
        "block_days": lambda f: f.block_days,
        "rehearsal_days": lambda f: f.rehearsal_days,
        "pace": lambda f: f.pace(rate),
        "poses": lambda f: f.poses,
        "reshot_share": lambda f: f.reshot_share,
        "characters_a_frame": lambda f: f.characters_a_frame,
        "wait": lambda f: f.wait,
        "takes": lambda f: len(f.takes),
        "minutes": lambda f: f.minutes,
    }


def _week_of(work: DayWork) -> str | None:
    return iso_week(work.day) if work.day is not None else None


def _by_shot(works: Iterable[DayWork], places: Mapping[str, int]) -> tuple[ShotReview, ...]:
    by_shot: dict[str | None, list[DayWork]] = defaultdict(list)
    for work in works:
        by_shot[work.shot].append(work)
    ordered = sorted(by_shot, key=lambda shot: len(places) if shot is None else places[shot])
    return tuple(ShotReview(shot, figures_of(by_shot[shot])) for shot in ordered)


def _weeks(works: Iterable[DayWork]) -> dict[str | None, list[DayWork]]:
    """Work by week, undated first."""
    by_week: dict[str | None, list[DayWork]] = defaultdict(list)
    for work in works:
        by_week[_week_of(work)].append(work)
    return dict(sorted(by_week.items(), key=lambda item: item[0] or ""))


class Reviews:
    """The reviews of a production. What they share is summed once."""

    def __init__(
        self, ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], footage: Footage
    ) -> None:
        self.ledger = ledger
        self.works = day_works(ledger, runs, footage)
        self._places = {shot: place for place, shot in enumerate(ledger.shots)}
        self._names = figures_by_name(ledger.production.rate)
        self._by_week: dict[Period, dict[str, dict[str, Figures]]] = {}

    def _others_weeks(self, period: Period) -> dict[str, dict[str, Figures]]:
        """Everybody's figures by week, of the weeks in which they animated."""
        known = self._by_week.get(period)
        if known is None:
            known = self._by_week[period] = {
                person: {
                    week: figures
                    for week, own in _weeks(w for w in works if period.holds(w.day)).items()
                    if week is not None and (figures := figures_of(own)).stage_days
                }
                for person, works in self.works.items()
            }
        return known

    def _ranges(self, person: str, period: Period, weeks: set[str]) -> tuple[dict[str, Range], int]:
        """The others' ranges in those weeks, and how many others animated then."""
        others = []
        for other, by_week in self._others_weeks(period).items():
            own = [figures for week, figures in by_week.items() if week in weeks]
            if other != person and own:
                others.append(own[0] if len(own) == 1 else figures_together(own))
        ranges = {}
        for name, of in self._names.items():
            found = [value for figures in others if (value := of(figures)) is not None]
            if len(found) >= LEAST_OTHERS:
                ranges[name] = Range(min(found), max(found), len(found))
        return ranges, len(others)

    def _week(
        self, person: str, period: Period, week: str | None, own: list[DayWork]
    ) -> WeekReview:
        figures = figures_of(own)
        worked = {week} if week is not None and figures.stage_days else set()
        ranges = self._ranges(person, period, worked)[0]
        return WeekReview(week, figures, _by_shot(own, self._places), ranges)

    def _earlier(self, person: str, period: Period) -> tuple[EarlierReview, ...]:
        """The person's own earlier periods, the latest first.

        Before a period that begins on a day: as long as it is, one after the other. Without such a
        day: four weeks at a time, the last ending with the last week of the period.
        """
        works = self.works[person]
        days = [work.day for work in works if work.day is not None]
        if not days:
            return ()
        if period.first is not None:
            last = period.last or max(period.first, self.ledger.last_day or period.first)
            step = last - period.first + timedelta(days=1)
            end = period.first.toordinal() - 1
        else:
            step = FOUR_WEEKS
            end = week_days(iso_week(min(max(days), period.last or date.max)))[-1].toordinal()
        found: list[EarlierReview] = []
        while end >= min(days).toordinal() and len(found) < MOST_EARLIER:
            first = max(end - step.days + 1, 1)
            last = min(date.fromordinal(end), period.last or date.max)
            before = Period(date.fromordinal(first), last)
            own = (work for work in works if before.holds(work.day))
            found.append(EarlierReview(before, figures_of(own)))
            end = first - 1
        return tuple(found)

    def of(self, person: str, period: Period = WHOLE_TIME) -> Review:
        """The review of one animator. Raises KeyError for somebody without footage work."""
        works = tuple(work for work in self.works[person] if period.holds(work.day))
        weeks = tuple(self._week(person, period, week, own) for week, own in _weeks(works).items())
        worked = {row.week for row in weeks if row.week is not None and row.figures.stage_days}
        ranges, others = self._ranges(person, period, worked)
        return Review(
            person=person,
            period=period,
            total=figures_of(works),
            weeks=weeks,
            shots=_by_shot(works, self._places),
            ranges=ranges,
            others=others,
            earlier=self._earlier(person, period),
            waits=tuple(wait for work in works for wait in work.waits),
            works=works,
        )
