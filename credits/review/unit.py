"""The unit's figures: ranges of the other animators, coverage, time and repairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from credits.footage.cut import CutUse
from credits.footage.footage import NO_FOOTAGE, Footage
from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.review.days import Figures, FigureValue, figures_together
from credits.units.frames import Frames
from credits.units.rounding import Exact

LEAST_OTHERS = 3

# Values of the figures by their names, each with the person.
_Values = dict[str, list[tuple[Exact, str]]]


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and the highest figure of the others, exactly, and how many others have one."""

    low: Exact
    high: Exact
    others: int


def _ranges(values: _Values, person: str) -> dict[str, Range]:
    """Find the ranges of everybody but the person; none where fewer than three have a figure."""
    found = {}
    for name, own in values.items():
        others = [value for value, other in own if other != person]
        if len(others) >= LEAST_OTHERS:
            found[name] = Range(min(others), max(others), len(others))
    return found


class UnitRanges:
    """Everybody's figures by the weeks in which they animated. Each is looked at once."""

    def __init__(
        self, by_week: Mapping[str, Mapping[str, Figures]], names: Mapping[str, FigureValue]
    ) -> None:
        self._by_week = by_week
        self._names = names
        self._totals: dict[str, Figures] = {}
        in_week: dict[str, dict[str, Figures]] = defaultdict(dict)
        for person, weeks in by_week.items():
            for week, figures in weeks.items():
                in_week[week][person] = figures
        self._values = {week: self._values_of(own) for week, own in in_week.items()}

    def _total(self, person: str) -> Figures:
        if person not in self._totals:
            self._totals[person] = figures_together(self._by_week[person].values())
        return self._totals[person]

    def _values_of(self, people: Mapping[str, Figures]) -> _Values:
        return {
            name: [(value, p) for p, f in people.items() if (value := of(f)) is not None]
            for name, of in self._names.items()
        }

    def ranges_of_week(self, person: str, week: str) -> dict[str, Range]:
        """Return the others' ranges in one week, by the name of the figure."""
        return _ranges(self._values[week], person)

    def ranges(self, person: str) -> tuple[dict[str, Range], int]:
        """Return the others' ranges by the name of the figure, and how many others there are.

        Both over the weeks in which the person animated.
        """
        weeks = self._by_week[person].keys()
        others = {}
        for other, own in self._by_week.items():
            if other != person and (shared := own.keys() & weeks):
                same = len(shared) == len(own)
                others[other] = (
                    self._total(other) if same else figures_together(own[week] for week in shared)
                )
        return _ranges(self._values_of(others), person), len(others)


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
