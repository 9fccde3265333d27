"""The unit's figures: ranges of the other animators, coverage, time and repairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, cached_property, lru_cache
from typing import TypeVar

from credits.footage.cut import CutUse
from credits.footage.footage import NO_FOOTAGE, Footage
from credits.model.facts import EntryNumber
from credits.model.lazy import Looked
from credits.model.ledger import Entry, Ledger, WaitedFor
from credits.review.days import (
    Poses,
    RatioValue,
    ShotsAsked,
    WorkPiece,
    placed_day,
    ratios_by_name,
)
from credits.review.waits import Waiting
from credits.review.weeks import (
    GatheredWeeks,
    InOneDenominator,
    KeptWork,
    TakeWeek,
    WorkOfSeveral,
    take_weeks,
    weeks_together,
)
from credits.units.film_time import WHOLE_TIME, Period
from credits.units.frames import Frames
from credits.units.rounding import Exact, least_and_most

LEAST_OTHERS = 3
MOST_TOGETHER = 4096
MOST_FIGURES = 32_768
"""So much of somebody's work in some weeks is at hand, and so many figures of it."""
K = TypeVar("K", bound=Hashable)

# Values of a figure, each a numerator over a denominator, with the person.
_Values = list[tuple[tuple[int, int], str]]
# Of everybody what was done in each week, or in each sequence.
ByPart = Mapping[str, Mapping[str, GatheredWeeks]]


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and the highest figure of the others, exactly, and how many others have one."""

    low: Exact
    high: Exact
    others: int


def _range(values: _Values, person: str) -> Range | None:
    """Return the range of everybody but the person; None where fewer than three have a figure."""
    others = [value for value, other in values if other != person]
    if len(others) < LEAST_OTHERS:
        return None
    return Range(*least_and_most(others), len(others))


def _values(people: Mapping[str, GatheredWeeks], figure: RatioValue) -> _Values:
    return [(value, who) for who, own in people.items() if (value := figure(own)) is not None]


class UnitRanges:
    """Everybody's figures by parts: the weeks, or the sequences, in which they animated. Each is
    looked at once.

    names: the figures that are compared, by their names.
    """

    def __init__(self, by_part: ByPart, names: Mapping[str, RatioValue]) -> None:
        self._by_part = by_part
        self._names = names
        in_part: dict[str, dict[str, GatheredWeeks]] = defaultdict(dict)
        for person, parts in by_part.items():
            for part, own in parts.items():
                in_part[part][person] = own
        self._in_part = in_part
        self._values = cache(lambda part, name: _values(in_part.get(part, {}), names[name]))
        self._total = cache(lambda person: weeks_together(by_part[person].values()))
        # Many animated in the same weeks of a month, and are compared over these.
        self._together = lru_cache(MOST_TOGETHER)(
            lambda person, parts: weeks_together(map(by_part[person].__getitem__, parts))
        )
        self._figure = lru_cache(MOST_FIGURES)(lambda own, name: names[name](own))

    def ranges_of_part(self, person: str, part: str) -> Mapping[str, Range]:
        """Return the others' ranges in one part (a week, a sequence), by the name of the figure,
        each when asked for."""
        return self._looked(lambda name: self._values(part, name), person)

    def others_in(self, person: str, part: str) -> int:
        """Count the others who animated in a part."""
        return len(self._in_part.get(part, {}).keys() - {person})

    def ranges(
        self, person: str, only: Collection[str] | None = None
    ) -> tuple[Mapping[str, Range], int]:
        """Return the others' ranges by the name of the figure, each when asked for, and how many
        others there are.

        Both over the weeks in which the person animated. only: of these weeks, those among some.
        """
        own_weeks = self._by_part.get(person, {}).keys()
        weeks = own_weeks if only is None else own_weeks & set(only)
        others: dict[str, GatheredWeeks] = {}
        for other, own in self._by_part.items():
            if other != person and (shared := own.keys() & weeks):
                same = len(shared) == len(own)
                others[other] = (
                    self._total(other) if same else self._together(other, frozenset(shared))
                )

        def values(name: str) -> _Values:
            return _values(others, lambda own: self._figure(own, name))

        return self._looked(values, person), len(others)

    def _looked(self, values: Callable[[str], _Values], person: str) -> Mapping[str, Range]:
        """Return the others' ranges by the name of the figure; values: of everybody."""

        @cache
        def read(name: str) -> Range | None:
            return _range(values(name), person) if name in self._names else None

        return Looked(lambda: [name for name in self._names if read(name) is not None], read)


