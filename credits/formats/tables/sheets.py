"""Sheets: files, folders and workbooks as rows of cells, each under the table that it holds."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import islice
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.files import Progress
from credits.formats.tables.cells import Cell, shown
from credits.formats.tables.columns import LENGTHS, TABLES, Sheet
from credits.formats.tables.csv_files import file_bytes, plain_header, read_csv
from credits.formats.tables.day_sheet import DaySheet, find_day_sheet
from credits.formats.tables.headings import (
    EXPLAINS,
    IN_HOURS,
    LEFT_OUT,
    SheetWords,
    header_rows,
    likely_table,
    minutes_meant,
    toml_line,
)
from credits.formats.tables.limits import MOST_CELLS, MOST_COLUMNS
from credits.formats.tables.workbooks import WORKBOOKS, WorkbookSheet, read_workbook
from credits.text import fold_code, nearest, stripped

TEXT_FILES = (".csv", ".tsv")
_READ = (*TEXT_FILES, *WORKBOOKS)
_END_OF_WORD = re.compile(r"[-. _]")
# What systems and this program itself put into folders.
_NO_TABLES = frozenset(
    {".ds_store", "thumbs.db", "desktop.ini", "tables.txt", "production.toml", "credit-plan.toml"}
    | {f"production.db{ending}" for ending in ("", "-wal", "-shm", "-journal")}
)
_OPEN_IN_A_PROGRAM = ("~$", ".~lock.")
# What to do with files that spreadsheet programs write and nobody else reads.
_SAVE_AS = {
    ".numbers": "Export it as .xlsx or .csv.",
    ".xlsb": "Save it as .xlsx.",
    ".gsheet": "It is only a link: download the sheet as .xlsx.",
    ".fods": "Save it as .ods or .xlsx.",
    ".pdf": "Ask for the spreadsheet that it was printed from.",
}
_SAVE_IT = "Save it as .xlsx, or as CSV UTF-8 (.csv)."


@dataclass(slots=True)
class Sheets:
    """Everything that was read. ``unread``: tables of which a file could not be read.

    ``day_sheets``: they become rows of entries only beside the log, which has the names.

    ``left_out``: what was not read, and why: files and sheets, and rows of them (with a row in
    their place).
    """

    words: SheetWords = field(default_factory=SheetWords)
    sheets: list[Sheet] = field(default_factory=list)
    day_sheets: list[DaySheet] = field(default_factory=list)
    problems: list[Finding] = field(default_factory=list)
    left_out: list[Finding] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def leave_out(self, place: str, why: str, hint: str = "") -> None:
        """Note that a file or a sheet is not read."""
        self.left_out.append(Finding(why, hint, Place(place)))

    def leave_out_titles(self, file: str, rows: Sequence[Sequence[Cell]]) -> None:
        """Note the rows that stand above the header of a sheet."""
        if titles := [at for at, row in enumerate(rows, 1) if any(row)]:
            value = next(shown(cell) for cell in rows[titles[0] - 1] if cell)
            place = Place(file, titles[0], also=tuple(titles[1:]))
            what = "stands above the header, so it is left out"
            self.left_out.append(Finding(what, "", place, value=value))

    def add_table(
        self,
        table: str,
        file: str,
        rows: Sequence[Sequence[Cell]],
        valueless: Sequence[tuple[int, Finding]] = (),
    ) -> None:
        """Add a sheet in the department's own words: titles above the header, its own headings.

        valueless: as a workbook's sheet has it; what is left out of the sheet may be so.
        """
        about = TABLES[table]
        candidates = header_rows(rows, about, self.words)
        if len(candidates) > 1:
            what = "each of these rows looks like the header"
            first, *also = (at + 1 for at in candidates)
            hint = "Keep one table in the sheet."
            self.problems.append(Finding(what, hint, Place(file, first, also=tuple(also))))
            self.unread.add(table)
            return
        start = candidates[0] if candidates else 0
        self.leave_out_titles(file, rows[:start])
        below = next((at for at in range(start + 1, len(rows)) if any(rows[at])), None)
        if below is not None:
            first_cell = next(cell for cell in rows[below] if cell)
            if isinstance(first_cell, str) and first_cell.startswith(EXPLAINS):
                rows = [*rows[:below], (), *rows[below + 1 :]]
        header = list(map(plain_header, rows[start])) if candidates else []
        changed: dict[int, Callable[[Cell], Cell]] = {}
        for at, heading in enumerate(header):
            meant = self.words.column_of(heading, about) or heading
            column = meant.removesuffix(f" {IN_HOURS}")
            header[at] = column
            if meant == LEFT_OUT:
                header[at] = ""
                changed[at] = _nothing
                self.left_out.append(
                    Finding(
                        "is left out, as production.toml says", "",
                        Place(file, start + 1), "column", heading,
                    )
                )  # fmt: skip
            elif column in LENGTHS:
                changed[at] = partial(
                    minutes_meant, in_hours=meant != column, day_minutes=self.words.day_minutes
                )
        for at, finding in valueless:
            rows_of = finding.place.rows if finding.place else ()
            is_left_out = at < len(header) and changed.get(at) is _nothing
            if not is_left_out and any(row > start + 1 for row in rows_of):
                self.problems.append(finding)
        below_header = rows[start + 1 :]
        for position, change in changed.items():
            below_header = _changed(below_header, position, change)
        if candidates:
            rows = [*((),) * start, header, *below_header]
        self.add(table, file, rows)

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
            self.leave_out(file, "is empty, so there is nothing to load")
            return
        width = max((at for at, cell in enumerate(rows[start], 1) if cell), default=0)
        below = islice(enumerate(rows, 1), start + 1, None)
        filled = [(number, row) for number, row in below if any(row)]
        if wrong := _too_wide(width, [row for _, row in filled]):
            hint = "Keep in it the columns that are to be loaded."
            self.problems.append(Finding(wrong, hint, Place(file, start + 1)))
            self.unread.update((table,) if table in TABLES else ())
            return
        sheet = Sheet(
            table=table,
            file=file,
            header_row=start + 1,
            header=tuple(map(heading, rows[start][:width])),
            numbers=tuple(number for number, _ in filled),
            cells=tuple(tuple(_as_wide_as(width, row)) for _, row in filled),
        )
        self.sheets.append(sheet)
        hint = "Give the column a heading, or put quotation marks around a text with commas."
        for number, row in filled:
            if len(row) > width and (beyond := [at for at in range(width, len(row)) if row[at]]):
                what = f"stands in column {beyond[0] + 1}, which has no heading"
                value = shown(row[beyond[0]])
                self.problems.append(Finding(what, hint, Place(file, number), value=value))


def _too_wide(width: int, rows: Sequence[Sequence[Cell]]) -> str:
    """Say what is wrong with a sheet that would take much more room than its file does."""
    if width > MOST_COLUMNS:
        return f"has {width} columns; {MOST_COLUMNS} are read"
    held = len(rows) * width
    if held > MOST_CELLS and held > 4 * sum(map(len, rows)):
        return f"has {width} columns, of which most rows fill a few"
    return ""


def _as_wide_as(width: int, row: Sequence[Cell]) -> Sequence[Cell]:
    return row if len(row) == width else (*row[:width], *[""] * (width - len(row)))


def _nothing(_: Cell) -> Cell:
    return ""


def _changed(
    rows: Sequence[Sequence[Cell]], at: int, change: Callable[[Cell], Cell]
) -> Sequence[Sequence[Cell]]:
    """Return the rows with a change to the cells of a column; most columns have none to change."""
    cells = {row[at] for row in rows if at < len(row)}
    changed = {cell: new for cell in cells if (new := change(cell)) != cell}
    if not changed:
        return rows
    return [
        (*row[:at], changed[row[at]], *row[at + 1 :])
        if at < len(row) and row[at] in changed
        else row
        for row in rows
    ]


def _first_word(name: str) -> str:
    return _END_OF_WORD.split(fold_code(stripped(name)), maxsplit=1)[0]


def table_named(name: str, words: SheetWords | None = None) -> str | None:
    """Find the table that the name of a file or sheet says: entries for ``Entries 2``.

    words: what the production says of names comes first; it may be that the sheet is left out.
    """
    if words is not None and (said := words.table_of(name)):
        return said
    word = _first_word(name)
    return word if word in TABLES else None


def _not_a_table(name: str) -> Finding | None:
    """Return the finding about a file that is known to be no table: the cut, a face sheet."""
    folded = fold_code(name)
    if folded == "cut.csv":
        hint = f"Import it with: credits cut {name}."
        return Finding("is the editors' cut, not a table", hint, Place(name))
    if folded.startswith("face-sheet-"):
        hint = f"Load it with: credits load --face-sheet SHOT {name}."
        return Finding("is a face sheet, not a table", hint, Place(name))
    return None


def read_tables(
    paths: Sequence[Path], progress: Progress | None = None, words: SheetWords | None = None
) -> Sheets:
    """Read files, the files of folders, and workbooks; what cannot be read is in ``problems``.

    words: what the departments of this production call things.
    """
    found = Sheets(words or SheetWords())
    files = _files(paths, found)
    often = Counter(path.name for path in files)
    for done, path in enumerate(files):
        if progress is not None:
            progress(path.name, done, len(files))
        alone = often[path.name] == 1
        try:
            _read_file(path, path.name if alone else f"{path.parent.name}/{path.name}", found)
        except ProblemsFound as error:
            found.problems.extend(error.findings)
            named = table_named(path.stem, found.words)
            found.unread.update((named,) if named in TABLES else TABLES)
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
    """The files of a folder that may be tables, by name; every other one is left out by name."""
    files: list[Path] = []
    for path in sorted(folder.iterdir(), key=lambda p: (p.name.lower(), p.name)):
        if path.name.lower() in _NO_TABLES or path.name.startswith("._"):
            continue
        if other := _not_a_table(path.name):
            found.left_out.append(other)
        elif path.is_dir():
            hint = "Name it too, if there are tables in it."
            found.leave_out(path.name, "is a folder within the folder", hint)
        elif path.name.startswith(_OPEN_IN_A_PROGRAM):
            what = "only says that somebody has a spreadsheet open"
            found.leave_out(path.name, what, "Make sure that it was saved.")
        elif path.name.startswith("."):
            found.leave_out(path.name, "is hidden", "Name it, if it is to be loaded.")
        elif path.suffix.lower() not in _READ:
            found.leave_out(path.name, _NOT_READ, _SAVE_AS.get(path.suffix.lower(), ""))
        elif not path.is_file():
            found.leave_out(path.name, "is no ordinary file, so it is not read")
        else:
            files.append(path)
    return files


_NOT_READ = f"is none of {', '.join(_READ)}"


def _read_file(path: Path, file: str, found: Sheets) -> None:
    suffix = path.suffix.lower()
    table = table_named(path.stem, found.words)
    if table == LEFT_OUT:
        found.leave_out(file, "is left out, as production.toml says")
    elif path.name.startswith(_OPEN_IN_A_PROGRAM):
        what = "only says that somebody has a spreadsheet open"
        found.problems.append(Finding(what, "Name the spreadsheet itself.", Place(file)))
    elif suffix in WORKBOOKS:
        _add_workbook(path, file, found)
    elif other := _not_a_table(path.name):
        found.problems.append(other)
    elif suffix not in TEXT_FILES:
        hint = _SAVE_AS.get(suffix, _SAVE_IT)
        found.problems.append(Finding(_NOT_READ, hint, Place(file)))
    elif table is None:
        found.problems.append(_no_table_named(path, file))
    else:
        known = found.words.known(TABLES[table])
        found.add_table(table, file, read_csv(file_bytes(path, file), file, known))


def _no_table_named(path: Path, file: str) -> Finding:
    """Say that a file's name says no table, and which it may be."""
    every = {name for table in TABLES.values() for name in table.column_names}
    rows = read_csv(file_bytes(path, file), file, every)
    like = likely_table(rows) or next(iter(nearest(_first_word(path.name), TABLES, most=1)), None)
    hint = ""
    if like is not None:
        hint = f"Rename it {like}{path.suffix}, if that is what it holds, or write under [sheets] "
        hint += f"in production.toml: {toml_line(path.stem, like)}. "
    hint += f"The tables are {', '.join(TABLES)}."
    return Finding("its name says no table", hint, Place(file))


