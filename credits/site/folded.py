"""Long tables, folded: of shots by sequence, of parts by kit; the sums of each first."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from credits.editions import Everyone
from credits.model.ledger import Ledger
from credits.site.source import PageSource, grouped
from credits.units.table import Column, Marked, Table, Unit

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


def _sums(
    table: Table, parts: Mapping[str, Table], name: str = "Sequence", rows_are: str = "Rows"
) -> Table | None:
    added = [column for column in table.columns if column.adds_up]
    if not added:
        return None
    key = Column(key="sequence", heading=name)
    count = Column(key="rows", heading=rows_are, unit=Unit.NUMBER, adds_up=True)
    rows = (
        (name, len(part.rows), *(sum(filter(None, part.column(c.key))) for c in added))
        for name, part in parts.items()
    )
    caption = f"{table.caption}, by {name.lower()}"
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


FEW_PARTS = 12  # stand as they are
MOST_OF_A_KIT = 40  # stand together; of more, so many numbers each
_NUMBER = re.compile(r"[\W_]?\d+$")


def natural(code: str) -> str:
    """Return a code whose numbers sort by their value: face-9 before face-12."""
    return re.sub(r"\d+", lambda found: found[0].zfill(9), code.casefold())


def kits(parts: Sequence[tuple[str, str]]) -> list[str]:
    """Return which kit each part belongs to: what stands before the number of several codes.

    parts: code and kind of each. A part whose code has no number, or none like it, belongs to
    those of its kind.
    """
    stems = [(_NUMBER.sub("", code), kind) for code, kind in parts]
    several = Counter(stems)
    return [f"{stem}, {kind}" if several[stem, kind] > 1 and stem else kind for stem, kind in stems]


def folded_by_kit(table: Table, kinds: Sequence[str], sums: bool = False) -> Folded:
    """Return a table whose first column is a part, in parts by kit where it is long.

    kinds: of each row. sums: whether a table of what adds up stands before.
    """
    if len(table.rows) <= FEW_PARTS:
        return Folded((("", "", table),))
    codes = [_code(row[0]) for row in table.rows]
    named = zip(kits(list(zip(codes, kinds, strict=True))), table.rows, strict=True)
    found = grouped(named, lambda one: one[0])
    pieces = [
        piece
        for kit, own in found.items()
        for piece in _pieces(kit, tuple([row for _, row in own]))
    ]
    parts = {
        name: replace(table, caption=f"{table.caption}: {name}", rows=rows, totals={})
        for name, _, rows in pieces
    }
    return Folded(
        tuple((name, count, parts[name]) for name, count, _ in pieces),
        _sums(table, parts, "Kit", "Pieces") if sums else None,
    )


def _code(value: object) -> str:
    return str(value.value) if isinstance(value, Marked) else str(value)


Rows = tuple[tuple[object, ...], ...]


def _pieces(kit: str, rows: Rows) -> Iterator[tuple[str, str, Rows]]:
    """Yield a kit, how many parts it has, and those; a large one in pieces."""
    for at in range(0, len(rows), MOST_OF_A_KIT):
        own = rows[at : at + MOST_OF_A_KIT]
        first, last = _code(own[0][0]), _code(own[-1][0])
        span = f"{first} to {last}" if len(own) > 1 else first
        if len(own) == len(rows):
            yield kit, f"{len(own):,}: {span}", own
        else:
            yield f"{kit}, {span}", f"{len(own):,}", own


def _sequence(ledger: Ledger, row: tuple[object, ...]) -> str:
    return ledger.shots[str(row[0])].sequence
