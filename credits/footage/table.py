"""The footage table: footage by person, shot, character, week or stage, as it is shown.

The exact figures stand beside the rounded ones; every rounded column adds up to its total. The
command line and the site show the same table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from credits.footage.footage import MEASURES, Cell, Footage, FootageTotals, Measures
from credits.model.facts import Production
from credits.model.ledger import Ledger
from credits.names import sort_key
from credits.units.film_time import Gauge, feet_text, iso_week
from credits.units.rounding import decimal_text, half_up, largest_remainder

_HUNDREDTH = Fraction(1, 100)  # of a second or a foot; both are shown with two decimals


class By(StrEnum):
    """What footage is summed by."""

    PERSON = "person"
    SHOT = "shot"
    CHARACTER = "character"
    WEEK = "week"
    STAGE = "stage"


@dataclass(frozen=True, slots=True, kw_only=True)
class Filters:
    """Which cells count. None: all of them. Days are both included; undated cells have no day.

    ``persons`` are codes of one person each (``Ledger.one_person`` followed).
    """

    from_on: date | None = None
    to_on: date | None = None
    persons: frozenset[str] | None = None
    characters: frozenset[str] | None = None
    sequences: frozenset[str] | None = None
    shots: frozenset[str] | None = None

    def lets(self, cell: Cell, ledger: Ledger) -> bool:
        """Tell whether the cell counts."""
        if (self.from_on or self.to_on) and cell.day is None:
            return False
        day = cell.day or date.min
        return (
            (self.from_on is None or self.from_on <= day)
            and (self.to_on is None or day <= self.to_on)
            and (self.persons is None or cell.person in self.persons)
            and (self.characters is None or cell.character in self.characters)
            and (self.shots is None or cell.shot in self.shots)
            and (self.sequences is None or ledger.shots[cell.shot].sequence in self.sequences)
        )


NO_FILTERS = Filters()


@dataclass(frozen=True, slots=True)
class Shown:
    """One kind of footage of one row as it is printed, a figure for each of the five measures.

    ``frames`` whole, ``seconds`` as decimals with two places, ``feet`` as the gauge writes them.
    """

    frames: tuple[int, ...]
    seconds: tuple[str, ...]
    feet: tuple[str, ...]

    def at(self, measure: str) -> tuple[int, str, str]:
        """Return frames, seconds and feet of one measure. Raises ValueError for another word."""
        place = MEASURES.index(measure)
        return self.frames[place], self.seconds[place], self.feet[place]


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageRow:
    """One row: its key (a code, week or None for each word of ``by``), exact and shown figures."""

    key: tuple[str | None, ...]
    totals: FootageTotals
    character: Shown
    by_shot: Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageTable:
    """The rows in order, and their total (whose key is empty). ``cut`` None: no cut yet."""

    by: tuple[By, ...]
    cut: int | None
    rows: tuple[FootageRow, ...]
    total: FootageRow


_KEYS: dict[By, Callable[[Cell], str | None]] = {
    By.PERSON: lambda cell: cell.person,
    By.SHOT: lambda cell: cell.shot,
    By.CHARACTER: lambda cell: cell.character,
    By.WEEK: lambda cell: iso_week(cell.day) if cell.day is not None else None,
    By.STAGE: lambda cell: cell.stage,
}


def _places(codes: Mapping[str, object]) -> Callable[[str | None], tuple[object, ...]]:
    """Order by the place in a table; what has no code comes last."""
    places = {code: place for place, code in enumerate(codes)}
    return lambda code: (len(places), "") if code is None else (places.get(code, 0), code)


def _order_of(by: By, ledger: Ledger) -> Callable[[str | None], tuple[object, ...]]:
    """People by sort name; shots, characters and stages as in their tables; undated weeks first."""
    if by is By.PERSON:
        return lambda code: (sort_key(ledger.people[code or ""].files_under), code)
    if by is By.WEEK:
        return lambda week: (week or "",)
    tables: dict[By, Mapping[str, object]] = {
        By.SHOT: ledger.shots,
        By.CHARACTER: ledger.characters,
        By.STAGE: ledger.stages,
    }
    return _places(tables[by])


def _feet_column(frames: Sequence[int], exact: Sequence[Fraction | int], gauge: Gauge) -> list[str]:
    """Feet that add up: those of the whole frames shown, or decimal feet rounded on their own."""
    if gauge.whole_feet:
        return [feet_text(shown, gauge) for shown in frames]
    lengths = [value / gauge.frames_per_foot for value in exact]
    hundredths = largest_remainder(lengths, _HUNDREDTH)
    return [decimal_text(units * _HUNDREDTH, 2) for units in hundredths]


def shown_measures(
    measures: Sequence[Measures], production: Production
) -> tuple[tuple[Shown, ...], Shown]:
    """Return each row's figures as shown, and their total, so that every column adds up."""
    rate, gauge = production.rate.per_second, production.gauge
    columns: list[list[tuple[int, str, str]]] = []
    totals: list[tuple[int, str, str]] = []
    for measure in MEASURES:
        exact = [each.of(measure) for each in measures]
        frames = largest_remainder(exact)
        hundredths = largest_remainder([value / rate for value in exact], _HUNDREDTH)
        feet = _feet_column(frames, exact, gauge)
        texts = (decimal_text(units * _HUNDREDTH, 2) for units in hundredths)
        columns.append(list(zip(frames, texts, feet, strict=True)))
        whole = sum(exact, Fraction(0))
        total_frames = half_up(whole)
        total_feet = feet_text(total_frames if gauge.whole_feet else whole, gauge)
        totals.append((total_frames, decimal_text(whole / rate, 2), total_feet))
    rows = [_of_triples([column[row] for column in columns]) for row in range(len(measures))]
    return tuple(rows), _of_triples(totals)


def _of_triples(triples: Sequence[tuple[int, str, str]]) -> Shown:
    frames, seconds, feet = zip(*triples, strict=True)
    return Shown(frames, seconds, feet)


def footage_rows(
    footage: Footage, ledger: Ledger, by: Sequence[By], filters: Filters = NO_FILTERS
) -> FootageTable:
    """Make the footage table: one row for each key that has footage, and the total of all rows.

    ``by``: what to sum by; several nest: person, then shot. ``filters``: which cells count. Cells
    without a day or a stage have None in the key. ValueError when ``by`` is empty.
    """
    if not by:
        raise ValueError("footage is summed by something")
    counted = footage.where(lambda cell: filters.lets(cell, ledger))
    keys = [_KEYS[word] for word in by]
    sums = counted.by(lambda cell: tuple(key(cell) for key in keys))
    orders = [_order_of(word, ledger) for word in by]
    ordered = sorted(
        sums.items(),
        key=lambda item: tuple(o(code) for o, code in zip(orders, item[0], strict=True)),
    )
    characters, character_total = shown_measures(
        [totals.character for _, totals in ordered], ledger.production
    )
    shots, shot_total = shown_measures([totals.by_shot for _, totals in ordered], ledger.production)
    rows = tuple(
        FootageRow(key=key, totals=totals, character=character, by_shot=by_shot)
        for (key, totals), character, by_shot in zip(ordered, characters, shots, strict=True)
    )
    total = FootageRow(key=(), totals=counted.total, character=character_total, by_shot=shot_total)
    return FootageTable(by=tuple(by), cut=counted.cut, rows=rows, total=total)
