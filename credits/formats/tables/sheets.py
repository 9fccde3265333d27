"""Sheets: CSV files and workbooks as rows of cells."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, stripped
from credits.formats.tables.columns import TABLES
from credits.formats.tables.xlsx import WorkbookSheet, read_workbook
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
class FoundTables:
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
    found: FoundTables,
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


def _beyond(file: str, number: int, rest: Sequence[Cell], width: int, found: FoundTables) -> None:
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


LARGEST_CELL = 131_072
SEPARATORS = (",", ";", "\t")
_SAVE_AS_UTF8 = "Save the file again as CSV UTF-8."
_BOMS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


def read_csv(data: bytes, file: str, known: Collection[str]) -> list[list[Cell]]:
    """All records of a CSV file, cells stripped; a blank line is an empty record.

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
    encoding = "utf-8"
    for bom, name in _BOMS:
        if data.startswith(bom):
            data, encoding = data[len(bom) :], name
            break
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
    text = _said_separator(before)[1]
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    outside_quotes = lines.split('"')[::2]
    return 1 + sum(piece.count("\n") for piece in outside_quotes)


def _said_separator(text: str) -> tuple[str | None, str]:
    """The separator that a leading ``sep=;`` line names, and the text after that line."""
    head = text[:8].lower().lstrip('"')
    if not head.startswith("sep=") or len(head) < 5:
        return None, text
    first = text.splitlines(keepends=True)[0]
    said = first.strip('"\r\n')[4:]
    return (said, text[len(first) :]) if len(said) == 1 else (None, text)


def _separator_of(text: str, known: Collection[str]) -> str:
    best, most = SEPARATORS[0], (0, 0)
    for separator in SEPARATORS:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        try:
            header = next((row for row in reader if any(map(stripped, row))), [])
        except csv.Error:
            continue
        score = (sum(plain_header(cell) in known for cell in header), len(header))
        if score > most:
            best, most = separator, score
    return best


def _records(text: str, separator: str, file: str) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    strip = stripped
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    known: dict[str, str] = {}
    try:
        for row in reader:
            rows.append([known.get(c) or known.setdefault(c, strip(c)) for c in row])
    except csv.Error as error:
        raise ProblemsFound(_not_csv(str(error), Place(file, len(rows) + 1))) from None
    return rows


def _not_csv(error: str, place: Place) -> Finding:
    if "limit" in error:
        what = f"a cell holds more than {LARGEST_CELL} characters"
        hint = "A quotation mark opened in this row is perhaps never closed."
        return Finding(what, hint, place)
    if "unexpected end" in error:
        what = "a quotation mark opened in this row is never closed"
        return Finding(what, "Close it, or write it twice.", place)
    what = "a quotation mark stands inside a quoted cell"
    return Finding(what, "Write it twice, and close the cell with one before the separator.", place)


CSV_FILES = (".csv",)
WORKBOOKS = (".xlsx", ".xlsm")
_LOCK_FILE = "~$"


def read_tables(paths: Sequence[Path], progress: Progress | None = None) -> Tables:
    """Read files, folders of files and workbooks into sheets; nothing is judged but the reading.

    ``progress(file, done, total)`` is called after every file. A folder gives its own .csv and
    .xlsx files, not those of folders in it. Never raises for what is in a file: see ``problems``.
    """
    found = FoundTables()
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
    return found.done()


def _files(paths: Sequence[Path], found: FoundTables) -> list[Path]:
    """The files to read, each once, in the order given; those of a folder by name."""
    files: dict[Path, Path] = {}
    for path in paths:
        try:
            inside = _of_folder(path, found) if path.is_dir() else [path]
            if not path.exists():
                raise FileNotFoundError
        except FileNotFoundError:
            found.problems.append(Finding("there is no such file or folder", "", Place(str(path))))
        except OSError as error:
            what = f"cannot be read ({error.strerror or error})"
            found.problems.append(Finding(what, "", Place(str(path))))
        else:
            for file in inside:
                files.setdefault(file.resolve(), file)
    return list(files.values())


def _of_folder(folder: Path, found: FoundTables) -> list[Path]:
    """The files of a folder that may be tables, by name; the cut and face sheets are left out."""
    files: list[Path] = []
    for path in sorted(folder.iterdir(), key=lambda p: (p.name.lower(), p.name)):
        if _is_read(path):
            other = not_a_table(path.name)
            if other is None:
                files.append(path)
            else:
                found.left_out.append(other)
    return files


def _is_read(path: Path) -> bool:
    hidden = path.name.startswith((".", _LOCK_FILE))
    return not hidden and path.suffix.lower() in CSV_FILES + WORKBOOKS and path.is_file()


def _read_file(path: Path, file: str, found: FoundTables) -> None:
    suffix = path.suffix.lower()
    if suffix in WORKBOOKS:
        _take_workbook(path, file, found)
        return
    if other := not_a_table(path.name):
        found.problems.append(other)
        return
    if suffix not in CSV_FILES:
        hint = "Save it as .xlsx, or as CSV UTF-8 (.csv)."
        found.problems.append(Finding("is neither .csv nor .xlsx", hint, Place(file)))
        return
    table = table_named(path.name)
    if table is None:
        found.problems.append(unnamed(path.name, path.suffix))
        return
    rows = read_csv(file_bytes(path, file), file, TABLES[table].column_names)
    sheet_of(table, file, rows, found)


def file_bytes(path: Path, file: str | None = None) -> bytes:
    """The bytes of a file. Raises ProblemsFound, under the name ``file``, when it has none."""
    try:
        return path.read_bytes()
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", Place(file or path.name))) from None


def _take_workbook(path: Path, file: str, found: FoundTables) -> None:
    """Take the sheets whose names say a table; else the only sheet, if the file's name does."""
    sheets = read_workbook(path, file)
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
            found.problems.extend(_wrong_cells(sheet, place))
            sheet_of(table, place, sheet.rows, found)
        elif not sheet.hidden:
            what = "its name says no table, so it is left out"
            found.left_out.append(Finding(what, "", Place(place)))


def _wrong_cells(sheet: WorkbookSheet, place: str) -> list[Finding]:
    hint = "Correct the formula, or write the value."
    return [
        Finding(f"cell {letters}{row} shows an error", hint, Place(place, row), value=error)
        for row, letters, error in sheet.wrong_cells
    ]
