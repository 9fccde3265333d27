"""The rows of a sheet, column by column: each distinct cell is read once, every bad one found."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from credits.errors import Finding, Place
from credits.exchange.codes import CodeBooks
from credits.exchange.columns import TABLES, Column, Table
from credits.exchange.sheets import Sheet, shown
from credits.exchange.values import Cell, Reader, Unreadable
from credits.text import nearest

NOTHING_BAD: frozenset[str] = frozenset()


class Rows:
    """One sheet's rows as values. Findings gather in ``findings``.

    ``bad`` says which cells of a row could not be read (or are missing), ``doubtful`` which columns
    may stand under a name that is not known, so that nothing is concluded from them.
    """

    def __init__(self, sheet: Sheet, table: Table | None = None) -> None:
        self.sheet = sheet
        self.table = table or TABLES[sheet.table]
        self.findings: list[Finding] = []
        self.bad: dict[int, set[str]] = {}
        self.doubtful: set[str] = set()
        self._at: dict[str, int] = {}
        self._cells: list[tuple[Cell, ...]] = list(zip(*sheet.cells, strict=True))
        self._read: dict[str, list[object]] = {}
        self._understand_header()

    def __len__(self) -> int:
        return len(self.sheet.cells)

    @property
    def usable(self) -> bool:
        """Whether the columns that say which row is meant are all there."""
        return all(self.has(c.name) for c in self.table.columns if c.key and c.required)

    def has(self, column: str) -> bool:
        """Whether the sheet has the column."""
        return column in self._at

    def bad_in(self, index: int) -> set[str] | frozenset[str]:
        """The columns of a row that hold nothing to conclude from."""
        bad = self.bad.get(index)
        if self.doubtful:
            return self.doubtful | (bad or set())
        return bad or NOTHING_BAD

    def problem(
        self, index: int, column: str | None, value: object, what: str, hint: str = ""
    ) -> None:
        """Note what is wrong in a row; ``value`` None: the row as a whole."""
        text = None if value is None else str(value)
        self.findings.append(Finding(what, hint, self.sheet.place(index), column, text))

    def _understand_header(self) -> None:
        place = Place(self.sheet.file, self.sheet.header_row)
        known = self.table.column_names
        for position, name in enumerate(self.sheet.header):
            if not name:
                self._check_unheaded(position)
            elif name not in known:
                like = nearest(name, [c for c in known if c not in self.sheet.header])
                hint = f"Rename it {like[0]}, or take it out." if like else "Take it out."
                self.doubtful.update(like[:1] or known)
                hint += f" The columns of {self.table.name} are {', '.join(known)}."
                what = "is not a column of this table"
                self.findings.append(Finding(what, hint, place, "column", name))
            elif name in self._at:
                what = "is there more than once"
                self.findings.append(Finding(what, "Keep one.", place, "column", name))
            else:
                self._at[name] = position
        for column in self.table.columns:
            must = column.key or self.table.name == "entries"
            if column.required and must and column.name not in self._at:
                what = "this column is missing"
                hint = f"Every row of {self.table.name} needs one."
                self.findings.append(Finding(what, hint, place, "column", column.name))

    def _check_unheaded(self, position: int) -> None:
        for index, row in enumerate(self.sheet.cells):
            if row[position]:
                what = f"stands in column {position + 1}, which has no heading"
                self.problem(index, None, shown(row[position]), what, "Give it a heading.")
                return

    def column(self, column: Column, books: CodeBooks) -> list[object]:
        """The values of a column, read once; the column's ``empty`` where the sheet has no such
        column, where the cell is empty and where it cannot be read."""
        if column.name in self._read:
            return self._read[column.name]
        at = self._at.get(column.name)
        if at is None:
            values = [column.empty] * len(self)
        else:
            cells = self._cells[at] if self._cells else ()
            reads = column.reads if column.refers is None else books[column.refers].find
            values = list(self._values(column, cells, reads))
        self._read[column.name] = values
        return values

    def _values(
        self, column: Column, cells: tuple[Cell, ...], reads: Reader
    ) -> list[object] | Iterator[object]:
        read, wrong = _read_each(set(cells), reads)
        if column.required:
            wrong[""] = Unreadable("is empty", f"Every row of {self.table.name} needs one.")
        read[""] = column.empty
        found = wrong.keys() & set(cells)
        if found:
            for index, cell in enumerate(cells):
                if cell in found:
                    self.bad.setdefault(index, set()).add(column.name)
                    problem = wrong[cell]
                    value = shown(cell) or None
                    self.problem(index, column.name, value, problem.what, problem.hint)
                    read.setdefault(cell, column.empty)
        return map(read.__getitem__, cells)

    def own_codes(self, add: Callable[[str], str], books: CodeBooks) -> None:
        """Read the sheet's own codes and make them known; they become what was first spelled."""
        column = self.table.columns[0]
        values = self.column(column, books)
        values[:] = [add(value) if isinstance(value, str) else None for value in values]


def _read_each(
    cells: set[Cell], reads: Reader
) -> tuple[dict[Cell, object], dict[Cell, Unreadable]]:
    read: dict[Cell, object] = {}
    wrong: dict[Cell, Unreadable] = {}
    for cell in cells:
        if cell:
            try:
                read[cell] = reads(cell)
            except Unreadable as problem:
                wrong[cell] = problem
    return read, wrong
