"""One sheet: the rows of a table as they stand in a file."""

from __future__ import annotations

from dataclasses import dataclass

from credits.errors import Place
from credits.formats.tables.cells import Cell


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The rows of one table in one file. ``cells`` run beside ``numbers``; all rows are as wide as
    ``header``, which holds the column names in their plain form."""

    table: str
    file: str
    header_row: int = 1
    header: tuple[str, ...]
    numbers: tuple[int, ...]
    cells: tuple[tuple[Cell, ...], ...]

    def place(self, index: int | None = None) -> Place:
        """Return where the row of that index was read; without one, the header."""
        return Place(self.file, self.header_row if index is None else self.numbers[index])