class OthersWork:
    """The work of all animators, as far as that of one is compared with it.

    poses, footage: those of all takes of the ledger. waited: as ``waited_for``.
    kept: reads what is kept of it, where it is not made of these.
    """

    def __init__(
        self,
        ledger: Ledger,
        poses: Sequence[Poses],
        footage: Footage,
        waited: Sequence[Waiting],
        kept: KeptWork | None = None,
    ) -> None:
        self._kept = kept
        self._ledger = ledger
        self._poses = poses
        self._footage = footage
        self._waited = waited
        self._rows: dict[Period, Sequence[TakeWeek]] = {}
        self._in_one: dict[Period, InOneDenominator] = {}
        self._known: dict[Period, dict[str, dict[str | None, GatheredWeeks]]] = {}
        self._ranges: dict[Period, UnitRanges] = {}
        self._in_sequences: dict[Period, UnitRanges] = {}
        self._names = ratios_by_name(ledger.production.rate)

    def _worked(self, period: Period) -> dict[str, dict[str | None, GatheredWeeks]]:
        """Return what everybody did in a period, by week; None: undated."""
        if period not in self._known:
            self._known[period] = self._by(
                period, lambda row: row.week, lambda repair, _: placed_day(repair.day)[0]
            )
        return self._known[period]

    def _by(
        self,
        period: Period,
        part_of: Callable[[TakeWeek], K],
        part_waited: Callable[[WaitedFor, str | None], K],
    ) -> dict[str, dict[K, GatheredWeeks]]:
        """Return what everybody did in a period by parts.

        part_of: says in which part work is; part_waited: in which the wait for a repair is, of
        whoever waited in a shot or in no one shot.
        """
        shared = self._shared(period)
        found = shared.gathered(self._weeks(period), part_of)
        for repair, people in self._waited:
            if period.holds(repair.day):
                minutes = repair.minutes
                for waiting in people.values():
                    for person, shot in waiting.items():
                        parts, part = found[person], part_waited(repair, shot)
                        own = parts.get(part)
                        if own is None:
                            own = parts[part] = GatheredWeeks(shared.one)
                        own.wait += minutes
        return found

    def _weeks(self, period: Period) -> Sequence[TakeWeek]:
        """Return what everybody did in each take in each week of a period."""
        if period not in self._rows:
            self._rows[period] = self._read(period)
        return self._rows[period]

    def _shared(self, period: Period) -> InOneDenominator:
        if period not in self._in_one:
            self._in_one[period] = InOneDenominator(self._weeks(period))
        return self._in_one[period]

    def _read(self, period: Period) -> Sequence[TakeWeek]:
        if self._kept is not None:
            return self._kept.take_weeks(period)
        holds = cache(period.holds)
        cells = self._footage.summed_by("person", "shot", "take", "day").cells
        return take_weeks(
            [work for work in self._ledger.on_stage if holds(work.day)],
            [cell for cell in cells if holds(cell.day)],
            [each for each in self._poses if holds(each.day)],
            cache(self._ledger.purpose_in),
        )

    def ranges_in(self, period: Period) -> UnitRanges:
        """Return everybody's figures in a period, by the weeks in which they animated."""
        if period not in self._ranges:
            self._ranges[period] = self._animated(self._worked(period))
        return self._ranges[period]

    def ranges_in_sequences(self, period: Period) -> UnitRanges:
        """Return everybody's figures in a period, by the sequences in which they animated."""
        if period not in self._in_sequences:
            sequences: dict[str | None, str] = {
                code: shot.sequence for code, shot in self._ledger.shots.items()
            }
            found = self._by(
                period,
                lambda row: sequences.get(row.shot),
                lambda _, shot: sequences.get(shot),
            )
            self._in_sequences[period] = self._animated(found)
        return self._in_sequences[period]

    def _animated(self, found: Mapping[str, Mapping[str | None, GatheredWeeks]]) -> UnitRanges:
        """Return everybody's figures by the parts in which they animated; None is no part."""
        by_part = {
            person: {part: own for part, own in parts.items() if part is not None and own.animated}
            for person, parts in found.items()
        }
        return UnitRanges(by_part, self._names)

    @cached_property
    def _dated(self) -> dict[str, list[GatheredWeeks]]:
        """The dated work of everybody, week by week."""
        return {
            person: [own for week, own in weeks.items() if week is not None]
            for person, weeks in self._worked(WHOLE_TIME).items()
        }

    @cached_property
    def _pieces(self) -> dict[str, list[WorkPiece]]:
        """The pieces of everybody's dated work."""
        rate, shared = self._ledger.production.rate, self._shared(WHOLE_TIME)
        return {person: shared.pieces(weeks, rate) for person, weeks in self._dated.items()}

    def pieces_but(self, person: str) -> list[list[WorkPiece]]:
        """Return the pieces of the dated work of everybody but one."""
        return [own for other, own in self._pieces.items() if other != person]

    def asked_but(self, person: str) -> ShotsAsked:
        """Return what tells what the dated work of everybody but one asked for."""
        return WorkOfSeveral(
            [week for other, weeks in self._dated.items() if other != person for week in weeks]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """Film frames of a sequence that the cut shows.

    film: all of them. animated: those that show kept animation. accepted: those of accepted takes.
    """

    sequence: str
    film: int
    animated: Exact
    accepted: Exact


@dataclass(frozen=True, slots=True)
class CutCoverage:
    """The cut by sequence. elsewhere: film frames of no known shot: titles, slugs, gaps."""

    length: int
    elsewhere: int
    sequences: tuple[Coverage, ...]


def cut_coverage(ledger: Ledger, use: CutUse | None, footage: Footage) -> CutCoverage | None:
    """Return how far the cut is covered, by sequence in their order; None without a cut."""
    if use is None:
        return None
    shown: dict[str, int] = defaultdict(int)
    for clip in use.clips:
        shown[ledger.shots[clip.shot].sequence] += clip.shown
    of_accepted = footage.where(lambda cell: cell.by_shot_accepted > 0)
    animated, accepted = (
        feet.by(lambda cell: ledger.shots[cell.shot].sequence) for feet in (footage, of_accepted)
    )
    filled = Frames.of(*((c.film_first, c.film_first + c.shown) for c in use.clips if c.shown > 0))
    rows = tuple(
        Coverage(
            sequence=code,
            film=shown[code],
            animated=animated.get(code, NO_FOOTAGE).by_shot.screen,
            accepted=accepted.get(code, NO_FOOTAGE).by_shot.screen,
        )
        for code in ledger.sequences
        if shown[code]
    )
    return CutCoverage(use.cut.length, max(use.cut.length - filled.count, 0), rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class CraftTime:
    """The entries of a craft for a character (None: for no one character), and their minutes.

    days: distinct dates of each person, summed over people. unlogged: entries that say no minutes.
    """

    craft: str
    character: str | None
    entries: int
    people: int
    days: int
    minutes: int
    unlogged: int


def time_by_craft(ledger: Ledger) -> tuple[CraftTime, ...]:
    """Return time by craft and character, both in the order of their tables."""
    found: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
    for entry in ledger.entries:
        found[entry.craft, entry.character].append(entry)
    return tuple(
        CraftTime(
            craft=craft,
            character=character,
            entries=len(own),
            people=len({entry.person for entry in own}),
            days=len({(entry.person, entry.day) for entry in own if entry.day is not None}),
            minutes=sum(entry.work.minutes or 0 for entry in own),
            unlogged=sum(entry.work.minutes is None for entry in own),
        )
        for craft in ledger.crafts
        for character in (*ledger.characters, None)
        if (own := found.get((craft, character)))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairCause:
    """Repairs of the same thing with the same note, their work and the stage's wait in minutes."""

    puppet: str | None
    part: str | None
    character: str | None
    note: str
    days: tuple[date, ...]
    entries: tuple[EntryNumber, ...]
    minutes: int
    wait: int


def repair_causes(ledger: Ledger) -> tuple[RepairCause, ...]:
    """Return repairs by puppet, part and cause, which is the note of the entry.

    The longest waits of a puppet first, puppets in the order of their table, what names no puppet
    last.
    """
    found: dict[tuple[str | None, str | None, str | None, str], list[Entry]] = defaultdict(list)
    for entry in ledger.entries:
        if ledger.is_repair(entry):
            note = " ".join((entry.work.note or "").split())
            found[entry.puppet, entry.part, entry.character, note].append(entry)
    rows = [
        RepairCause(
            puppet=puppet,
            part=part,
            character=character,
            note=note,
            days=tuple(sorted({entry.day for entry in own if entry.day is not None})),
            entries=tuple(entry.number for entry in own),
            minutes=sum(entry.work.minutes or 0 for entry in own),
            wait=sum(entry.work.wait_minutes or 0 for entry in own),
        )
        for (puppet, part, character, note), own in found.items()
    ]
    places = {code: place for place, code in enumerate((*ledger.puppets, None))}
    rows.sort(key=lambda row: (places[row.puppet], row.part or "", -row.wait, row.entries))
    return tuple(rows)