def _add_workbook(path: Path, file: str, found: Sheets) -> None:
    """Add the day sheets; of the others those whose names say a table, else the only one, if the
    file's name does."""
    every = read_workbook(path, file)
    sheets = [sheet for sheet in every if not _add_day_sheet(sheet, file, found)]
    named = [(sheet, table_named(sheet.name, found.words)) for sheet in sheets]
    if len(sheets) < len(every):  # hidden sheets beside a day sheet are its own
        named = [(sheet, table) for sheet, table in named if table or not sheet.hidden]
    elif not any(table in TABLES for _, table in named):
        of_file = table_named(path.stem, found.words)
        filled = [
            sheet
            for sheet, table in named
            if table is None and (sheet.unread or any(any(row) for row in sheet.rows))
        ]
        if of_file is None or len(filled) > 1:
            hint = _sheets_named(filled) + f"The tables are {', '.join(TABLES)}."
            found.problems.append(Finding("none of its sheets names a table", hint, Place(file)))
            return
        only = filled[0] if filled else sheets[0] if sheets else None
        named = [(sheet, of_file if sheet is only else table) for sheet, table in named]
    for sheet, table in named:
        _add_sheet(sheet, table, f"{file} sheet {sheet.name}", found)


def _sheets_named(sheets: Sequence[WorkbookSheet]) -> str:
    """Say how sheets can say their tables: with the lines to write, where it can be guessed."""
    likely = [(sheet.name, likely_table(sheet.rows)) for sheet in sheets]
    written = [toml_line(name, table) for name, table in likely if table is not None]
    if not written:
        return "Name a sheet after its table. "
    settings = "or write under [sheets] in production.toml"
    return f"Name a sheet after its table, {settings}: {' and '.join(written)}. "


