"""The cells of a workbook, as they are handed from one process to the other.

``main`` is called apart (``credits.apart``), since the library that reads workbooks is compiled; so
this module imports little. It yields lines of JSON: of each sheet one that says what it is, then
its rows in stretches, a day as its number (``date.toordinal``). The last line is the end, or why
the workbook is refused: whoever finds no last line knows that the reading broke off.
"""

from __future__ import annotations

import gc
import json
import struct
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import Any, Literal, NamedTuple
from xml.etree import ElementTree

import python_calamine as calamine

from credits.formats.tables.hidden_cells import (
    HiddenCells,
    LockedError,
    TooLargeError,
    hidden_cells,
)
from credits.formats.tables.limits import LARGEST_CELL
from credits.text import stripped

STRETCH = 1_000  # rows of a line
END: list[Any] = ["end"]
# What is raised for a packed file whose bytes are not as they were written.
_DAMAGED = (calamine.CalamineError, zipfile.BadZipFile, zlib.error, ElementTree.ParseError)
_MISREAD = (EOFError, LookupError, RuntimeError, ValueError, struct.error)

Refusal = Literal["too large", "locked", "unreadable", "damaged"]


class SheetValues(NamedTuple):
    """One sheet: what it is, and why its rows are not read (or an empty text).

    wrong, uncomputed: as HiddenCells has them.
    """

    name: str
    hidden: bool
    unread: str
    wrong: list[tuple[int, str, str]]
    uncomputed: list[tuple[int, str]]


def main(path: str) -> Iterator[bytes]:
    """Yield what a workbook holds, or why it is refused, as lines of JSON."""
    gc.disable()  # nothing goes round in circles, and this process soon ends
    try:
        yield from map(_line, lines(Path(path)))
    except (TooLargeError, LockedError, OSError, *_DAMAGED, *_MISREAD) as error:
        yield _line(["refused", *_refused(error)])


def _line(of: list[Any]) -> bytes:
    return json.dumps(of, separators=(",", ":")).encode() + b"\n"


def _refused(error: Exception) -> tuple[Refusal, str]:
    if isinstance(error, TooLargeError):
        return "too large", str(error)
    if isinstance(error, LockedError | calamine.PasswordError):
        return "locked", ""
    if isinstance(error, OSError):
        return "unreadable", error.strerror or str(error)
    return "damaged", ""


def lines(path: Path) -> Iterator[list[Any]]:
    """Yield what a workbook holds: each sheet, its rows in stretches, the end."""
    beside = hidden_cells(path)
    with calamine.CalamineWorkbook.from_path(path) as book:
        for about in book.sheets_metadata:
            is_table = about.typ == calamine.SheetTypeEnum.WorkSheet
            hides = beside.get(about.name, HiddenCells()) if is_table else HiddenCells()
            unread = hides.too_large if is_table else "is no sheet of cells"
            hidden = about.visible != calamine.SheetVisibleEnum.Visible
            values = SheetValues(about.name, hidden, unread, hides.wrong, hides.uncomputed)
            if unread:
                values = values._replace(wrong=[], uncomputed=[])
            yield ["sheet", *values]
            if not unread:
                yield from _stretches(book.get_sheet_by_name(about.name))
    yield END


def _stretches(sheet: calamine.CalamineSheet) -> Iterator[list[Any]]:
    """Yield all rows from row 1 and column A: the library leaves out the columns before the first
    that is filled."""
    before = [""] * (sheet.start[1] if sheet.start else 0)
    rows = sheet.iter_rows()
    while some := [[*before, *map(_handed, row)] for row in islice(rows, STRETCH)]:
        yield ["rows", some]


def _handed(found: object) -> str | int:
    """Return a cell as it is handed over: a text, or the number of a day."""
    if isinstance(found, str):
        if len(found) > LARGEST_CELL:
            raise TooLargeError(f"has a cell of more than {LARGEST_CELL:,} characters")
        return stripped(found)
    if isinstance(found, bool):
        return "yes" if found else "no"
    if isinstance(found, float):
        return str(int(found)) if found.is_integer() else repr(found)
    if isinstance(found, date):
        return (found.date() if isinstance(found, datetime) else found).toordinal()
    if isinstance(found, time):
        return found.isoformat()
    if isinstance(found, timedelta):
        minutes, seconds = divmod(int(found.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02}:{seconds:02}"
    return stripped(str(found))
