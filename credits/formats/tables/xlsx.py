"""XLSX workbooks: the cells of every sheet as text or days, and the cells that hold an error."""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path, PurePosixPath
from typing import NamedTuple
from xml.etree import ElementTree

from python_calamine import (
    CalamineError,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, stripped

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
_RELATION = "{http://schemas.openxmlformats.org/package/2006/relationships}"
# What is raised for a packed file whose bytes are not as they were written.
_DAMAGED = (CalamineError, zipfile.BadZipFile, zlib.error, ElementTree.ParseError)
_MISREAD = (EOFError, LookupError, RuntimeError, ValueError)
_ERROR_CELL = re.compile(rb'<c\b([^>]*\bt="e"[^>]*)>(.*?)</c>', re.DOTALL)
_REFERENCE = re.compile(rb'\br="([A-Z]+)([0-9]+)"')
_SHOWN_ERROR = re.compile(rb"<v>([^<]*)</v>")


class WorkbookSheet(NamedTuple):
    """One sheet: all rows from row 1. ``wrong_cells``: (row, column letters, error shown)."""

    name: str
    hidden: bool
    rows: tuple[tuple[Cell, ...], ...]
    wrong_cells: tuple[tuple[int, str, str], ...]


def read_workbook(path: Path, file: str | None = None) -> tuple[WorkbookSheet, ...]:
    """Read every work sheet of a workbook, in its order.

    Raises ProblemsFound, under the name ``file``, when it cannot be read.
    """
    place = Place(file or path.name)
    sheets: list[WorkbookSheet] = []
    try:
        with CalamineWorkbook.from_path(path) as book:
            wrong = dict(_error_cells(path))
            for about in book.sheets_metadata:
                if about.typ != SheetTypeEnum.WorkSheet:
                    continue
                read = book.get_sheet_by_name(about.name).to_python(skip_empty_area=False)
                rows = tuple(tuple(map(_cell, row)) for row in read)
                hidden = about.visible != SheetVisibleEnum.Visible
                bad = tuple(wrong.get(about.name, ()))
                sheets.append(WorkbookSheet(about.name, hidden, rows, bad))
    except PasswordError:
        what = "is protected by a password"
        raise ProblemsFound(Finding(what, "Save it without one.", place)) from None
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", place)) from None
    except (*_DAMAGED, *_MISREAD):
        what = "is not a workbook that can be read, or is damaged"
        raise ProblemsFound(Finding(what, "Save it again as .xlsx.", place)) from None
    return tuple(sheets)


def _cell(found: object) -> Cell:
    if isinstance(found, str):
        return stripped(found)
    if isinstance(found, bool):
        return "yes" if found else "no"
    if isinstance(found, float):
        return str(int(found)) if found.is_integer() else repr(found)
    if isinstance(found, date):
        return found.date() if isinstance(found, datetime) else found
    if isinstance(found, time):
        return found.isoformat()
    if isinstance(found, timedelta):
        minutes, seconds = divmod(int(found.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02}:{seconds:02}"
    return stripped(str(found))


def _error_cells(path: Path) -> Iterator[tuple[str, list[tuple[int, str, str]]]]:
    """The cells that show an error such as #N/A, by sheet (ECMA-376 part 1, 18.18.11: t="e").

    The reader of values gives them as empty cells, and an empty cell would empty a value.
    """
    with zipfile.ZipFile(path) as packed:
        for name, member in _sheet_members(packed):
            found = []
            for attributes, content in _ERROR_CELL.findall(packed.read(member)):
                if reference := _REFERENCE.search(attributes):
                    error = _SHOWN_ERROR.search(content)
                    shown = error[1].decode(errors="replace") if error else "an error"
                    found.append((int(reference[2]), reference[1].decode(), shown))
            yield name, found


def _sheet_members(packed: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Each sheet's name and the packed file that holds it (ECMA-376 part 1, 18.2.20; part 2)."""
    book, relations = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
    names = set(packed.namelist())
    if not names >= {book, relations}:
        return
    related = ElementTree.fromstring(packed.read(relations)).iter(f"{_RELATION}Relationship")
    targets = {each.get("Id"): each.get("Target", "") for each in related}
    for sheet in ElementTree.fromstring(packed.read(book)).iter(f"{_MAIN}sheet"):
        target = targets.get(sheet.get(f"{_REL}id"), "")
        member = target.lstrip("/") if target.startswith("/") else str(PurePosixPath("xl", target))
        if member in names:
            yield sheet.get("name", ""), member
