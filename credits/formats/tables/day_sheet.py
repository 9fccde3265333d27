"""Day sheets: the form that a stage or a workshop fills in for one day, out and back.

A sheet carries what nobody sees: a mark that says what it is, a row with the names of the columns,
and for each row a key and what the row held when the sheet was made. So it is known by itself,
whatever its file is called, and a row is known however it is corrected, sorted or moved.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_col_to_name, xl_range
from xlsxwriter.worksheet import Worksheet

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell
from credits.formats.tables.columns import TABLES
from credits.model.facts import EntryNumber
from credits.text import workbook_text
from credits.units.film_time import day_text

BETWEEN = " · "
"""What stands between the code and the name of a thing to choose."""

OPEN_FRAMES = re.compile(r"\s*(\d+)\s*[-–—]\s*")
"""Frames of which only the first is there yet: ``31-``."""

_MARK = "credits day sheet "
_FORMAT = 1
_LISTS = "lists"
_SIGNED = "Filled in by"
_REF, _PRINTED, _ENTRY = "ref", "printed", "entry"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetMark:
    """What a sheet is: for which production, day and place. ``made``: its own, of no other sheet.

    ``department``: the workshop, where the place is no stage.
    """

    production: str
    on: date
    stage: str | None = None
    department: str | None = None
    made: str

    @property
    def text(self) -> str:
        """Return the mark as the hidden cell holds it."""
        said = {key: getattr(self, key) for key in ("production", "stage", "department", "made")}
        return _MARK + json.dumps({"format": _FORMAT, "on": self.on.isoformat(), **said})

    @property
    def stem(self) -> str:
        """Return how the keys of the sheet's own rows begin."""
        place = re.sub(r"\W+", "-", (self.stage or self.department or "")[:24])
        return f"={self.on}/{place}/{self.made}"

    def key(self, row: int) -> str:
        """Return the key of one of the sheet's own rows, counted from 1."""
        return f"{self.stem}-{row}"

    def key_of_entry(self, number: EntryNumber) -> str:
        """Return the key of a row that shows an entry of the log (read by ``entry_of_key``)."""
        return f"={number}/{self.made}"


def _read_mark(text: str, place: Place) -> SheetMark:
    try:
        said = json.loads(text.removeprefix(_MARK))
        form = said.pop("format")
        if form == _FORMAT:
            return SheetMark(on=date.fromisoformat(said.pop("on")), **said)
    except (ValueError, TypeError, KeyError, AttributeError):
        form = None
    what = "was made by another release of credits" if form else "its hidden mark is damaged"
    hint = "Make the sheet again with: credits sheet."
    raise ProblemsFound(Finding(what, hint, place)) from None


class PrintedRow(NamedTuple):
    """What a row holds when the sheet is made. ``entry``: the one of the log that it shows.

    cells: columns of the entries table and their text; those that the sheet does not show too.
    """

    cells: Mapping[str, str]
    entry: EntryNumber | None = None

    @property
    def text(self) -> str:
        """Return the row as its hidden cell holds it."""
        return json.dumps([str(self.entry) if self.entry else None, dict(self.cells)])


NOTHING_PRINTED = PrintedRow({})


def _read_printed(text: str) -> PrintedRow:
    """Read what a row held; of a hidden cell that is empty or was written over, nothing."""
    try:
        entry, cells = json.loads(text)
        number = EntryNumber.parse(entry) if entry else None
        return PrintedRow({str(key): str(value) for key, value in cells.items()}, number)
    except (ValueError, TypeError, AttributeError):
        return NOTHING_PRINTED


# --- The columns

_WHAT = ("craft", "person", "character", "puppet", "part")
_SHOT = ("shot", "take", "frames", "poses_on")
ON_A_STAGE = (*_WHAT, *_SHOT, "share", "minutes", "wait_minutes", "note")
IN_A_WORKSHOP = (*_WHAT, "share", "minutes", "note")
DONE = frozenset({"frames", "share", "minutes", "wait_minutes", "note"})
"""The columns that say what was done. Without a word in them a row was not filled in."""


