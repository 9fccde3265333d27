"""Sheets: files, folders and workbooks as rows of cells, each under the table that it holds."""

from __future__ import annotations

import csv
import io
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path, PurePosixPath
from typing import NamedTuple
from xml.etree import ElementTree

import python_calamine as calamine

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, shown, stripped
from credits.formats.tables.columns import TABLES, Sheet
from credits.formats.tables.day_sheet import DaySheet, find_day_sheet
from credits.text import fold_code, nearest

LARGEST_CELL = 131_072
SEPARATORS = (",", ";", "\t")
_SAVE_AS_UTF8 = "Save the file again as CSV UTF-8."
_BETWEEN_WORDS = re.compile(r"[\s-]+")
_SEPARATOR_LINE = re.compile(r'"*sep=([^"\r\n])"*(?:\r\n|\r|\n|\Z)', re.IGNORECASE)
_BOMS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


def file_bytes(path: Path, file: str | None = None) -> bytes:
    """Read a file. Raises ProblemsFound, under the name ``file``, when it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", Place(file or path.name))) from None


def plain_header(cell: Cell) -> str:
    """Return a column's name in its plain form: credit_name for ``Credit Name``."""
    return _BETWEEN_WORDS.sub("_", fold_code(stripped(str(cell))))


def read_csv(data: bytes, file: str, known: Collection[str]) -> list[list[Cell]]:
    """Read all records of a CSV file, cells stripped; a blank line is an empty record.

    The separator (comma, semicolon or tab, or what a leading ``sep=`` line says) is the one under
    which the header holds the most ``known`` column names. Raises ProblemsFound.
    """
    text = _decoded(data, file)
    if "\0" in text:
        row = _row_at(text[: text.index("\0")])
        what = "holds a NUL character, so it is not a text file"
        raise ProblemsFound(Finding(what, _SAVE_AS_UTF8, Place(file, row)))
    separator, text = _said_separator(text)
    return _records(text, separator or _separator_of(text, known), file)


def _decoded(data: bytes, file: str) -> str:
    bom, encoding = next((known for known in _BOMS if data.startswith(known[0])), (b"", "utf-8"))
    data = data.removeprefix(bom)
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        before = data[: error.start].decode(encoding, errors="replace")
        what = f"is not {'UTF-16' if '16' in encoding else 'UTF-8'} text"
        value = None
        if encoding == "utf-8":
            what += f" (byte {data[error.start]:#04x})"
            value = stripped(before.splitlines()[-1][-30:] + "\ufffd") if before else None
        place = Place(file, _row_at(before))
        raise ProblemsFound(Finding(what, _SAVE_AS_UTF8, place, value=value)) from None


def _row_at(before: str) -> int:
    """The row that a text has come to: records, or lines where it cannot be read as records."""
    lines = _said_separator(before)[1].replace("\r\n", "\n").replace("\r", "\n")
    outside_quotes = lines.split('"')[::2]
    return 1 + sum(piece.count("\n") for piece in outside_quotes)


def _said_separator(text: str) -> tuple[str | None, str]:
    """The separator that a leading ``sep=;`` line names, and the text after that line."""
    match = _SEPARATOR_LINE.match(text)
    return (match[1], text[match.end() :]) if match else (None, text)


def _separator_of(text: str, known: Collection[str]) -> str:
    def score(separator: str) -> tuple[int, int]:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        with suppress(csv.Error):
            header = next((row for row in reader if any(map(stripped, row))), [])
            return sum(plain_header(cell) in known for cell in header), len(header)
        return 0, 0

    return max(SEPARATORS, key=score)


def _records(text: str, separator: str, file: str) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    known: dict[str, str] = {}
    try:
        for row in reader:
            rows.append([known.get(c) or known.setdefault(c, stripped(c)) for c in row])
    except csv.Error as error:
        what = "a quotation mark stands inside a quoted cell"
        hint = "Write it twice, and close the cell with one before the separator."
        if "limit" in str(error):
            what = f"a cell holds more than {LARGEST_CELL} characters"
            hint = "A quotation mark opened in this row is perhaps never closed."
        elif "unexpected end" in str(error):
            what = "a quotation mark opened in this row is never closed"
            hint = "Close it, or write it twice."
        raise ProblemsFound(Finding(what, hint, Place(file, len(rows) + 1))) from None
    return rows


Progress = Callable[[str, int, int], None]
"""Called after every file: its name, how many are done, how many there are."""

