"""One animator's review: figures by week and by shot, with the unit's range as context.

A basis for a conversation, not a ranking: nobody else is named, no score is made, and a range that
could be only one or two other people's is left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from credits.footage.footage import Footage
from credits.memory import all_kept
from credits.model.lazy import Looked
from credits.model.ledger import Ledger
from credits.review.days import (
    DayWork,
    Figures,
    GatheredDays,
    Poses,
    day_works,
    figures_of,
    figures_together,
    pieces_of,
    shot_mix,
)
from credits.review.expectation import Expectation, MixFigure, expected_pace
from credits.review.retakes import Again, shots_taken, taken_again
from credits.review.unit import OthersWork, Range, UnitRanges
from credits.review.waits import Wait, waited_for, waits_by_person
from credits.review.weeks import KeptWork
from credits.units.film_time import WHOLE_TIME, Period, iso_week, month_of_week, week_days

DAYS_AT_A_TIME = 28
MOST_EARLIER = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekReview:
    """A week (None: undated work), its figures, the same by shot, the others' ranges that week."""

    week: str | None
    figures: Figures
    shots: Mapping[str | None, Figures]
    ranges: Mapping[str, Range]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthReview:
    """A month: the weeks of the person's work whose Thursday lies in it.

    month: its first day. others: how many others animated in these weeks.
    """

    month: date
    weeks: tuple[str, ...]
    figures: Figures
    ranges: Mapping[str, Range]
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceReview:
    """A sequence, the person's figures in it, those by shot, and the others' ranges in it."""

    sequence: str
    figures: Figures
    shots: Mapping[str | None, Figures]
    ranges: Mapping[str, Range]
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """The whole review.

    total: the sum of the weeks, and of the footage of the shots. shots: figures by shot (None: work
    and waits on no one shot), in the order of their table. ranges: by the name of a figure, over
    the same weeks; those of fewer than three others are left out. others: how many others animated
    in those weeks. earlier: figures of the person's earlier periods, the latest first. waits: the
    repairs behind the wait. months, sequences: the same by month and by sequence, each with its own
    ranges. characters: footage by character, without days. again: what was taken again of the
    person's shots, of the person's own takes and frames.
    """

    person: str
    period: Period
    total: Figures
    weeks: tuple[WeekReview, ...]
    shots: Mapping[str | None, Figures]
    ranges: Mapping[str, Range]
    others: int
    earlier: Mapping[Period, Figures]
    waits: tuple[Wait, ...]
    months: tuple[MonthReview, ...]
    sequences: tuple[SequenceReview, ...]
    characters: Mapping[str, Figures]
    again: Mapping[str, Again]


def _weeks(works: Iterable[DayWork]) -> dict[str | None, list[DayWork]]:
    """Part work by week, undated first."""
    by_week: dict[str | None, list[DayWork]] = defaultdict(list)
    for work in works:
        by_week[iso_week(work.day) if work.day is not None else None].append(work)
    return dict(sorted(by_week.items(), key=lambda item: item[0] or ""))


