"""Workbooks (.xlsx, .xlsm, .ods, .xls) as sheets of cells.

They are read in another process (``workbook_values``), since what reads them is compiled and may be
ended by a damaged file; here its values are taken in, and what went wrong is put into words.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from credits import apart
from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell
from credits.formats.tables.column_letters import column_number
from credits.formats.tables.csv_files import require_readable
from credits.memory import all_kept

WORKBOOKS = (".xlsx", ".xlsm", ".ods", ".xls")
READER = "credits.formats.tables.workbook_values"

_UNCOMPUTED = "holds a formula that was never computed"
_IN_PARTS = "Keep in it the rows that are to be loaded, or load it in several files."
_SMALLER = "Save it again as .xlsx, with the rows that are to be loaded, or as several files."
_DAMAGED = ("is not a workbook that can be read, or is damaged", "Save it again as .xlsx.")
_ENDINGS: dict[apart.Ending, tuple[str, str]] = {
    "not begun": (
        "cannot be read: the system began no other process for it",
        apart.CLOSE_OTHERS,
    ),
    "too long": (
        f"takes more than {apart.SECONDS} seconds to read: it is very large, or damaged",
        _SMALLER,
    ),
    "too large": (
        f"takes more than {apart.MEGABYTES} MB of memory to read: it is very large, or damaged",
        _SMALLER,
    ),
    "stopped": (
        "was not read to its end: the system, or somebody, stopped the reading",
        "Close other programs and try again, or load it in several files.",
    ),
    "crashed": _DAMAGED,
}


class WorkbookSheet(NamedTuple):
    """One sheet: all rows from row 1.

    ``valueless``: cells that hold no value to read, each with the place of its column from 0.
    ``unread``: why its rows were not read, if so.
    """

    name: str
    hidden: bool
    rows: tuple[tuple[Cell, ...], ...]
    valueless: tuple[tuple[int, Finding], ...]
    unread: str = ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong with its cells, wherever they are."""
        return tuple(finding for _, finding in self.valueless)


def read_workbook(path: Path, file: str | None = None) -> tuple[WorkbookSheet, ...]:
    """Read every sheet of a workbook. Raises ProblemsFound under the name ``file``."""
    called = file or path.name
    require_readable(path, file)
    try:
        written = apart.read_apart(READER, str(path.absolute()))
    except apart.EndedApartError as error:
        raise ProblemsFound(Finding(*_ENDINGS[error.how], Place(called))) from None
    with all_kept():
        return tuple(_sheets(written.splitlines(), called))


def _sheets(lines: Iterable[bytes | str], file: str) -> Iterator[WorkbookSheet]:
    """Take in what the other process wrote, which is as ``workbook_values`` says."""
    sheet: WorkbookSheet | None = None
    rows: list[tuple[Cell, ...]] = []
    kind, about = "", list[Any]()
    for line in lines:
        kind, *about = json.loads(line)
        if kind == "rows":
            rows.extend(map(_row, about[0]))
            continue
        if sheet is not None:
            yield sheet._replace(rows=tuple(rows))
            sheet, rows = None, []
        if kind == "sheet":
            name, hidden, unread, wrong, uncomputed = about
            found = tuple(_findings(wrong, uncomputed, f"{file} sheet {name}"))
            sheet = WorkbookSheet(name, hidden, (), found, unread)
    if kind != "end":
        raise ProblemsFound(Finding(*_refusal(*about), Place(file)))


def _row(handed: list[str | int]) -> tuple[Cell, ...]:
    return tuple([c if isinstance(c, str) else date.fromordinal(c) for c in handed])


def _refusal(kind: str = "", text: str = "", *_: object) -> tuple[str, str]:
    """Say why a workbook is refused; one of which no end was written is damaged."""
    if kind == "too large":
        return text, _IN_PARTS
    if kind == "locked":
        return "is protected by a password", "Save it without one."
    return (f"cannot be read ({text})", "") if kind == "unreadable" else _DAMAGED


def _findings(
    wrong: Iterable[tuple[int, str, str]], uncomputed: Iterable[tuple[int, str]], place: str
) -> Iterator[tuple[int, Finding]]:
    """Say which cells hold nothing to read; those of one column, and one error, together."""
    hint = "Correct the formula, or write the value."
    by_error: dict[tuple[str, str], list[int]] = defaultdict(list)
    for row, letters, error in wrong:
        by_error[letters, error].append(row)
    for (letters, error), rows in by_error.items():
        found = _about_cells(rows, letters, "shows an error", hint, place, error)
        yield column_number(letters) - 1, found
    hint = "Open the file, save it, and load it again."
    by_column: dict[str, list[int]] = defaultdict(list)
    for row, letters in uncomputed:
        by_column[letters].append(row)
    for letters, rows in by_column.items():
        found = _about_cells(rows, letters, _UNCOMPUTED, hint, place)
        yield column_number(letters) - 1, found


def _about_cells(
    rows: Sequence[int], letters: str, what: str, hint: str, place: str, value: str | None = None
) -> Finding:
    first, *others = sorted(rows)
    if not others:
        return Finding(what, hint, Place(place, first, cell=f"{letters}{first}"), value=value)
    where = Place(place, first, also=tuple(others))
    return Finding(what, hint, where, column=f"column {letters}", value=value)
