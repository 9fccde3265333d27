"""A sheet as it was found: which table it is, its header, its rows with the numbers people see.

A row's number is the one a spreadsheet program shows: records are counted from 1, so a line break
inside a quoted cell does not count, a blank row does, and a leading ``sep=;`` line does not.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date

from credits.errors import Finding, Place
from credits.exchange.columns import TABLES
from credits.exchange.values import Cell, stripped
from credits.text import nearest

Progress = Callable[[str, int, int], None]

NOT_TABLES = {
    "cut": "is the editors' cut, not a table",
    "face": "is a face sheet, not a table",
}
_BRING_IN = {
    "cut": "Bring it in with: credits cut {file}.",
    "face": "Bring it in with: credits load --face-sheet SHOT {file}.",
}
_END_OF_WORD = re.compile(r"[-. _]")


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of one table in one file. ``cells`` run beside ``numbers``; all rows are as wide as
    ``header``, which holds the column names in their plain form."""

    table: str
    file: str
    header_row: int
    header: tuple[str, ...]
    numbers: tuple[int, ...]
    cells: tuple[tuple[Cell, ...], ...]

    def place(self, index: int) -> Place:
        """Where the row of that index was read."""
        return Place(self.file, self.numbers[index])


@dataclass(frozen=True, slots=True)
class Tables:
    """Everything that was read. ``unread``: tables of which a file could not be read, so that what
    is missing in them says nothing."""

    sheets: tuple[Sheet, ...] = ()
    problems: tuple[Finding, ...] = ()
    left_out: tuple[Finding, ...] = ()
    unread: frozenset[str] = frozenset()


@dataclass(slots=True)
class Found:
    """What reading has found so far."""

    sheets: list[Sheet] = field(default_factory=list)
    problems: list[Finding] = field(default_factory=list)
    left_out: list[Finding] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def done(self) -> Tables:
        """The frozen result."""
        return Tables(
            tuple(self.sheets), tuple(self.problems), tuple(self.left_out), frozenset(self.unread)
        )


def table_named(name: str) -> str | None:
    """The table that the name of a file or sheet says: entries for ``Entries 2``."""
    word = _END_OF_WORD.split(stripped(name).lower(), maxsplit=1)[0]
    return word if word in TABLES else None


def not_a_table(name: str) -> Finding | None:
    """The finding about a file that is known to be no table: the cut, a face sheet."""
    low = name.lower()
    kind = "cut" if low == "cut.csv" else "face" if low.startswith("face-sheet-") else None
    if kind is None:
        return None
    return Finding(NOT_TABLES[kind], _BRING_IN[kind].format(file=name), Place(name))


def unnamed(name: str, suffix: str = "") -> Finding:
    """The finding about a file whose name says no table."""
    word = _END_OF_WORD.split(stripped(name).lower(), maxsplit=1)[0]
    like = nearest(word, TABLES)
    hint = f"Rename it {like[0]}{suffix}, if that is what it holds." if like else ""
    known = f"The tables are {', '.join(TABLES)}."
    return Finding("its name says no table", f"{hint} {known}".strip(), Place(name))


def plain_header(cell: Cell) -> str:
    """A column's name in its plain form: ``Credit Name`` is credit_name."""
    return re.sub(r"[\s-]+", "_", stripped(str(cell)).lower())


def _is_blank(row: Sequence[Cell]) -> bool:
    return not any(row)


def sheet_of(
    table: str,
    file: str,
    rows: Sequence[Sequence[Cell]],
    found: Found,
    heading: Callable[[Cell], str] = plain_header,
) -> None:
    """Make a sheet of all rows of a file, the first that is not blank being the header.

    Cells must be stripped. What cannot be a sheet becomes a finding: cells beyond the header
    are problems, a file without rows is left out. ``heading`` makes a column's name of its cell.
    """
    start = next((i for i, row in enumerate(rows) if not _is_blank(row)), None)
    if start is None:
        found.left_out.append(Finding("is empty, so there is nothing to load", "", Place(file)))
        return
    header = list(rows[start])
    while header and not header[-1]:
        header.pop()
    width = len(header)
    numbers: list[int] = []
    cells: list[tuple[Cell, ...]] = []
    for number, row in enumerate(rows[start + 1 :], start + 2):
        length = len(row)
        if _is_blank(row):
            continue
        if length > width:
            _beyond(file, number, row[width:], width, found)
            row = row[:width]
        elif length < width:
            row = [*row, *[""] * (width - length)]
        numbers.append(number)
        cells.append(tuple(row))
    names = tuple(heading(cell) for cell in header)
    found.sheets.append(Sheet(table, file, start + 1, names, tuple(numbers), tuple(cells)))


def _beyond(file: str, number: int, rest: Sequence[Cell], width: int, found: Found) -> None:
    for position, cell in enumerate(rest, width + 1):
        if cell:
            what = f"stands in column {position}, which has no heading"
            hint = "Give the column a heading, or put quotation marks around a text with commas."
            place = Place(file, number)
            found.problems.append(Finding(what, hint, place, value=shown(cell)))
            return


def shown(cell: Cell) -> str:
    """A cell as a finding quotes it."""
    return cell.isoformat() if isinstance(cell, date) else cell
