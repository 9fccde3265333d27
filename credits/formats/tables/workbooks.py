"""Workbooks (.xlsx, .xlsm, .ods, .xls) as sheets of cells, and what a reader of values hides.

A reader of values gives a cell that shows an error, and a formula that was never computed, as an
empty cell; an empty cell would empty a value. So the packed files are looked at beside it.
"""

from __future__ import annotations

import re
import struct
import subprocess
import sys
import zipfile
import zlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path, PurePosixPath
from typing import IO, NamedTuple
from xml.etree import ElementTree

import python_calamine as calamine

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.binary_workbooks import error_cells
from credits.formats.tables.cells import Cell
from credits.formats.tables.csv_files import LARGEST_CELL, LARGEST_FILE, require_readable
from credits.text import stripped

WORKBOOKS = (".xlsx", ".xlsm", ".ods", ".xls")
MOST_ROWS, MOST_COLUMNS = 1_048_576, 200
MOST_CELLS = 10_000_000
"""A sheet is held as a rectangle, empty cells and all."""
ALWAYS_HELD, LEAST_FILLED = 1_000_000, 20
"""A rectangle of more cells than that is held where one of so many is written in the file."""
MOST_LETTERS = LARGEST_FILE
"""Of all cells together: a text that stands once in the file may be that of many cells."""

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
_RELATION = "{http://schemas.openxmlformats.org/package/2006/relationships}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_VALUE_TYPES = (
    f"{_OFFICE}value-type",
    "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type",
)
_UNCOMPUTED = "holds a formula that was never computed"
_LOCKED = b"encryption-data"  # OpenDocument 1.3 part 2, 3.4.1
# What is raised for a packed file whose bytes are not as they were written.
_DAMAGED = (calamine.CalamineError, zipfile.BadZipFile, zlib.error, ElementTree.ParseError)
_MISREAD = (EOFError, LookupError, RuntimeError, ValueError, struct.error)
# The name of an element and its attributes up to the one that says where it is. Nothing here looks
# at a letter twice, whatever is or is not closed.
_UP_TO_R = rb'(?:\s+(?!r\s*=)[\w:.-]++\s*=\s*"[^"<>]*+")*+\s+r\s*=\s*"'
# A cell with content: it does not close itself, and something stands in it.
_FILLED_CELL = re.compile(
    rb"<(?:\w+:)?c" + _UP_TO_R + rb'([A-Z]{1,7})([0-9]{1,10})"[^<>]*+(?<!/)>(?!</)'
)
# A sheet without one of these holds neither an error nor a formula: they are quickly looked for.
_SIGNS_OF_INTEREST = (b't="e"', b"<f", b":f")
_CELL_END = re.compile(rb"</(?:\w+:)?c>")
_CELL = re.compile(rb"<(?:\w+:)?c\b([^<>]*+)(?<!/)>")
_FORMULA = re.compile(rb"\s*<(?:\w+:)?f\b")
_REFERENCE = re.compile(rb'\br\s*=\s*"([A-Z]{1,7})([0-9]{1,10})"')
_SHOWN_VALUE = re.compile(rb"<(?:\w+:)?v>([^<]*)</")
_ROW = re.compile(rb"<(?:\w+:)?row" + _UP_TO_R + rb'([0-9]{1,10})"')
_FAR_COLUMN = re.compile(rb'\br\s*=\s*"(?:[A-Z]{3,}|G[S-Z]|[H-Z][A-Z])[0-9]+"')  # GR is the 200th
_ANY_CELL = re.compile(rb"<(?:\w+:)?c[\s/>]")
_INDEX = re.compile(rb"<(?:\w+:)?v\b[^<>]*+>\s*([0-9]{1,9})\s*<")
_STRING_END = re.compile(rb"</(?:\w+:)?si>")


