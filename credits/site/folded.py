"""Long tables of shots, folded by sequence: the sums of each first, then its shots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from credits.editions import Everyone
from credits.model.ledger import Ledger
from credits.site.source import PageSource, grouped
from credits.units.table import Column, Table, Unit

MOST_ROWS = 60  # a table that is no longer stands as it is

Part = tuple[str, str, Table]
"""A sequence, how many rows it has, and those; of a table that is not folded, the table alone."""


@dataclass(frozen=True, slots=True)
class Folded:
    """A table in parts. sums: what adds up of each part, where anything does."""

    parts: Everyone[tuple[Part, ...]]
    sums: Everyone[Table | None] = None

    def __bool__(self) -> bool:
        return any(table for _, _, table in self.parts)


def _sums(table: Table, parts: Mapping[str, Table]) -> Table | None:
    added = [column for column in table.columns if column.adds_up]
    if not added:
        return None
    key = Column(key="sequence", heading="Sequence")
    count = Column(key="rows", heading="Rows", unit=Unit.NUMBER, adds_up=True)
    rows = (
        (name, len(part.rows), *(sum(filter(None, part.column(c.key))) for c in added))
        for name, part in parts.items()
    )
    caption = f"{table.caption}, by sequence"
    return Table.of(caption, (key, count, *added), rows, table.scale, table.label or "total")


def folded(source: PageSource, table: Table) -> Folded:
    """Return a table whose first column is the shot; a long one by sequence.

    A column that adds up adds up in each part to what the sums show of it.
    """
    if len(table.rows) <= MOST_ROWS:
        return Folded((("", "", table),))
    ledger = source.ledger
    found = grouped(table.rows, lambda row: _sequence(ledger, row))
    parts = {
        source.sequence(code): replace(table, rows=tuple(rows), totals={})
        for code, rows in found.items()
    }
    sums = _sums(table, parts)
    units = sums.printed().units if sums is not None else {}
    shown = (
        replace(part, shown_totals={k: own[at] for k, own in units.items() if k != "rows"})
        for at, part in enumerate(parts.values())
    )
    named = zip(parts, shown, strict=True)
    return Folded(tuple((name, f"{len(part.rows):,}", part) for name, part in named), sums)


def _sequence(ledger: Ledger, row: tuple[object, ...]) -> str:
    return ledger.shots[str(row[0])].sequence
