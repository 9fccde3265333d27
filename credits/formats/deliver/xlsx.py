"""The end credits as a workbook: a sheet to set the credits from, and what the office asks."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from credits.billing.credits import Held, Line
from credits.billing.reasons import in_words
from credits.billing.setting.breaking import display_width
from credits.billing.setting.rows import one_line
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.formats.deliver.plain import Delivery, credits_table, table_of
from credits.names import direction
from credits.text import guarded, workbook_text
from credits.units.table import Table

HEADER_ROW = 5  # the column heads of every sheet stand in row 6, below all that is said above
ENTRIES_SHOWN = 200
MOST_POINTS = 409  # how high a row can be
POINTS_OF_LETTERS, POINTS_OF_A_LINE = 11, 15
INSIDE = "For the production office: this workbook names people who are not printed."
# The columns of each sheet in their order, with their widths in characters.
CREDITS = {
    "order": 7, "section": 9, "heading": 30, "role": 34, "name": 40, "note": 24, "joined": 8,
    "layout": 24, "columns": 9, "card": 7, "heading_also": 30, "role_also": 30, "notes": 34,
}  # fmt: skip
# Columns that many productions have nothing in: they stand where something does.
SELDOM = ("note", "joined", "card", "heading_also", "role_also")
# A row is at most 409 points high, so the column of entries is wide enough for all that are shown.
HELD = {
    "person": 14, "name": 30, "heading": 26, "reason": 30, "rule": 44, "figures": 30, "entries": 60,
}  # fmt: skip
REASONS = {
    "order": 7, "heading": 26, "name": 30, "person": 14, "rule": 46, "figures": 30,
    "threshold": 36, "entries": 60,
}  # fmt: skip
CHANGES = {"change": 18, "name": 36, "what happened": 90}


_SHEET_NAME = re.compile(rb'<sheet\b[^>]*?\bname="([^"]*)"')
_LARGEST_INDEX = 1_000_000


def _sheet_names(workbook: Path | io.BytesIO) -> set[bytes]:
    """Return the names of the sheets of a workbook; none of what cannot be read as one."""
    with (
        suppress(OSError, KeyError, RuntimeError, ValueError, zipfile.BadZipFile),
        zipfile.ZipFile(workbook) as packed,
        packed.open("xl/workbook.xml") as index,
    ):
        return set(_SHEET_NAME.findall(index.read(_LARGEST_INDEX)))
    return set()


def refuse_other_workbook(path: Path, content: bytes) -> None:
    """Raise WrongCall where a workbook would be written over that has none of the same sheets.

    Tables of a production are such workbooks.
    """
    if path.is_file() and path.stat().st_size:
        there = _sheet_names(path)
        if not there & _sheet_names(io.BytesIO(content)):
            sheets = ", ".join(sorted(name.decode("utf-8", "replace") for name in there)[:3])
            what = "is another workbook" + (f", with the sheets {sheets}" if sheets else "")
            hint = "Name another file, or take this one away first."
            raise WrongCall(Finding(what, hint, column="--out", value=str(path)))


class _Book:
    """A workbook whose every cell is text or a number, never a formula or a link."""

    def __init__(self, delivery: Delivery) -> None:
        self._bytes = io.BytesIO()
        self._delivery = delivery
        as_texts = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
        self._book = Workbook(self._bytes, {"in_memory": True, **as_texts})
        day = delivery.day or date(2000, 1, 1)
        self._book.set_properties(
            {
                "title": f"{one_line(delivery.title)}: end credits, {delivery.stand}",
                "comments": delivery.caution,
                "created": datetime(day.year, day.month, day.day),
            }
        )
        self._head = self._format(bold=True, bottom=1)
        self._title = self._format(bold=True, font_size=14)
        self._words = self._format()
        self._number = self._format(align="left")
        # By whether a text runs to the left, and whether it looks like a formula: then it is told
        # to be a text, which it stays when somebody edits the cell.
        self._dress = {
            (to_left, formula): self._format(
                **({"reading_order": 2, "align": "right"} if to_left else {}),
                **({"quote_prefix": True} if formula else {}),
            )
            for to_left in (False, True)
            for formula in (False, True)
        }

    def _format(self, **dress: object) -> Format:
        return self._book.add_format({"valign": "top", "text_wrap": True, **dress})

    def _above(self, sheet: Worksheet, at: int, text: str, dress: Format, columns: int) -> None:
        """Write a text over all columns."""
        if columns > 1:
            sheet.merge_range(at, 0, at, columns - 1, "", dress)
        _write(sheet, at, 0, text, dress)

    def sheet(self, table: Table, widths: Mapping[str, int], remark: str = "") -> None:
        """Add a sheet: the film, the data and the caution, then the columns that have a width."""
        sheet = self._book.add_worksheet(table.caption)
        delivery = self._delivery
        shown = {
            head: width
            for head, width in widths.items()
            if head not in SELDOM or any(table.column(head))
        }
        title = one_line(delivery.title)
        said = f"End credits. {delivery.stand}. {delivery.data}."
        wide = sum(shown.values())
        for at, text in enumerate((title, said, delivery.caution, remark, delivery.sealed)):
            letters, points = (14, 19) if at == 0 else (POINTS_OF_LETTERS, POINTS_OF_A_LINE)
            sheet.set_row(at, _points([(text, wide)], letters, points))
            self._above(sheet, at, text, self._words if at else self._title, len(shown))
        cells = zip(*(table.column(head) for head in shown), strict=True)
        for number, row in enumerate(cells, HEADER_ROW + 1):
            sheet.set_row(number, _points(list(zip(map(str, row), shown.values(), strict=True))))
        for at, (head, width) in enumerate(shown.items()):
            sheet.set_column(at, at, width)
            _write(sheet, HEADER_ROW, at, head, self._head)
            for number, cell in enumerate(table.column(head), HEADER_ROW + 1):
                if isinstance(cell, int):
                    sheet.write_number(number, at, cell, self._number)
                elif cell:
                    kind = (direction(cell) == "rtl", guarded(cell) != cell)
                    _write(sheet, number, at, cell, self._dress[kind])
        last_row, last_column = HEADER_ROW + len(table.rows), len(shown) - 1
        sheet.freeze_panes(HEADER_ROW + 1, 0)
        sheet.autofilter(HEADER_ROW, 0, last_row, last_column)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
        sheet.print_area(0, 0, last_row, last_column)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(HEADER_ROW)
        sheet.set_footer(f"&L&8{delivery.stand}&R&8&P / &N")

    def whole(self) -> bytes:
        """Return the finished workbook."""
        self._book.close()
        return self._bytes.getvalue()


def _points(
    cells: Sequence[tuple[str, int]],
    letters: int = POINTS_OF_LETTERS,
    line: int = POINTS_OF_A_LINE,
) -> int:
    """How high a row is in which every text is seen whole. cells: with the widths of columns.

    Not every program finds it by itself when it prints.
    """
    rows = 1
    for text, width in cells:
        room = width * POINTS_OF_LETTERS * 9 // 10  # words are not parted where a line is full
        own = (max(1, -(-display_width(part) * letters // room)) for part in text.split("\n"))
        rows = max(rows, sum(own))
    return min(MOST_POINTS, rows * line)


def _write(sheet: Worksheet, row: int, column: int, text: str, dress: Format) -> None:
    """Write a text without the characters that XML does not allow, and not too long."""
    sheet.write_string(row, column, workbook_text(text), dress)


def _row(of: Line | Held, heading: str, **more: object) -> dict[str, object]:
    words = in_words(of.because)
    numbers = [str(number) for number in words.entries]
    entries = ", ".join(numbers[:ENTRIES_SHOWN])
    left = len(numbers) - ENTRIES_SHOWN
    return {
        "person": of.person,
        "name": one_line(of.name),
        "heading": one_line(heading),
        "rule": words.rule,
        "figures": ", ".join(f"{name} {value}" for name, value in words.figures),
        "threshold": words.threshold,
        "entries": f"{entries} and {left:,} more" if left > 0 else entries,
        **more,
    }


def _sheet(caption: str, keys: Iterable[str], rows: Iterable[Mapping[str, object]]) -> Table:
    return table_of(caption, keys, (tuple(row[key] for key in keys) for row in rows))


def credits_xlsx(delivery: Delivery) -> bytes:
    """Return the workbook: ``Credits`` for the title house; for the office what it asks.

    Texts that look like formulas, links or numbers stay texts. Same delivery, same bytes.
    """
    book = _Book(delivery)
    inside = delivery.edition.sees(Edition.OFFICE)
    book.sheet(credits_table(delivery), CREDITS, INSIDE if inside else "")
    if inside:
        credits = delivery.credits
        held = (*credits.held, *credits.held_lines)
        rows = (_row(own, own.heading, reason=own.reason) for own in held)
        book.sheet(_sheet("Held", HELD, rows), HELD, INSIDE)
        lines = [(section.heading, line) for section in credits.sections for line in section.lines]
        rows = (_row(line, heading, order=at) for at, (heading, line) in enumerate(lines, 1))
        book.sheet(_sheet("Reasons", REASONS, rows), REASONS, INSIDE)
        if delivery.changes is not None:
            book.sheet(table_of("Changes", CHANGES, delivery.changes), CHANGES, INSIDE)
    return book.whole()