class _Look(NamedTuple):
    """A column of the page: heading, width in characters, what a cell may hold."""

    heading: str
    width: float
    help: str


_LOOKS = {
    "craft": _Look("Craft", 16, "What was done. Choose it from the list."),
    "person": _Look("Who", 18, "Choose from the list; somebody else: write the name."),
    "character": _Look("Character", 15, "Choose from the list."),
    "puppet": _Look("Puppet", 14, "Which copy of the character. Choose from the list."),
    "part": _Look("Part", 14, "A kit, a head, hands. Choose from the list."),
    "shot": _Look("Shot", 14, "Choose from the list."),
    "take": _Look("Take", 6, "The number of the take."),
    "frames": _Look("Frames", 13, "First and last: 1-48. Several: 1-20,25-48. One: 17."),
    "poses_on": _Look("On ones, twos", 8, "On ones: 1. On twos: 2. On threes: 3."),
    "share": _Look("Share", 7, "If several did it together: 1, 2 or 1/2. Else leave it empty."),
    "minutes": _Look("Minutes worked", 9, "Whole minutes: 8 hours are 480."),
    "wait_minutes": _Look("Minutes waited", 9, "Whole minutes, for a repair or for the set."),
    "note": _Look("Note", 26, "Anything the office should know."),
}
HEADINGS = {column: look.heading for column, look in _LOOKS.items()}
_WIDE = {"puppet": 20, "part": 20, "note": 44, "character": 20, "person": 24, "craft": 22}


@dataclass(frozen=True, slots=True, kw_only=True)
class DayForm:
    """A day sheet to be made.

    ``place``: the stage or workshop in words. ``choices``: by column what can be chosen, code and
    name. ``empty``: how many rows without anything. ``caution``: empty where none is asked for.
    """

    mark: SheetMark
    film: str
    place: str
    rows: Sequence[PrintedRow]
    empty: int
    choices: Mapping[str, Sequence[str]]
    caution: str = ""

    @property
    def columns(self) -> tuple[str, ...]:
        """Return the columns that the page shows: what the place needs, and what is on it."""
        own = ON_A_STAGE if self.mark.stage is not None else IN_A_WORKSHOP
        there = {column for row in self.rows for column in row.cells}
        return tuple(column for column in ON_A_STAGE if column in own or column in there)


# --- The page

_TITLE_ROW, _DAY_ROW, _CAUTION_ROW, _NAMES_ROW, _HEADING_ROW, _FIRST_ROW = range(6)
_ROWS_BELOW = 60  # rows under the page in which the cells are still checked
_FIRST_COLUMN = 2  # behind the hidden key and what the row held
_A4 = 9
_ROWS_OF_A_PAGE = 24
_INK, _RULE, _HEAD, _LOGGED = "#1F2B2A", "#87928D", "#D9E0DA", "#F0F0EA"
_HOW = (
    "A row for each person and each thing they did. Correct what stands here, and leave a row as it"
    " is where nothing was done."
)


def day_sheet(form: DayForm) -> bytes:
    """Return the sheet as a workbook. Names stand as text, whatever they begin with."""
    target = io.BytesIO()
    as_texts = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
    with Workbook(target, {"in_memory": True, **as_texts}) as book:
        on = form.mark.on
        title = workbook_text(f"{form.film}: day sheet, {form.place}, {day_text(on)}")
        made = datetime(on.year, on.month, on.day)
        book.set_properties({"title": title, "subject": form.mark.stem, "created": made})
        book.set_custom_property("credits day sheet", form.mark.stem, "text")
        _Page(book, form).write()
    return target.getvalue()


