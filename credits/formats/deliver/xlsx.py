"""The end credits as a workbook: a sheet to set the credits from, and what the office asks."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from datetime import date, datetime

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from credits.billing.credits import Held, Line
from credits.billing.reasons import in_words
from credits.billing.roll import one_line
from credits.editions import Edition
from credits.formats.deliver.plain import Delivery, credits_table, table_of
from credits.names import direction
from credits.text import workbook_text
from credits.units.table import Table

HEADER_ROW = 5  # the column heads of every sheet stand in row 6, below all that is said above
ENTRIES_SHOWN = 200
INSIDE = "For the production office: this workbook names people who are not printed."
# The columns of each sheet in their order, with their widths in characters.
CREDITS = {
    "order": 7, "section": 9, "heading": 30, "role": 34, "name": 40, "layout": 20, "columns": 9,
    "notes": 34,
}  # fmt: skip
HELD = {
    "person": 18, "name": 36, "heading": 28, "reason": 44, "rule": 60, "figures": 40, "entries": 40,
}  # fmt: skip
REASONS = {
    "order": 7, "heading": 30, "name": 36, "person": 18, "rule": 64, "figures": 40,
    "threshold": 44, "entries": 40,
}  # fmt: skip
CHANGES = {"change": 18, "name": 36, "what happened": 90}


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
        self._plain = self._format()
        self._to_left = self._format(reading_order=2, align="right")
        self._head = self._format(bold=True, bottom=1)
        self._title = self._format(bold=True, font_size=14, text_wrap=False)
        self._words = self._format(text_wrap=False)

    def _format(self, **dress: object) -> Format:
        return self._book.add_format({"valign": "top", "text_wrap": True, **dress})

    def sheet(self, table: Table, widths: Mapping[str, int], remark: str = "") -> None:
        """Add a sheet: the film, the data and the caution, then the columns that have a width."""
        sheet = self._book.add_worksheet(table.caption)
        delivery = self._delivery
        _write(sheet, 0, 0, one_line(delivery.title), self._title)
        stand = f"End credits. {delivery.stand}. {delivery.data}."
        above = (stand, delivery.caution, remark, delivery.sealed)
        for at, text in enumerate(above, 1):
            _write(sheet, at, 0, text, self._words)
        for at, (head, width) in enumerate(widths.items()):
            sheet.set_column(at, at, width)
            _write(sheet, HEADER_ROW, at, head, self._head)
            for number, cell in enumerate(table.column(head), HEADER_ROW + 1):
                if isinstance(cell, int):
                    sheet.write_number(number, at, cell, self._plain)
                elif cell:
                    dress = self._to_left if direction(cell) == "rtl" else self._plain
                    _write(sheet, number, at, cell, dress)
        sheet.freeze_panes(HEADER_ROW + 1, 0)
        sheet.autofilter(HEADER_ROW, 0, HEADER_ROW + len(table.rows), len(widths) - 1)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(HEADER_ROW)
        sheet.set_footer(f"&L&8{delivery.stand}&R&8&P / &N")

    def whole(self) -> bytes:
        """Return the finished workbook."""
        self._book.close()
        return self._bytes.getvalue()


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