@dataclass(slots=True)
class HiddenCells:
    """What a reader of values hides of one sheet: cells as (row, letters of the column, shown).

    ``wrong`` cells show an error; ``uncomputed`` ones hold a formula without a value.
    """

    wrong: list[tuple[int, str, str]] = field(default_factory=list)
    uncomputed: list[tuple[int, str]] = field(default_factory=list)
    too_large: str = ""


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
    place = Place(called)
    require_readable(path, file)
    try:
        hidden_cells = _look_inside(path)
        if not zipfile.is_zipfile(path):
            _try_apart(path)
        with _told_of_panic(), calamine.CalamineWorkbook.from_path(path) as book:
            return tuple(_sheets(book, hidden_cells, called))
    except _TooLargeError as error:
        what = str(error)
        hint = "Keep in it the rows that are to be loaded, or load it in several files."
        raise ProblemsFound(Finding(what, hint, place)) from None
    except calamine.PasswordError:
        what = "is protected by a password"
        raise ProblemsFound(Finding(what, "Save it without one.", place)) from None
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", place)) from None
    except (*_DAMAGED, *_MISREAD):
        what = "is not a workbook that can be read, or is damaged"
        raise ProblemsFound(Finding(what, "Save it again as .xlsx.", place)) from None


@contextmanager
def _told_of_panic() -> Iterator[None]:
    """Raise ValueError where the reader of values gives up on a damaged file in its own way."""
    try:
        yield
    except BaseException as error:
        if type(error).__name__ != "PanicException":
            raise
        raise ValueError("the reader gave up") from error


# Reads a whole workbook; what the reader itself says is wrong is for whoever reads it afterwards.
_TRIAL = """
import sys
try:
    import resource
    resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000))
except (ImportError, OSError, ValueError):
    pass
from python_calamine import CalamineWorkbook
try:
    book = CalamineWorkbook.from_path(sys.argv[1])
    for name in book.sheet_names:
        book.get_sheet_by_name(name).to_python(skip_empty_area=False)
except Exception:
    pass
"""
_TRIAL_SECONDS = 60


def _try_apart(path: Path) -> None:
    """Read a workbook of the older kind in another process first: a damaged one can end it.

    Raises ValueError where it did, or took too long.
    """
    words = [sys.executable, "-c", _TRIAL, str(path.absolute())]
    try:
        tried = subprocess.run(words, capture_output=True, timeout=_TRIAL_SECONDS, check=False)
    except subprocess.TimeoutExpired as error:
        raise ValueError("takes too long to read") from error
    if tried.returncode != 0:
        raise ValueError("cannot be read without harm")


def _sheets(
    book: calamine.CalamineWorkbook, hidden_cells: dict[str, HiddenCells], file: str
) -> Iterator[WorkbookSheet]:
    for about in book.sheets_metadata:
        hidden = about.visible != calamine.SheetVisibleEnum.Visible
        beside = hidden_cells.get(about.name, HiddenCells())
        if about.typ != calamine.SheetTypeEnum.WorkSheet:
            yield WorkbookSheet(about.name, hidden, (), (), "is no sheet of cells")
        elif beside.too_large:
            yield WorkbookSheet(about.name, hidden, (), (), beside.too_large)
        else:
            read = book.get_sheet_by_name(about.name).to_python(skip_empty_area=False)
            rows = tuple(tuple(map(_cell, row)) for row in read)
            found = tuple(_findings(beside, f"{file} sheet {about.name}"))
            yield WorkbookSheet(about.name, hidden, rows, found)


def _findings(beside: HiddenCells, place: str) -> Iterator[tuple[int, Finding]]:
    """Say which cells hold nothing to read; those of one column, and one error, together."""
    hint = "Correct the formula, or write the value."
    wrong: dict[tuple[str, str], list[int]] = defaultdict(list)
    for row, letters, error in beside.wrong:
        wrong[letters, error].append(row)
    for (letters, error), rows in wrong.items():
        found = _about_cells(rows, letters, "shows an error", hint, place, error)
        yield column_number(letters) - 1, found
    hint = "Open the file, save it, and load it again."
    uncomputed: dict[str, list[int]] = defaultdict(list)
    for row, letters in beside.uncomputed:
        uncomputed[letters].append(row)
    for letters, rows in uncomputed.items():
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


