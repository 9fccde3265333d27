"""Footage by person, shot, character, week or stage: exact, and as the table that is printed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import starmap

from credits.editions import Edition
from credits.footage.footage import Cell, Footage, FootageTotals
from credits.model.facts import Production
from credits.model.ledger import Ledger
from credits.names import sort_key
from credits.units.film_time import iso_week
from credits.units.rounding import Exact
from credits.units.table import Column, Scale, Table, Unit

SECOND_PLACES = 2


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

    persons: codes of one person each (``Ledger.one_person`` followed).
    """

    from_on: date | None = None
    to_on: date | None = None
    persons: frozenset[str] | None = None
    characters: frozenset[str] | None = None
    sequences: frozenset[str] | None = None
    shots: frozenset[str] | None = None

    @property
    def fields(self) -> Iterator[str]:
        """The fields of a cell that are looked at."""
        if self.from_on or self.to_on:
            yield "day"
        if self.persons is not None:
            yield "person"
        if self.characters is not None:
            yield "character"
        if self.shots is not None or self.sequences is not None:
            yield "shot"

    def lets(self, cell: Cell, ledger: Ledger) -> bool:
        """Tell whether the cell counts."""
        if (self.from_on or self.to_on) and cell.day is None:
            return False
        day = cell.day or date.min
        return (
            (self.from_on or day) <= day <= (self.to_on or day)
            and (self.persons is None or cell.person in self.persons)
            and (self.characters is None or cell.character in self.characters)
            and (self.shots is None or cell.shot in self.shots)
            and (self.sequences is None or ledger.shots[cell.shot].sequence in self.sequences)
        )


NO_FILTERS = Filters()


@dataclass(frozen=True, slots=True)
class FootageRow:
    """The exact footage of a key: a code, a week, or None for what has none, for each word."""

    key: tuple[str | None, ...]
    totals: FootageTotals


_KEYS: dict[By, Callable[[Cell], str | None]] = {
    By.PERSON: lambda cell: cell.person,
    By.SHOT: lambda cell: cell.shot,
    By.CHARACTER: lambda cell: cell.character,
    By.WEEK: lambda cell: iso_week(cell.day) if cell.day is not None else None,
    By.STAGE: lambda cell: cell.stage,
}


def _order_of(by: By, ledger: Ledger) -> Callable[[str | None], tuple[object, ...]]:
    """People by sort name; what has a table as in it, no code last; undated weeks first."""
    if by is By.PERSON:
        alphabet = ledger.production.alphabet
        return lambda code: (sort_key(ledger.people[code or ""].files_under, alphabet), code)
    if by is By.WEEK:
        return lambda week: (week or "",)
    codes: Mapping[str, object] = getattr(ledger, f"{by}s")
    places = {code: place for place, code in enumerate(codes)}
    return lambda code: (len(places), "") if code is None else (places.get(code, 0), code)


def footage_rows(
    footage: Footage, ledger: Ledger, by: Sequence[By], filters: Filters = NO_FILTERS
) -> tuple[FootageRow, ...]:
    """Sum footage by one word or several that nest, such as person, then shot.

    Cells without a day or a stage have None in the key. ValueError when ``by`` is empty.
    """
    if not by:
        raise ValueError("footage is summed by something")
    summed = footage.summed_by(*by, *filters.fields)
    counted = summed.where(lambda cell: filters.lets(cell, ledger))
    keys = [_KEYS[word] for word in by]
    sums = counted.by(lambda cell: tuple(key(cell) for key in keys))
    places = [
        _places([key[at] for key in sums], _order_of(word, ledger)) for at, word in enumerate(by)
    ]

    def order(row: FootageRow) -> list[int]:
        return [of[code] for of, code in zip(places, row.key, strict=True)]

    return tuple(sorted(starmap(FootageRow, sums.items()), key=order))


def _places(
    codes: Iterable[str | None], order: Callable[[str | None], tuple[object, ...]]
) -> dict[str | None, int]:
    """Return the places of codes in their order: there are far fewer of them than rows."""
    return {code: place for place, code in enumerate(sorted(set(codes), key=order))}


def footage_column(
    key: str, heading: str, edition: Edition = Edition.PUBLIC, places: int = SECOND_PLACES
) -> Column:
    """Return a column of footage, which adds up.

    key: a measure for shot footage in whole frames, such as "kept"; "kept_seconds" and "kept_feet"
    for the same as time and film; "kept_character" for character footage in whole frames.
    places: decimals of seconds.
    """
    unit = {"seconds": Unit.SECONDS, "feet": Unit.FEET}.get(key.partition("_")[2], Unit.FRAMES)
    decimals = places if unit is Unit.SECONDS else 0
    return Column(
        key=key, heading=heading, unit=unit, edition=edition, places=decimals, adds_up=True
    )


def footage_columns(**headings: str) -> tuple[Column, ...]:
    """Return columns of footage, each of its key and its heading."""
    return tuple(starmap(footage_column, headings.items()))


def footage_values(totals: FootageTotals, columns: Iterable[Column]) -> tuple[Exact, ...]:
    """Return the exact frames that stand in each column of footage."""
    return _values_of(totals, map(_measured, columns))


def _measured(column: Column) -> tuple[str, bool]:
    """Return the measure of a column of footage, and whether it is of character footage."""
    measure, _, kind = column.key.partition("_")
    return measure, kind == "character"


def _values_of(totals: FootageTotals, measured: Iterable[tuple[str, bool]]) -> tuple[Exact, ...]:
    character, by_shot = totals.character, totals.by_shot
    return tuple(
        [(character if is_character else by_shot).of(name) for name, is_character in measured]
    )


def footage_table(
    caption: str,
    keys: Sequence[Column],
    figures: Sequence[Column],
    rows: Iterable[tuple[tuple[object, ...], FootageTotals]],
    production: Production,
    label: str = "total",
) -> Table:
    """Return the table of footage with a total.

    keys: the columns that say of what; rows have a value for each. figures: columns of footage.
    """
    measured = [*map(_measured, figures)]
    values = ((*names, *_values_of(totals, measured)) for names, totals in rows)
    scale = Scale(production.rate, production.gauge)
    return Table.of(caption, (*keys, *figures), values, scale, label)