def _add_day_sheet(sheet: WorkbookSheet, file: str, found: Sheets) -> bool:
    """Add the sheet where it is a day sheet; whether it was one."""
    day_sheet = find_day_sheet(sheet.rows, f"{file} sheet {sheet.name}")
    if day_sheet is None:
        return False
    found.day_sheets.append(day_sheet)
    found.problems.extend(sheet.findings)
    return True


def _add_sheet(sheet: WorkbookSheet, table: str | None, place: str, found: Sheets) -> None:
    """Add one sheet of a workbook as the table that it is; or say why it is left out."""
    if table == LEFT_OUT:
        found.leave_out(place, "is left out, as production.toml says")
    elif table is None and not sheet.unread and not any(any(row) for row in sheet.rows):
        found.leave_out(place, "is empty")
    elif table is None:
        why = sheet.unread or "its name says no table, so it is left out"
        like = None if sheet.unread else likely_table(sheet.rows)
        hint = ""
        if like is not None:
            hint = f"If it holds {like}, write under [sheets] in production.toml: "
            hint += f"{toml_line(sheet.name, like)}."
        found.leave_out(place, f"is hidden, and {why}" if sheet.hidden else why, hint)
    elif sheet.unread:
        hint = "Keep in it the rows that are to be loaded."
        found.problems.append(Finding(sheet.unread, hint, Place(place)))
        found.unread.add(table)
    else:
        found.add_table(table, place, sheet.rows, sheet.valueless)