def _cell(found: object) -> Cell:
    if isinstance(found, str):
        if len(found) > LARGEST_CELL:
            raise _TooLargeError(f"has a cell of more than {LARGEST_CELL:,} characters")
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


# --- Inside the packed files


class _TooLargeError(Exception):
    """A workbook that would not fit into memory; its text says how large it is."""


def _look_inside(path: Path) -> dict[str, HiddenCells]:
    """Look at a workbook beside the reader of values: by sheet what that reader hides."""
    if not zipfile.is_zipfile(path):
        if path.suffix.lower() != ".xls":
            return {}  # what it is instead, a locked one perhaps, its reader says
        wrong = error_cells(path.read_bytes())
        return {name: HiddenCells(wrong=cells) for name, cells in wrong}
    with zipfile.ZipFile(path) as packed:
        unpacked = sum(member.file_size for member in packed.infolist())
        if unpacked > LARGEST_FILE:
            raise _TooLargeError(f"unpacks to {unpacked // 1_000_000} MB, too much to be read")
        packed_size = path.stat().st_size
        if any(member.compress_size > packed_size for member in packed.infolist()):
            raise zipfile.BadZipFile  # as much would be made room for, unread
        if packed.testzip() is not None:  # a size that is not true is found out here
            raise zipfile.BadZipFile
        if "content.xml" in packed.namelist():
            if _LOCKED in packed.read("META-INF/manifest.xml"):
                raise calamine.PasswordError
            with packed.open("content.xml") as content:
                found = dict(_inside_ods(content))
            for name, inside in found.items():
                if inside.too_large:  # its reader unpacks every sheet at once
                    raise _TooLargeError(f"sheet {name} {inside.too_large}")
            return found
        members = dict(_sheet_members(packed))
        _refuse_long_strings(packed, map(packed.read, members.values()))
        return {name: _inside_sheet(packed.read(m)) for name, m in members.items()}


def _inside_sheet(xml: bytes) -> HiddenCells:
    """Look at one sheet of an .xlsx (ECMA-376 part 1, 18.3.1.4 and 18.18.11: t="e" is an error).

    A formula with an empty value is computed if it is a text (t="str"): the empty text.
    """
    found = HiddenCells()
    if b"='" in xml:
        xml = xml.replace(b"'", b'"')  # both are quotes of attributes
    interesting = any(sign in xml for sign in _SIGNS_OF_INTEREST)
    for cell in _CELL_END.split(xml) if interesting else ():
        opened = max(_CELL.finditer(cell), key=re.Match.end, default=None)
        if opened is None:
            continue
        attributes, content = opened[1], cell[opened.end() :]
        is_error = b't="e"' in attributes
        if not is_error and not _FORMULA.match(content):
            continue
        reference = _REFERENCE.search(attributes)
        if reference is None:
            continue
        row, letters = int(reference[2]), reference[1].decode()
        value = _SHOWN_VALUE.search(content)
        if is_error:
            shown = value[1].decode(errors="replace") if value else "an error"
            found.wrong.append((row, letters, shown))
        elif (value is None or not value[1]) and b't="str"' not in attributes:
            found.uncomputed.append((row, letters))
    found.too_large = _too_large(*_extent(xml))
    return found


def _extent(xml: bytes) -> tuple[int, int, int]:
    """The last row and column that hold anything, and how many cells are written; no more is
    counted than can matter."""
    rows = max(map(int, _ROW.findall(xml)), default=0)
    if rows * MOST_COLUMNS <= ALWAYS_HELD and not _FAR_COLUMN.search(xml):
        return rows, 1, rows
    filled = _FILLED_CELL.findall(xml)
    last_row = max(map(int, {row for _, row in filled}), default=0)
    last_column = max(map(column_number, {at.decode() for at, _ in filled}), default=0)
    return last_row, last_column, sum(1 for _ in _ANY_CELL.finditer(xml))


