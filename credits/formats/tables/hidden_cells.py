"""What a reader of values hides of a workbook: looked for beside it, in the packed files.

It gives a cell that shows an error, and a formula that was never computed, as an empty cell; an
empty cell would empty a value. What is too large to be held is found here, before it is read.
"""

from __future__ import annotations

import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath
from typing import IO
from xml.etree import ElementTree

from credits.formats.tables.binary_workbooks import error_cells
from credits.formats.tables.column_letters import column_letters, column_number
from credits.formats.tables.limits import (
    ALWAYS_HELD,
    LARGEST_FILE,
    LEAST_FILLED,
    MOST_CELLS,
    MOST_COLUMNS,
    MOST_LETTERS,
    MOST_ROWS,
)

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
_LOCKED = b"encryption-data"  # OpenDocument 1.3 part 2, 3.4.1
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
_BEYOND_Z = re.compile(rb'r\s*=\s*"[A-Z]{2,}[0-9]+"')
_FAR_COLUMN = re.compile(rb'\br\s*=\s*"(?:[A-Z]{3,}|G[S-Z]|[H-Z][A-Z])[0-9]+"')  # GR is the 200th
_ANY_CELL = re.compile(rb"<(?:\w+:)?c[\s/>]")
_INDEX = re.compile(rb"<(?:\w+:)?v\b[^<>]*+>\s*([0-9]{1,9})\s*<")
_STRING_END = re.compile(rb"</(?:\w+:)?si>")


class HiddenCells:
    """What a reader of values hides of one sheet: cells as (row, letters of the column, shown).

    ``wrong`` cells show an error; ``uncomputed`` ones hold a formula without a value.
    """

    def __init__(self, wrong: Iterable[tuple[int, str, str]] = ()) -> None:
        self.wrong = list(wrong)
        self.uncomputed: list[tuple[int, str]] = []
        self.too_large = ""


class TooLargeError(Exception):
    """A workbook that would not fit into memory; its text says how large it is."""


class LockedError(Exception):
    """A workbook that is protected by a password."""


def hidden_cells(path: Path) -> dict[str, HiddenCells]:
    """Look at a workbook beside the reader of values: by sheet what that reader hides."""
    if not zipfile.is_zipfile(path):
        if path.suffix.lower() != ".xls":
            return {}  # what it is instead, a locked one perhaps, its reader says
        wrong = error_cells(path.read_bytes())
        return {name: HiddenCells(cells) for name, cells in wrong}
    with zipfile.ZipFile(path) as packed:
        unpacked = sum(member.file_size for member in packed.infolist())
        if unpacked > LARGEST_FILE:
            raise TooLargeError(f"unpacks to {unpacked // 1_000_000} MB, too much to be read")
        packed_size = path.stat().st_size
        if any(member.compress_size > packed_size for member in packed.infolist()):
            raise zipfile.BadZipFile  # as much would be made room for, unread
        if packed.testzip() is not None:  # a size that is not true is found out here
            raise zipfile.BadZipFile
        if "content.xml" in packed.namelist():
            if _LOCKED in packed.read("META-INF/manifest.xml"):
                raise LockedError
            with packed.open("content.xml") as content:
                found = dict(_inside_ods(content))
            for name, inside in found.items():
                if inside.too_large:  # its reader unpacks every sheet at once
                    raise TooLargeError(f"sheet {name} {inside.too_large}")
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
    counted than can matter: what is small enough at its largest is not measured."""
    rows = max(map(int, _ROW.findall(xml)), default=0)
    at_least = xml.count(b"<c ")
    for beyond, last in ((_BEYOND_Z, 26), (_FAR_COLUMN, MOST_COLUMNS)):
        if not _too_large(rows, last, at_least) and not beyond.search(xml):
            return rows, last, at_least
    filled = _FILLED_CELL.findall(xml)
    last_row = max(map(int, {row for _, row in filled}), default=0)
    last_column = max(map(column_number, {at.decode() for at, _ in filled}), default=0)
    return last_row, last_column, sum(1 for _ in _ANY_CELL.finditer(xml))


def _refuse_long_strings(packed: zipfile.ZipFile, sheets: Iterable[bytes]) -> None:
    """Raise TooLargeError where cells share texts that would be more than a file may hold."""
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
        raise TooLargeError(f"holds {held // 1_000_000} MB of text, too much to be read")


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
