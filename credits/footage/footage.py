"""Footage: the five measures, by character and by shot, exactly; and the time that was logged."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from operator import attrgetter
from typing import Any, TypeVar

from credits.footage.claims import Layer, TakeRuns
from credits.footage.cut import CutUse
from credits.model.facts import Decision, Purpose
from credits.model.ledger import Entry, Ledger
from credits.units.rounding import Exact

# The measures, and how they are read: ``frames kept``, ``seconds on screen``.
MEASURE_WORDS = {
    "shot": "shot",
    "kept": "kept",
    "accepted": "accepted",
    "cut": "in the cut",
    "screen": "on screen",
}
MEASURES = tuple(MEASURE_WORDS)
K = TypeVar("K", bound=Hashable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Frames in each of the five measures, exactly. Without a cut, ``cut`` and ``screen`` are 0."""

    shot: Exact = 0
    kept: Exact = 0
    accepted: Exact = 0
    cut: Exact = 0
    screen: Exact = 0

    def of(self, measure: str) -> Exact:
        """Return the figure of one measure by its name. Raises KeyError for another word."""
        if measure not in MEASURES:
            raise KeyError(measure)
        value: Exact = getattr(self, measure)
        return value


@dataclass(frozen=True, slots=True)
class FootageTotals:
    """Character footage and shot footage of the same thing, in frames."""

    character: Measures = Measures()
    by_shot: Measures = Measures()


NO_FOOTAGE = FootageTotals()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """The smallest sum that is kept: one person, shot, take, character, day and stage."""

    person: str
    shot: str
    take: int
    character: str
    day: date | None
    stage: str | None
    totals: FootageTotals


@dataclass(frozen=True, slots=True)
class Footage:
    """All cells, by shot, take, person, character and day. ``cut`` None: no cut yet."""

    cells: tuple[Cell, ...]
    cut: int | None

    def by(self, key: Callable[[Cell], K | None]) -> dict[K, FootageTotals]:
        """Sum by a key, in order of first appearance; cells whose key is None are left out."""
        parts = self.parted(key).items()
        return {name: part.total for name, part in parts if name is not None}

    @property
    def total(self) -> FootageTotals:
        """Return the sum of all cells."""
        return summed(cell.totals for cell in self.cells)

    def where(self, test: Callable[[Cell], bool]) -> Footage:
        """Return the footage of those cells alone."""
        return Footage(tuple(cell for cell in self.cells if test(cell)), self.cut)

    def parted(self, key: Callable[[Cell], K]) -> dict[K, Footage]:
        """Part the footage by a key, in order of first appearance."""
        parts: dict[K, list[Cell]] = defaultdict(list)
        for cell in self.cells:
            parts[key(cell)].append(cell)
        return {name: Footage(tuple(cells), self.cut) for name, cells in parts.items()}


_figures = attrgetter(*MEASURES)


def _add(values: list[Exact], totals: FootageTotals) -> None:
    for place, figure in enumerate((*_figures(totals.character), *_figures(totals.by_shot))):
        if figure:
            values[place] += figure


def _totals(values: list[Exact]) -> FootageTotals:
    character = Measures(**dict(zip(MEASURES, values[:5], strict=True)))
    return FootageTotals(character, Measures(**dict(zip(MEASURES, values[5:], strict=True))))


_Key = tuple[str, str, date | None, str | None]
_KEY = ("person", "character", "day", "stage")


def _times(frames: int, portion: Exact, among: int = 1) -> Exact:
    """``frames * portion / among``, staying a whole number where it can."""
    if portion == 1 and frames % among == 0:
        return frames // among
    return Fraction(frames * portion.numerator, portion.denominator * among)


def _sums_of(own: TakeRuns, accepted: bool, use: CutUse | None) -> dict[_Key, list[Exact]]:
    """Return the sums of one take: every day's layers to ``shot``, the kept ones to the others."""
    sums: dict[_Key, list[Exact]] = defaultdict(lambda: [0] * 10)

    def add(layer: Layer, among: int, figures: Iterable[tuple[int, int]]) -> None:
        for claim in layer.claims:
            values = sums[claim.person, layer.character, layer.day, claim.stage]
            for place, frames in figures:
                values[place] += _times(frames, claim.portion)
                values[place + 5] += _times(frames, claim.portion, among)

    for run in own.runs:
        days = Counter(layer.day for layer in run.layers)
        for layer in run.layers:
            add(layer, days[layer.day], ((0, run.length),))
        figures = [(place, run.length) for place in ((1, 2) if accepted else (1,))]
        where = (own.shot, own.take, run.frames)
        if use is not None and (in_cut := use.frames_in_cut(*where)):
            figures += (3, in_cut), (4, use.frames_on_screen(*where))
        for layer in run.kept:
            add(layer, len(run.kept), figures)
    return sums


def footage(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None
) -> Footage:
    """Return the footage of the production: every claimed frame, split and summed exactly."""
    cells: list[Cell] = []
    for (shot, take), own in runs.items():
        accepted = ledger.take(shot, take).decision is Decision.ACCEPTED
        sums = _sums_of(own, accepted, use)
        for key, values in sorted(sums.items(), key=_cell_order):
            whose: dict[str, Any] = dict(zip(_KEY, key, strict=True))
            cells.append(Cell(**whose, shot=shot, take=take, totals=_totals(values)))
    return Footage(tuple(cells), use.cut.version if use is not None else None)


def _cell_order(item: tuple[_Key, object]) -> tuple[str, str, date, str]:
    person, character, day, stage = item[0]
    return (person, character, day or date.min, stage or "")


def summed(parts: Iterable[FootageTotals]) -> FootageTotals:
    """Return the sum of footage totals."""
    values: list[Exact] = [0] * 10
    for totals in parts:
        _add(values, totals)
    return _totals(values)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTime:
    """A person's logged time. Days are distinct dates with entries of a footage craft.

    A day on which both a shoot and a block were worked is in both sets; undated work is in none.
    """

    minutes: int
    stage_days: frozenset[date]
    shoot_days: frozenset[date]
    block_days: frozenset[date]
    rehearsal_days: frozenset[date]


def work_time(ledger: Ledger, entries: Iterable[Entry]) -> WorkTime:
    """Return the time that some entries log: minutes in all, and the stage days by purpose."""
    minutes = 0
    days: dict[Purpose, set[date]] = defaultdict(set)
    for entry in entries:
        minutes += entry.work.minutes or 0
        if entry.day is not None and ledger.is_footage(entry):
            days[ledger.purpose(entry)].add(entry.day)
    return WorkTime(
        minutes=minutes,
        stage_days=frozenset[date]().union(*days.values()),
        shoot_days=frozenset(days[Purpose.SHOOT]),
        block_days=frozenset(days[Purpose.BLOCK]),
        rehearsal_days=frozenset(days[Purpose.REHEARSAL]),
    )