def _refuse_long_strings(packed: zipfile.ZipFile, sheets: Iterable[bytes]) -> None:
    """Raise _TooLargeError where cells share texts that would be more than a file may hold."""
    named = next((n for n in packed.namelist() if n.lower().endswith("sharedstrings.xml")), None)
    if named is None:
        return
    lengths = [len(each) for each in _STRING_END.split(packed.read(named))]
    longest, often = max(lengths), Counter[bytes]()
    for xml in sheets:
        if xml.count(b"<") * longest > MOST_LETTERS:
            often.update(_INDEX.findall(xml))
    held = sum(lengths[int(at)] * times for at, times in often.items() if int(at) < len(lengths))
    if held > MOST_LETTERS:
        raise _TooLargeError(f"holds {held // 1_000_000} MB of text, too much to be read")


def column_number(letters: str) -> int:
    """Return the number of a column, counted from 1: 27 for AA."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def column_letters(number: int) -> str:
    """Return the letters of a column counted from 1: AA for 27."""
    letters = ""
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


def _too_large(last_row: int, last_column: int, written: int) -> str:
    if last_column > MOST_COLUMNS:
        return f"has a cell in column {last_column}; {MOST_COLUMNS} columns are read"
    held = last_row * last_column
    sparse = held > ALWAYS_HELD and held > LEAST_FILLED * written
    if last_row > MOST_ROWS or held > MOST_CELLS or sparse:
        return f"has a cell in row {last_row}, column {last_column}, too far to be read"
    return ""


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


def _inside_ods(content: IO[bytes]) -> Iterator[tuple[str, HiddenCells]]:
    """Look at the sheets of an .ods (OpenDocument 1.3 part 3, 9.1: rows and cells repeat).

    A formula whose result is the empty text has no type either, but an empty paragraph.
    """
    name, found, row, column, rows, last = "", HiddenCells(), 0, 0, 1, (0, 0)
    written = letters_held = 0
    for event, element in ElementTree.iterparse(content, ("start", "end")):
        tag = element.tag
        if event == "start":
            if tag == f"{_TABLE}table":
                name, found = element.get(f"{_TABLE}name", ""), HiddenCells()
                row, last, written = 0, (0, 0), 0
            elif tag == f"{_TABLE}table-row":
                rows, column = int(element.get(f"{_TABLE}number-rows-repeated", "1")), 0
        elif tag in (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
            times = int(element.get(f"{_TABLE}number-columns-repeated", "1"))
            letters = column_letters(column + 1) if column < MOST_COLUMNS else "ZZ"
            kinds = [element.get(kind) for kind in _VALUE_TYPES]
            if "error" in kinds:
                shown = "".join(element.itertext()) or "an error"
                found.wrong.append((row + 1, letters, shown))
            has_text = element.find(f"{_TEXT}p") is not None
            if element.get(f"{_TABLE}formula") is not None and kinds[0] is None and not has_text:
                found.uncomputed.append((row + 1, letters))
            column += times
            if kinds[0] is not None or has_text:
                last, written = (row + rows, max(last[1], column)), written + 1
                letters_held += sum(map(len, element.itertext())) * times * rows
            element.clear()
        elif tag == f"{_TABLE}table-row":
            row += rows
            element.clear()
        elif tag == f"{_TABLE}table":
            found.too_large = _too_large(*last, written)
            if not found.too_large and letters_held > MOST_LETTERS:
                megabytes = letters_held // 1_000_000
                found.too_large = f"holds {megabytes} MB of text, too much to be read"
            yield name, found
            element.clear()
