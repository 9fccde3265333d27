"""From paths to sheets: files, folders of files, workbooks; what is no table is said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.columns import TABLES
from credits.exchange.read_csv import read_csv
from credits.exchange.read_workbook import WorkbookSheet, read_workbook
from credits.exchange.sheets import (
    Found,
    Progress,
    Tables,
    not_a_table,
    sheet_of,
    table_named,
    unnamed,
)

CSV_FILES = (".csv",)
WORKBOOKS = (".xlsx", ".xlsm")
_LOCK_FILE = "~$"


def read_tables(paths: Sequence[Path], progress: Progress | None = None) -> Tables:
    """Read files, folders of files and workbooks into sheets; nothing is judged but the reading.

    ``progress(file, done, total)`` is called after every file. A folder gives its own .csv and
    .xlsx files, not those of folders in it. Never raises for what is in a file: see ``problems``.
    """
    found = Found()
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


def _files(paths: Sequence[Path], found: Found) -> list[Path]:
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


def _of_folder(folder: Path, found: Found) -> list[Path]:
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


def _read_file(path: Path, file: str, found: Found) -> None:
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


def _take_workbook(path: Path, file: str, found: Found) -> None:
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