class _Page:
    """The one sheet that people see, and the hidden one with what can be chosen."""

    def __init__(self, book: Workbook, form: DayForm) -> None:
        self._book, self._form = book, form
        self._sheet: Worksheet = book.add_worksheet(_sheet_name(form.place))
        self._lists: Worksheet = book.add_worksheet(_LISTS)
        self._columns = dict(enumerate(form.columns, _FIRST_COLUMN))
        self._entry_at = _FIRST_COLUMN + len(self._columns)
        self._last_row = _FIRST_ROW + len(form.rows) + form.empty - 1

    def _format(self, **dress: object) -> Format:
        base = {"font_color": _INK, "font_name": "Arial", "font_size": 9, "valign": "vcenter"}
        return self._book.add_format({**base, **dress})

    def write(self) -> None:
        """Write all of it."""
        self._set_up()
        self._write_head()
        self._write_rows()
        for at, column in self._columns.items():
            self._check_cells(column, at)
        below = self._last_row + _ROWS_BELOW
        texts = xl_range(_FIRST_ROW, _FIRST_COLUMN, below, self._entry_at)
        self._sheet.ignore_errors({"number_stored_as_text": texts})

    def _set_up(self) -> None:
        sheet = self._sheet
        widths = {} if self._form.mark.stage is not None else _WIDE
        text = self._format(num_format="@", text_wrap=True)
        for at, column in self._columns.items():
            sheet.set_column(at, at, widths.get(column, _LOOKS[column].width), text)
        sheet.set_column(self._entry_at, self._entry_at, 8, text)
        sheet.set_column(0, _FIRST_COLUMN - 1, None, None, {"hidden": True})
        sheet.set_row(_NAMES_ROW, None, None, {"hidden": True})
        sheet.freeze_panes(_FIRST_ROW, _FIRST_COLUMN)
        sheet.set_selection(_FIRST_ROW, _FIRST_COLUMN, _FIRST_ROW, _FIRST_COLUMN)
        sheet.set_landscape()
        sheet.set_paper(_A4)
        sheet.set_margins(left=0.4, right=0.4, top=0.4, bottom=0.5)
        sheet.center_horizontally()
        rows = self._last_row - _FIRST_ROW + 1
        sheet.fit_to_pages(1, int(rows <= _ROWS_OF_A_PAGE))
        sheet.repeat_rows(_TITLE_ROW, _HEADING_ROW)
        sheet.print_area(_TITLE_ROW, _FIRST_COLUMN, self._last_row, self._entry_at)
        sheet.set_footer(f"&L&8Day sheet {self._form.mark.on}&R&8&P / &N")
        sheet.hide_gridlines(2)
        self._lists.hide()

    def _write_head(self) -> None:
        form, sheet, last = self._form, self._sheet, self._entry_at
        sheet.write_string(_TITLE_ROW, 0, form.mark.text)
        title = self._format(font_size=16, bold=True)
        film = workbook_text(form.film)
        shown = f"{workbook_text(form.place)}{BETWEEN}{film}"
        sheet.set_row(_TITLE_ROW, 26)
        sheet.write_string(_TITLE_ROW, _FIRST_COLUMN, shown, title)
        sheet.set_row(_DAY_ROW, 20)
        day = f"{form.mark.on:%A} {day_text(form.mark.on)}. {_HOW}"
        sheet.write_string(_DAY_ROW, _FIRST_COLUMN, day, self._format(font_size=10))
        label = self._format(align="right", num_format="@")
        line = self._format(bottom=1, num_format="@")
        at = last - 1
        sheet.write_string(_TITLE_ROW, at - 1, _SIGNED, label)
        sheet.merge_range(_TITLE_ROW, at, _TITLE_ROW, last, "", line)
        if form.caution:
            small = self._format(text_wrap=True, italic=True, font_size=8)
            sheet.set_row(_CAUTION_ROW, 26)
            sheet.merge_range(_CAUTION_ROW, _FIRST_COLUMN, _CAUTION_ROW, last, form.caution, small)
        else:
            sheet.set_row(_CAUTION_ROW, 4)
        head = self._format(bold=True, bg_color=_HEAD, border=1, border_color=_RULE, text_wrap=True)
        sheet.set_row(_HEADING_ROW, 26)
        sheet.write_row(_NAMES_ROW, 0, [_REF, _PRINTED])
        for at, column in self._columns.items():
            sheet.write_string(_NAMES_ROW, at, column)
            sheet.write_string(_HEADING_ROW, at, HEADINGS[column], head)
        sheet.write_string(_NAMES_ROW, last, _ENTRY)
        sheet.write_string(_HEADING_ROW, last, "Logged as", head)

    def _write_rows(self) -> None:
        form, sheet = self._form, self._sheet
        cell = {
            "border": 1, "border_color": _RULE, "text_wrap": True, "valign": "top",
            "num_format": "@",
        }  # fmt: skip
        plain, logged = self._format(**cell), self._format(**cell, bg_color=_LOGGED)
        figure = cell | {"num_format": "0", "align": "center"}
        number = {True: self._format(**figure, bg_color=_LOGGED), False: self._format(**figure)}
        labels = {
            column: {label.partition(BETWEEN)[0]: label for label in labels}
            for column, labels in form.choices.items()
        }
        blank = [NOTHING_PRINTED] * form.empty
        for place, row in enumerate((*form.rows, *blank)):
            at = _FIRST_ROW + place
            is_logged = row.entry is not None
            mark = form.mark
            key = mark.key(place + 1) if row.entry is None else mark.key_of_entry(row.entry)
            sheet.set_row(at, 29)
            sheet.write_string(at, 0, key)
            if row is not NOTHING_PRINTED:
                sheet.write_string(at, 1, row.text)
            for column_at, column in self._columns.items():
                text = row.cells.get(column, "")
                dress = logged if is_logged else plain
                if column in _NUMBERS:
                    dress = number[is_logged]
                    if text:
                        sheet.write_number(at, column_at, int(text), dress)
                        continue
                text = workbook_text(labels.get(column, {}).get(text, text))
                if text:
                    sheet.write_string(at, column_at, text, dress)
                else:
                    sheet.write_blank(at, column_at, None, dress)
            if row.entry is not None:
                sheet.write_string(at, self._entry_at, str(row.entry), logged)
            else:
                sheet.write_blank(at, self._entry_at, None, plain)

    def _check_cells(self, column: str, at: int) -> None:
        """Offer what can be chosen, and refuse what no cell of the column can hold."""
        cell = f"{xl_col_to_name(at)}{_FIRST_ROW + 1}"
        look = _LOOKS[column]
        rule: dict[str, object] = {"validate": "any"}
        choices = self._form.choices.get(column)
        if choices:
            self._lists.write_string(0, at, column)
            for place, label in enumerate(choices, 1):
                if column in _NUMBERS:
                    self._lists.write_number(place, at, int(label))
                else:
                    self._lists.write_string(place, at, workbook_text(label))
            letters = xl_col_to_name(at)
            source = f"={_LISTS}!${letters}$2:${letters}${len(choices) + 1}"
            rule = {
                "validate": "list",
                "source": source,
                "error_type": "warning",
                "error_title": "Not in the list",
                "error_message": "Keep it only if it is right: the office's lists must have it"
                " when the sheet is loaded. A full name does as well as a code.",
            }
        elif column in _NUMBERS:
            least = int(column not in ("minutes", "wait_minutes"))
            rule = {"validate": "integer", "criteria": ">=", "value": least}
        elif column in _SIGNS:
            # Counts the signs that may stand there: a rule may hold no list of constants, and the
            # rows of the hidden sheet are never deleted.
            signs = _SIGNS[column]
            each = f'MID("{signs}",ROW({_LISTS}!$1:${len(signs)}),1)'
            formula = f'=SUMPRODUCT(LEN({cell})-LEN(SUBSTITUTE({cell},{each},"")))=LEN({cell})'
            rule = {"validate": "custom", "value": formula}
        if rule["validate"] in ("integer", "custom"):
            rule |= {"error_title": look.heading, "error_message": look.help}
        rule |= {"input_title": look.heading, "input_message": look.help}
        self._sheet.data_validation(_FIRST_ROW, at, self._last_row + _ROWS_BELOW, at, rule)