CSV_FILES = (".csv",)
WORKBOOKS = (".xlsx", ".xlsm")
_LOCK_FILE = "~$"
_END_OF_WORD = re.compile(r"[-. _]")


@dataclass(slots=True)
class Sheets:
    """Everything that was read. ``unread``: tables of which a file could not be read.

    ``day_sheets``: they become rows of entries only beside the log, which has the names.
    """

    sheets: list[Sheet] = field(default_factory=list)
    day_sheets: list[DaySheet] = field(default_factory=list)
    problems: list[Finding] = field(default_factory=list)
    left_out: list[Finding] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def add(
        self,
        table: str,
        file: str,
        rows: Sequence[Sequence[Cell]],
        heading: Callable[[Cell], str] = plain_header,
    ) -> None:
        """Add all rows of a file as a sheet, the first that is not blank being the header.

        A cell beyond the header is a problem, a file without rows is left out.
        heading: makes a column's name of its cell.
        """
        start = next((i for i, row in enumerate(rows) if any(row)), None)
        if start is None:
            self.left_out.append(Finding("is empty, so there is nothing to load", "", Place(file)))
            return
        width = max(at for at, cell in enumerate(rows[start], 1) if cell)
        filled = {at: row for at, row in enumerate(rows[start + 1 :], start + 2) if any(row)}
        sheet = Sheet(
            table=table,
            file=file,
            header_row=start + 1,
            header=tuple(map(heading, rows[start][:width])),
            numbers=tuple(filled),
            cells=tuple((*row[:width], *[""] * (width - len(row))) for row in filled.values()),
        )
        self.sheets.append(sheet)
        hint = "Give the column a heading, or put quotation marks around a text with commas."
        for number, row in filled.items():
            if beyond := [(at, cell) for at, cell in enumerate(row[width:], width + 1) if cell]:
                what = f"stands in column {beyond[0][0]}, which has no heading"
                value = shown(beyond[0][1])
                self.problems.append(Finding(what, hint, Place(file, number), value=value))


def _first_word(name: str) -> str:
    return _END_OF_WORD.split(fold_code(stripped(name)), maxsplit=1)[0]


def table_named(name: str) -> str | None:
    """Find the table that the name of a file or sheet says: entries for ``Entries 2``."""
    word = _first_word(name)
    return word if word in TABLES else None


def _not_a_table(name: str) -> Finding | None:
    """Return the finding about a file that is known to be no table: the cut, a face sheet."""
    folded = fold_code(name)
    if folded == "cut.csv":
        hint = f"Bring it in with: credits cut {name}."
        return Finding("is the editors' cut, not a table", hint, Place(name))
    if folded.startswith("face-sheet-"):
        hint = f"Bring it in with: credits load --face-sheet SHOT {name}."
        return Finding("is a face sheet, not a table", hint, Place(name))
    return None


def read_tables(paths: Sequence[Path], progress: Progress | None = None) -> Sheets:
    """Read files, the files of folders, and workbooks; what cannot be read is in ``problems``."""
    found = Sheets()
    files = _files(paths, found)
    often = Counter(path.name for path in files)
    for done, path in enumerate(files, 1):
        alone = often[path.name] == 1
        try:
            _read_file(path, path.name if alone else f"{path.parent.name}/{path.name}", found)
        except ProblemsFound as error:
            found.problems.extend(error.findings)
            named = table_named(path.name)
            found.unread.update((named,) if named else TABLES)
        if progress is not None:
            progress(path.name, done, len(files))
    return found


def _files(paths: Sequence[Path], found: Sheets) -> list[Path]:
    """The files to read, each once, in the order given; those of a folder by name."""
    files: dict[Path, Path] = {}
    for path in paths:
        try:
            inside = _of_folder(path, found) if path.is_dir() else [path]
            if not path.exists():
                raise FileNotFoundError
        except OSError as error:
            what = f"cannot be read ({error.strerror or error})"
            if isinstance(error, FileNotFoundError):
                what = "there is no such file or folder"
            found.problems.append(Finding(what, "", Place(str(path))))
        else:
            for file in inside:
                files.setdefault(file.resolve(), file)
    return list(files.values())


def _of_folder(folder: Path, found: Sheets) -> list[Path]:
    """The files of a folder that may be tables, by name; the cut and face sheets are left out."""
    files: list[Path] = []
    for path in sorted(folder.iterdir(), key=lambda p: (p.name.lower(), p.name)):
        hidden = path.name.startswith((".", _LOCK_FILE))
        if hidden or path.suffix.lower() not in CSV_FILES + WORKBOOKS or not path.is_file():
            continue
        if other := _not_a_table(path.name):
            found.left_out.append(other)
        else:
            files.append(path)
    return files


