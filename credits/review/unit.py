"""The unit's figures: ranges of the other animators, coverage, time and repairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from credits.footage.cut import CutUse
from credits.footage.footage import Footage
from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.review.days import Figures, Of, figures_together
from credits.units.frames import Frames
from credits.units.rounding import Exact

LEAST_OTHERS = 3

# Everybody's value of one figure, with the person, from the lowest to the highest.
_Values = list[tuple[Exact, str]]


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and the highest figure of the others, exactly, and how many others have one."""

    low: Exact
    high: Exact
    others: int


def _without(values: _Values, person: str) -> Range | None:
    """The range of all values but the person's; None where fewer than three others have one."""
    others = [each for each in values if each[1] != person]
    if len(others) < LEAST_OTHERS:
        return None
    return Range(others[0][0], others[-1][0], len(others))


class UnitRanges:
    """Everybody's figures by the weeks in which they animated. Each is looked at once."""

    def __init__(
        self, by_week: Mapping[str, Mapping[str, Figures]], names: Mapping[str, Of]
    ) -> None:
        self._by_week = by_week
        self._names = names
        self._values: dict[str, dict[str, _Values]] = {}
        self._totals: dict[str, Figures] = {}

    def _all_values(self, figures: Iterable[tuple[str, Figures]]) -> dict[str, _Values]:
        own = tuple(figures)
        found: dict[str, _Values] = {}
        for name, of in self._names.items():
            values = [(value, person) for person, f in own if (value := of(f)) is not None]
            found[name] = sorted(values)
        return found

    @staticmethod
    def _ranges(values: Mapping[str, _Values], person: str) -> dict[str, Range]:
        ranges = {name: _without(own, person) for name, own in values.items()}
        return {name: found for name, found in ranges.items() if found is not None}

    def ranges_of_week(self, person: str, week: str) -> dict[str, Range]:
        """The others' ranges in one week, by the name of the figure."""
        known = self._values.get(week)
        if known is None:
            own = ((p, weeks[week]) for p, weeks in self._by_week.items() if week in weeks)
            known = self._values[week] = self._all_values(own)
        return self._ranges(known, person)

    def _in_weeks(self, person: str, weeks: Iterable[str]) -> Figures | None:
        """Somebody's figures in some weeks; None where they did not animate in any of them."""
        own = self._by_week[person]
        shared = [week for week in own if week in weeks]
        if len(shared) < len(own):
            return figures_together(own[week] for week in shared) if shared else None
        if own and person not in self._totals:
            self._totals[person] = figures_together(own.values())
        return self._totals.get(person)

    def ranges(self, person: str) -> tuple[dict[str, Range], int]:
        """The others' ranges over the weeks in which the person animated, by the name of the
        figure, and how many others animated then."""
        weeks = self._by_week[person].keys()
        others = [
            (other, figures)
            for other in self._by_week
            if other != person and (figures := self._in_weeks(other, weeks)) is not None
        ]
        return self._ranges(self._all_values(others), person), len(others)


@dataclass(frozen=True, slots=True)
class Coverage:
    """Film frames of a sequence that the cut shows: all of them, those that show kept animation,
    and those of accepted takes. ``accepted <= animated <= film``."""

    sequence: str
    film: int
    animated: Exact
    accepted: Exact

    @property
    def ahead(self) -> Exact:
        """Film frames in which nobody has animated yet."""
        return self.film - self.animated


@dataclass(frozen=True, slots=True)
class CutCoverage:
    """The cut by sequence. ``elsewhere``: film frames of no known shot: titles, slugs, gaps."""

    length: int
    elsewhere: int
    sequences: tuple[Coverage, ...]


def cut_coverage(ledger: Ledger, use: CutUse | None, footage: Footage) -> CutCoverage | None:
    """How far the cut is covered, sequences in the order of their table; None without a cut."""
    if use is None:
        return None
    shown: dict[str, int] = defaultdict(int)
    for clip in use.clips:
        shown[ledger.shots[clip.shot].sequence] += clip.shown
    animated: dict[str, Exact] = defaultdict(int)
    accepted: dict[str, Exact] = defaultdict(int)
    for cell in footage.cells:
        screen = cell.totals.by_shot.screen
        sequence = ledger.shots[cell.shot].sequence
        animated[sequence] += screen
        if cell.totals.by_shot.accepted:
            accepted[sequence] += screen
    filled = Frames.of(*((c.film_first, c.film_first + c.shown) for c in use.clips if c.shown > 0))
    rows = tuple(
        Coverage(code, shown[code], animated[code], accepted[code])
        for code in ledger.sequences
        if shown[code]
    )
    return CutCoverage(use.cut.length, max(use.cut.length - filled.count, 0), rows)


@dataclass(frozen=True, slots=True)
class CraftTime:
    """The entries of a craft for a character (None: for no one character), and their minutes.

    ``days``: distinct dates of each person, summed over people. ``unlogged``: entries that say no
    minutes.
    """

    craft: str
    character: str | None
    entries: int
    people: int
    days: int
    minutes: int
    unlogged: int


def time_by_craft(ledger: Ledger) -> tuple[CraftTime, ...]:
    """Time by craft and character, both in the order of their tables."""
    found: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
    for entry in ledger.entries:
        found[entry.craft, entry.character].append(entry)
    crafts = {code: place for place, code in enumerate(ledger.crafts)}
    characters = {code: place for place, code in enumerate(ledger.characters)}

    def order(key: tuple[str, str | None]) -> tuple[int, int]:
        return crafts[key[0]], len(characters) if key[1] is None else characters[key[1]]

    return tuple(_craft_time(*key, found[key]) for key in sorted(found, key=order))


def _craft_time(craft: str, character: str | None, entries: Iterable[Entry]) -> CraftTime:
    own = tuple(entries)
    return CraftTime(
        craft,
        character,
        len(own),
        len({entry.person for entry in own}),
        len({(entry.person, entry.day) for entry in own if entry.day is not None}),
        sum(entry.work.minutes or 0 for entry in own),
        sum(entry.work.minutes is None for entry in own),
    )


@dataclass(frozen=True, slots=True)
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
    """Repairs by puppet, part and cause (the note of the entry); the longest waits of a puppet
    first, puppets in the order of their table, what names no puppet last."""
    found: dict[tuple[str | None, str | None, str | None, str], list[Entry]] = defaultdict(list)
    for entry in ledger.entries:
        if ledger.is_repair(entry):
            note = " ".join((entry.work.note or "").split())
            found[entry.puppet, entry.part, entry.character, note].append(entry)
    rows = [
        RepairCause(
            *key,
            tuple(sorted({entry.day for entry in own if entry.day is not None})),
            tuple(entry.number for entry in own),
            sum(entry.work.minutes or 0 for entry in own),
            sum(entry.work.wait_minutes or 0 for entry in own),
        )
        for key, own in found.items()
    ]
    places = {code: place for place, code in enumerate(ledger.puppets)}
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                len(places) if row.puppet is None else places[row.puppet],
                row.part or "",
                -row.wait,
                row.entries,
            ),
        )
    )
