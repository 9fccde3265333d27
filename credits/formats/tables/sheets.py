"""Sheets: files, folders and workbooks as rows of cells, each under the table that it holds."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, shown, stripped
from credits.formats.tables.columns import TABLES, Sheet
from credits.formats.tables.csv import file_bytes, plain_header, read_csv
from credits.formats.tables.xlsx import read_workbook
from credits.text import fold_code, nearest

Progress = Callable[[str, int, int], None]
"""Called after every file: its name, how many are done, how many there are."""

CSV_FILES = (".csv",)
WORKBOOKS = (".xlsx", ".xlsm")
_LOCK_FILE = "~$"
_END_OF_WORD = re.compile(r"[-. _]")


@dataclass(slots=True)
class Sheets:
    """Everything that was read. ``unread``: tables of which a file could not be read."""

    sheets: list[Sheet] = field(default_factory=list)
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

        Cells must be stripped. What cannot be a sheet becomes a finding: a cell beyond the header
        is a problem, a file without rows is left out.
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
    """Read files, folders of files and workbooks into sheets; nothing is judged but the reading.

    A folder gives its own .csv and .xlsx files, not those of folders in it. Never raises for what
    is in a file: see ``problems``.
    """
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
        except FileNotFoundError:
            found.problems.append(Finding("there is no such file or folder", "", Place(str(path))))
        except OSError as error:
            what = f"cannot be read ({error.strerror or error})"
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
    """Add the sheets whose names say a table; else the only sheet, if the file's name does."""
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
            hint = "Correct the formula, or write the value."
            for row, letters, error in sheet.wrong_cells:
                what = f"cell {letters}{row} shows an error"
                found.problems.append(Finding(what, hint, Place(place, row), value=error))
            found.add(table, place, sheet.rows)
        elif not sheet.hidden:
            what = "its name says no table, so it is left out"
            found.left_out.append(Finding(what, "", Place(place)))