def _read_file(path: Path, file: str, found: Sheets) -> None:
    suffix = path.suffix.lower()
    table = table_named(path.name)
    if suffix in WORKBOOKS:
        _add_workbook(path, file, found)
    elif other := _not_a_table(path.name):
        found.problems.append(other)
    elif suffix not in CSV_FILES:
        hint = "Save it as .xlsx, or as CSV UTF-8 (.csv)."
        found.problems.append(Finding("is neither .csv nor .xlsx", hint, Place(file)))
    elif table is None:
        like = nearest(_first_word(path.name), TABLES, most=1)
        hint = f"Rename it {like[0]}{path.suffix}, if that is what it holds. " if like else ""
        hint += f"The tables are {', '.join(TABLES)}."
        found.problems.append(Finding("its name says no table", hint, Place(path.name)))
    else:
        found.add(table, file, read_csv(file_bytes(path, file), file, TABLES[table].column_names))


def _add_workbook(path: Path, file: str, found: Sheets) -> None:
    """Add the day sheets; of the others those whose names say a table, else the only one, if the
    file's name does."""
    every = read_workbook(path, file)
    sheets = tuple(sheet for sheet in every if not _add_day_sheet(sheet, file, found))
    if len(sheets) < len(every) and not any(table_named(sheet.name) for sheet in sheets):
        sheets = tuple(sheet for sheet in sheets if any(any(row) for row in sheet.rows))
        found.left_out.extend(_no_table(sheet, file) for sheet in sheets if not sheet.hidden)
        return
    named = [(sheet, table_named(sheet.name)) for sheet in sheets]
    filled = [sheet for sheet in sheets if any(any(row) for row in sheet.rows)]
    if not any(table for _, table in named):
        table = table_named(path.name)
        if table is None or len(filled) > 1:
            hint = f"Name a sheet after its table: {', '.join(TABLES)}."
            found.problems.append(Finding("none of its sheets names a table", hint, Place(file)))
            return
        named = [(sheet, table) for sheet in filled or sheets[:1]]
    for sheet, table in named:
        place = f"{file} sheet {sheet.name}"
        if table is not None:
            hint = "Correct the formula, or write the value."
            for row, letters, error in sheet.wrong_cells:
                what = f"cell {letters}{row} shows an error"
                found.problems.append(Finding(what, hint, Place(place, row), value=error))
            found.add(table, place, sheet.rows)
        elif not sheet.hidden:
            found.left_out.append(_no_table(sheet, file))


def _add_day_sheet(sheet: WorkbookSheet, file: str, found: Sheets) -> bool:
    """Add the sheet where it is a day sheet; whether it was one."""
    place = f"{file} sheet {sheet.name}"
    day_sheet = find_day_sheet(sheet.rows, place)
    if day_sheet is None:
        return False
    found.day_sheets.append(day_sheet)
    for row, letters, error in sheet.wrong_cells:
        hint = "Correct the formula, or write the value."
        at = Place(place, row, cell=f"{letters}{row}")
        found.problems.append(Finding("shows an error", hint, at, value=error))
    return True


def _no_table(sheet: WorkbookSheet, file: str) -> Finding:
    what = "its name says no table, so it is left out"
    return Finding(what, "", Place(f"{file} sheet {sheet.name}"))


_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
_RELATION = "{http://schemas.openxmlformats.org/package/2006/relationships}"
# What is raised for a packed file whose bytes are not as they were written.
_DAMAGED = (calamine.CalamineError, zipfile.BadZipFile, zlib.error, ElementTree.ParseError)
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
    """Read every work sheet of a workbook. Raises ProblemsFound under the name ``file``."""
    place = Place(file or path.name)
    sheets: list[WorkbookSheet] = []
    try:
        with calamine.CalamineWorkbook.from_path(path) as book:
            wrong = dict(_error_cells(path))
            for about in book.sheets_metadata:
                if about.typ != calamine.SheetTypeEnum.WorkSheet:
                    continue
                read = book.get_sheet_by_name(about.name).to_python(skip_empty_area=False)
                rows = tuple(tuple(map(_cell, row)) for row in read)
                hidden = about.visible != calamine.SheetVisibleEnum.Visible
                bad = tuple(wrong.get(about.name, ()))
                sheets.append(WorkbookSheet(about.name, hidden, rows, bad))
    except calamine.PasswordError:
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
