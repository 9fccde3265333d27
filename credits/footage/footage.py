"""Footage: the five measures, by character and by shot, exactly; and the time that was logged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import gcd, lcm
from operator import attrgetter
from typing import NamedTuple, Protocol, TypeVar

from credits.footage.claims import Layer, TakeRuns
from credits.footage.cut import CutUse
from credits.model.facts import Decision, Purpose
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames
from credits.units.rounding import Exact, exact_sum, ratio_of_sum

# The measures, and how they are read: ``frames kept``, ``seconds on screen``.
MEASURE_WORDS = {
    "shot": "shot",
    "kept": "kept",
    "accepted": "accepted",
    "cut": "in the cut",
    "screen": "on screen",
}
MEASURES = tuple(MEASURE_WORDS)
WEEK = "week"
"""Stands for the day of a cell where only the week of the day is looked at."""
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


class Cell(NamedTuple):
    """The smallest sum that is kept: one person, shot, take, character, day and stage.

    The ten figures are whole numbers over ``den``, in lowest terms: ``kept`` of its frames is
    ``character_kept / den`` as character footage, ``by_shot_kept / den`` as shot footage. A sum of
    cells is one, too, with None for what they differ in, in any terms.
    """

    person: str
    shot: str
    take: int
    character: str
    day: date | None
    stage: str | None
    den: int
    character_shot: int
    character_kept: int
    character_accepted: int
    character_cut: int
    character_screen: int
    by_shot_shot: int
    by_shot_kept: int
    by_shot_accepted: int
    by_shot_cut: int
    by_shot_screen: int

    @property
    def figures(self) -> tuple[int, ...]:
        """Return the ten figures: the measures of character footage, then of shot footage."""
        return self[7:]

    @property
    def totals(self) -> FootageTotals:
        """Return the figures exactly, in frames."""
        return total_of((self,))


_FIGURE_COUNT = 2 * len(MEASURES)


class Counted(Protocol):
    """Frames in the ten figures, as whole numbers over one denominator: of a cell, or of several
    together."""

    @property
    def den(self) -> int:
        """The denominator."""

    @property
    def by_shot_kept(self) -> int:
        """The kept shot footage."""

    @property
    def figures(self) -> tuple[int, ...]:
        """The ten figures, as those of a cell."""


def total_of(cells: Iterable[Counted]) -> FootageTotals:
    """Return the sum of cells: whole numbers first, each denominator once."""
    by_den: dict[int, list[tuple[int, ...]]] = defaultdict(list)
    for cell in cells:
        by_den[cell.den].append(cell.figures)
    common = lcm(*by_den)
    values = [0] * _FIGURE_COUNT
    for den, rows in by_den.items():
        sums = rows[0] if len(rows) == 1 else map(sum, zip(*rows, strict=True))
        for place, total in enumerate(sums):
            values[place] += total * (common // den)
    return _totals([Fraction(v, common) if v % common else v // common for v in values])


def cell_of(cells: Sequence[Cell]) -> Cell:
    """Return the sum of cells, one at least, of one person and take: their first day stands for it,
    and it has no character and no stage."""
    first = cells[0]
    if len(cells) == 1:
        return Cell._make((*first[:3], "", first.day, None, *first[6:]))
    common = lcm(*[cell.den for cell in cells])
    rows = [[common // cell.den * value for value in cell.figures] for cell in cells]
    figures = rows[0] if len(rows) == 1 else [*map(sum, zip(*rows, strict=True))]
    days = [cell.day for cell in cells if cell.day is not None]
    of = (first.person, first.shot, first.take, "", min(days, default=None), None)
    return Cell(*of, common, *figures)


def kept_by_shot(cells: Iterable[Counted]) -> tuple[int, int]:
    """Return the kept shot footage of cells, in frames: a numerator over a denominator."""
    return ratio_of_sum([(cell.by_shot_kept, cell.den) for cell in cells])


class KeptCells(Protocol):
    """Reads parts of the cells of a production."""

    def summed(self, names: frozenset[str]) -> tuple[Cell, ...]:
        """Read the cells summed by some of their fields, as ``Footage.summed_by``."""

    def of_person(self, person: str) -> tuple[Cell, ...]:
        """Read the cells of one person, in their order."""

    def of_shot(self, shot: str) -> tuple[Cell, ...]:
        """Read the cells of one shot, in their order."""

    def claimed_days(self) -> Collection[tuple[str, date | None, str]]:
        """Read the person, day and shot of the cells, as ``Footage.claimed_days``."""

    def shot_days(self) -> set[date]:
        """Read the days of the cells, as ``Footage.shot_days``."""


@dataclass(frozen=True, slots=True)
class Footage:
    """All cells, by shot, take, person, character and day. ``cut`` None: no cut yet.

    kept: what reads parts of it, where they are kept and that is less than reading every cell.
    """

    cells: Sequence[Cell]
    cut: int | None
    kept: KeptCells | None = field(default=None, compare=False, repr=False)

    def summed_by(self, *names: str) -> Footage:
        """Return the same footage for whoever looks at these fields of its cells alone.

        names: fields of a cell; WEEK where of its day only the week is looked at. The cells may be
        fewer, in another order, and have nothing in their other fields.
        """
        return self if self.kept is None else Footage(self.kept.summed(frozenset(names)), self.cut)

    def of_person(self, person: str) -> Footage:
        """Return the footage of one person."""
        if self.kept is None:
            return self.where(lambda cell: cell.person == person)
        return Footage(self.kept.of_person(person), self.cut)

    def of_shot(self, shot: str) -> Footage:
        """Return the footage of one shot."""
        if self.kept is None:
            return self.where(lambda cell: cell.shot == shot)
        return Footage(self.kept.of_shot(shot), self.cut)

    @property
    def claimed_days(self) -> Collection[tuple[str, date | None, str]]:
        """Return who claimed frames on which day in which shot, in any order."""
        if self.kept is None:
            return {(cell.person, cell.day, cell.shot) for cell in self.cells}
        return self.kept.claimed_days()

    @property
    def shot_days(self) -> set[date]:
        """Return the days on which frames were shot."""
        if self.kept is None:
            return {cell.day for cell in self.cells if cell.day is not None and cell.by_shot_shot}
        return self.kept.shot_days()

    def by(self, key: Callable[[Cell], K | None]) -> dict[K, FootageTotals]:
        """Sum by a key, in order of first appearance; cells whose key is None are left out."""
        parts = self.parted(key).items()
        return {name: part.total for name, part in parts if name is not None}

    @property
    def total(self) -> FootageTotals:
        """Return the sum of all cells."""
        return total_of(self.cells)

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


def _totals(values: Sequence[Exact]) -> FootageTotals:
    """Return ten figures as totals."""
    half = len(MEASURES)
    character = Measures(**dict(zip(MEASURES, values[:half], strict=True)))
    return FootageTotals(character, Measures(**dict(zip(MEASURES, values[half:], strict=True))))


def summed(parts: Iterable[FootageTotals]) -> FootageTotals:
    """Return the sum of footage totals."""
    rows = [(*_figures(totals.character), *_figures(totals.by_shot)) for totals in parts]
    return _totals([*map(exact_sum, zip(*rows, strict=True))]) if rows else NO_FOOTAGE


_SHOT, _KEPT, _ACCEPTED, _CUT, _SCREEN = range(len(MEASURES))

# A layer, among how many characters its frames are divided, and how many they are by measure.
_LayerFrames = tuple[Layer, int, list[int]]


def _frames_of_layers(own: TakeRuns, use: CutUse | None) -> list[_LayerFrames]:
    """Count the frames of each layer of a take: every day's as shot, the latest ones as kept.

    Runs that share a layer share the object, so layers are told apart by their identity.
    """
    found: dict[tuple[int, int], _LayerFrames] = {}
    for first, stop, layers, _ in own.runs:
        days = [layer.day for layer in layers]
        for layer, among in zip(layers, map(days.count, days), strict=True):
            known = found.get((id(layer), among))
            if known is None:
                known = found[id(layer), among] = (layer, among, [0] * len(MEASURES))
            known[2][_SHOT] += stop - first
    for first, stop, layers in own.kept_runs:
        in_cut = on_screen = 0
        if use is not None:
            where = (own.shot, own.take, Frames(((first, stop),)))
            in_cut, on_screen = use.frames_in_cut(*where), use.frames_on_screen(*where)
        among = len(layers)
        for layer in layers:
            known = found.get((id(layer), among))
            if known is None:
                known = found[id(layer), among] = (layer, among, [0] * len(MEASURES))
            frames = known[2]
            frames[_KEPT] += stop - first
            frames[_CUT] += in_cut
            frames[_SCREEN] += on_screen
    return list(found.values())


_Key = tuple[str, str, date | None, str | None]


def _cell_order(item: tuple[_Key, object]) -> tuple[str, str, date, str]:
    person, character, day, stage = item[0]
    return (person, character, day or date.min, stage or "")


def cells_of_take(own: TakeRuns, accepted: bool, use: CutUse | None) -> list[Cell]:
    """Return the footage of one take, by person, character, day and stage.

    Frames are counted first and divided once: every part of a frame is a whole number over one
    denominator of the take.
    """
    layers = _frames_of_layers(own, use)
    den = lcm(*(c.portion.denominator * among for layer, among, _ in layers for c in layer.claims))
    sums: dict[_Key, list[int]] = {}
    for (character, day, claims), among, frames in layers:
        if accepted:
            frames[_ACCEPTED] = frames[_KEPT]
        counts = [(place, count) for place, count in enumerate(frames) if count]
        for person, portion, _, _, stage in claims:
            key = (person, character, day, stage)
            values = sums.get(key)
            if values is None:
                values = sums[key] = [0] * _FIGURE_COUNT
            part = portion.numerator * (den // portion.denominator)
            for place, count in counts:
                values[place] += count * part
                values[place + len(MEASURES)] += count * part // among
    cells = []
    for (person, character, day, stage), values in sorted(sums.items(), key=_cell_order):
        least = gcd(den, *values)
        figures = values if least == 1 else [value // least for value in values]
        where = (person, own.shot, own.take, character, day, stage)
        cells.append(Cell(*where, den // least, *figures))
    return cells


def footage(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None
) -> Footage:
    """Return the footage of the production: every claimed frame, split and summed exactly."""
    cells: list[Cell] = []
    for own in runs.values():
        is_accepted = ledger.take(own.shot, own.take).decision is Decision.ACCEPTED
        cells.extend(cells_of_take(own, is_accepted, use))
    return Footage(tuple(cells), use.cut.version if use is not None else None)


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