class Reviews:
    """The reviews of a production. What they share is summed once.

    person: the only one who is reviewed; None: everybody. kept: reads what is kept of all this,
    so that no more of it is made than is looked at.
    """

    @all_kept()
    def __init__(
        self,
        ledger: Ledger,
        poses: Iterable[Poses],
        footage: Footage,
        person: str | None = None,
        kept: KeptWork | None = None,
    ) -> None:
        every: Sequence[Poses] = poses if isinstance(poses, Sequence) else tuple(poses)
        if ledger.production.expectation:  # which looks at most takes: they are read at once
            ledger = replace(ledger, takes=dict(ledger.takes))
        self.ledger = ledger
        waited = waited_for(ledger, kept)
        self._others = OthersWork(ledger, every, footage, waited, kept)
        if person is not None:
            if kept is None:
                stage = tuple([work for work in ledger.on_stage if work.person == person])
                every = tuple([each for each in every if each.person == person])
            else:
                stage, every = kept.stage_of(person), kept.poses_of(person)
            ledger = replace(ledger, on_stage=stage)
            footage = footage.of_person(person)
        waits = waits_by_person(waited, None if person is None else {person})
        self.works = day_works(ledger, every, footage, waits)
        self._places = {shot: place for place, shot in enumerate((*ledger.shots, None))}

    def _by_shot(self, works: Iterable[DayWork]) -> Mapping[str | None, Figures]:
        """Return the figures of each shot, each when it is asked for."""
        by_shot: dict[str | None, list[DayWork]] = defaultdict(list)
        for work in works:
            by_shot[work.shot].append(work)
        ordered = sorted(by_shot, key=self._places.__getitem__)
        return Looked(lambda: ordered, lambda shot: figures_of(by_shot[shot]))

    def _earlier(self, person: str, period: Period) -> dict[Period, Figures]:
        """Return the person's figures in earlier periods, the latest first.

        Before a period that begins on a day: as long as it is, one after the other. Without such a
        day: four weeks at a time, the last ending with the last week of the period.
        """
        works = self.works[person]
        days = [work.day for work in works if work.day is not None]
        if not days:
            return {}
        if period.first is not None:
            last = period.last or max(period.first, self.ledger.last_day or period.first)
            step = (last - period.first).days + 1
            end = period.first.toordinal() - 1
        else:
            step = DAYS_AT_A_TIME
            end = week_days(iso_week(min(max(days), period.last or date.max)))[-1].toordinal()
        found: dict[Period, Figures] = {}
        while end >= min(days).toordinal() and len(found) < MOST_EARLIER:
            first = max(end - step + 1, 1)
            last = min(date.fromordinal(end), period.last or date.max)
            before = Period(date.fromordinal(first), last)
            found[before] = figures_of(work for work in works if before.holds(work.day))
            end = first - 1
        return found

    @all_kept()
    def of(self, person: str, period: Period = WHOLE_TIME) -> Review:
        """Return the review of one animator. KeyError for somebody without footage work."""
        works = [work for work in self.works[person] if period.holds(work.day)]
        unit = self._others.ranges_in(period)
        ranges, others = unit.ranges(person)
        weeks = []
        for week, own in _weeks(works).items():
            figures, shots = figures_of(own), self._by_shot(own)
            near = unit.ranges_of_part(person, week) if week and figures.stage_days else {}
            weeks.append(WeekReview(week=week, figures=figures, shots=shots, ranges=near))
        return Review(
            person=person,
            period=period,
            total=figures_of(works),
            weeks=tuple(weeks),
            shots=self._by_shot(works),
            ranges=ranges,
            others=others,
            earlier=self._earlier(person, period),
            waits=tuple(wait for work in works for wait in work.waits),
            months=tuple(self._months(person, unit, weeks)),
            sequences=tuple(self._sequences(person, period, works)),
            characters=self._by_character(works),
            again=taken_again(
                shots_taken(self.ledger, [cell for work in works for cell in work.cells])
            ),
        )

    def _months(
        self, person: str, unit: UnitRanges, weeks: Iterable[WeekReview]
    ) -> Iterator[MonthReview]:
        """Return the months with dated work, the first one first."""
        by_month: dict[date, list[WeekReview]] = defaultdict(list)
        for row in weeks:
            if row.week is not None:
                by_month[month_of_week(row.week)].append(row)
        for month, own in by_month.items():
            named = tuple(row.week for row in own if row.week is not None)
            ranges, others = unit.ranges(person, named)
            figures = figures_together(row.figures for row in own)
            yield MonthReview(
                month=month, weeks=named, figures=figures, ranges=ranges, others=others
            )

    def _sequences(
        self, person: str, period: Period, works: Iterable[DayWork]
    ) -> Iterator[SequenceReview]:
        """Return the sequences with work on their shots, in the order of their table."""
        by_sequence: dict[str, list[DayWork]] = defaultdict(list)
        for work in works:
            if work.shot is not None:
                by_sequence[self.ledger.shots[work.shot].sequence].append(work)
        unit = self._others.ranges_in_sequences(period)
        for code in self.ledger.sequences:
            if own := by_sequence.get(code):
                yield SequenceReview(
                    sequence=code,
                    figures=figures_of(own),
                    shots=self._by_shot(own),
                    ranges=unit.ranges_of_part(person, code),
                    others=unit.others_in(person, code),
                )

    def _by_character(self, works: Iterable[DayWork]) -> dict[str, Figures]:
        """Return the footage of each character, in the order of the table."""
        found: dict[str, GatheredDays] = defaultdict(GatheredDays)
        for work in works:
            for cell in work.cells:
                found[cell.character].cells.append(cell)
        return {code: found[code].figures for code in self.ledger.characters if code in found}

    @all_kept()
    def expectation(self, person: str, period: Period = WHOLE_TIME) -> Expectation | None:
        """Return what pace would be usual, by the work of the others; None: it is switched off."""
        production = self.ledger.production
        if not production.expectation:
            return None
        works = [w for w in self.works[person] if w.day is not None and period.holds(w.day)]
        others = self._others.pieces_but(person)
        found = expected_pace(pieces_of(works, production.rate), others)
        if found.lacks:
            return found
        own = shot_mix(figures_of(works), self.ledger)
        unit = shot_mix(self._others.asked_but(person), self.ledger)
        return replace(found, mix=tuple(MixFigure(name, own[name], unit[name]) for name in own))