_NUMBERS = frozenset({"take", "poses_on", "minutes", "wait_minutes"})
_SIGNS = {"frames": "0123456789-–,; ", "share": "0123456789/ "}
_NOT_IN_SHEET_NAMES = re.compile(r"[\[\]:*?/\\\x00-\x1f]")


def _sheet_name(place: str) -> str:
    """Return a name that a sheet may have: 31 characters, some signs not (ECMA-376, 18.2.19)."""
    plain = _NOT_IN_SHEET_NAMES.sub(" ", workbook_text(place))[:31].strip(" '")
    return "Day sheet" if not plain or plain.lower() in (_LISTS, "history") else plain


# --- And back


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledRow:
    """One row as it came back. ``number``: counted from 1; ``cells``: those that hold something."""

    number: int
    key: str | None
    printed: PrintedRow
    cells: Mapping[str, Cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySheet:
    """A day sheet that came back.

    ``columns``: the columns of the entries table that it has, and the letters of each.
    ``signed``: who filled it in, where somebody wrote it.
    """

    file: str
    mark: SheetMark
    header_row: int
    columns: Mapping[str, str]
    rows: tuple[FilledRow, ...]
    signed: str | None

    def cell(self, row: int, column: str | None) -> Place:
        """Return the place of a cell, or of a row where the sheet does not show the column."""
        letters = self.columns.get(column or "")
        return Place(self.file, row, cell=f"{letters}{row}" if letters else None)


def find_day_sheet(rows: Sequence[Sequence[Cell]], file: str) -> DaySheet | None:
    """Read a sheet's rows where it is a day sheet; None: it is something else.

    file: file and sheet, as findings name them. Raises ProblemsFound where its hidden parts are
    gone.
    """
    marked = next(((at, text) for at, text in _texts(rows[:10]) if text.startswith(_MARK)), None)
    if marked is None:
        return None
    mark = _read_mark(marked[1], Place(file))
    names_at = next((at for at, row in enumerate(rows) if {_REF, *_WHAT[:2]} <= set(row)), None)
    if names_at is None:
        what = "the hidden row with the names of the columns is gone"
        raise ProblemsFound(Finding(what, "Make it again with: credits sheet.", Place(file)))
    known = set(TABLES["entries"].column_names)
    names = [str(cell) for cell in rows[names_at]]
    places = {column: names.index(column) for column in names if column in known}
    columns = {c: xl_col_to_name(at) for c, at in places.items() if c != _REF}
    below = enumerate(rows[names_at + 2 :], names_at + 3)
    printed_at = names.index(_PRINTED) if _PRINTED in names else None
    found = []
    for number, row in below:
        key = str(row[places[_REF]]) or None
        printed = _read_printed(str(row[printed_at])) if printed_at is not None else NOTHING_PRINTED
        cells = {column: row[places[column]] for column in columns if row[places[column]]}
        if key or cells:
            found.append(FilledRow(number=number, key=key, printed=printed, cells=cells))
    return DaySheet(
        file=file,
        mark=mark,
        header_row=names_at + 2,
        columns=columns,
        rows=tuple(found),
        signed=_signature(rows[:names_at]),
    )


def _texts(rows: Sequence[Sequence[Cell]]) -> Iterator[tuple[int, str]]:
    return ((at, cell) for at, row in enumerate(rows) for cell in row if isinstance(cell, str))


def _signature(head: Sequence[Sequence[Cell]]) -> str | None:
    """Find what stands behind "Filled in by"."""
    for row in head:
        if _SIGNED in row:
            behind = row[list(row).index(_SIGNED) + 1 :]
            return next((str(cell) for cell in behind if cell), None)
    return None
