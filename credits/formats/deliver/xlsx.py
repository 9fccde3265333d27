"""The end credits as a workbook: a sheet to set the credits from, and what the office asks."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from credits.billing.credits import Section
from credits.billing.fixed_text import blocks_of, text_lines
from credits.billing.reasons import ReasonWords, in_words
from credits.billing.roll import TEXT_COLUMNS, columns_of, has_roles, one_line
from credits.formats.deliver.delivery import Delivery
from credits.names import direction

Cell = str | int
HEADER_ROW = 5  # the column heads of every sheet stand in row 6, below title, data and caution
LONGEST_CELL = 32_767  # characters a cell of a workbook holds
ENTRIES_SHOWN = 200
CREDITS_COLUMNS = (
    ("order", 7), ("section", 9), ("heading", 30), ("role", 34), ("name", 40), ("layout", 20),
    ("columns", 9), ("notes", 34),
)  # fmt: skip
HELD_COLUMNS = (
    ("person", 18), ("name", 36), ("heading", 28), ("reason", 44), ("rule", 60), ("figures", 40),
    ("entries", 40),
)  # fmt: skip
REASONS_COLUMNS = (
    ("order", 7), ("heading", 30), ("name", 36), ("person", 18), ("rule", 64), ("figures", 40),
    ("threshold", 44), ("entries", 40),
)  # fmt: skip
CHANGES_COLUMNS = (("change", 18), ("name", 36), ("what happened", 90))


class _Book:
    """A workbook whose every cell is text or a number, never a formula or a link."""

    def __init__(self, delivery: Delivery) -> None:

        self.bytes = io.BytesIO()
        self._delivery = delivery
        options: dict[str, Any] = {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        }
        self.book: Workbook = Workbook(self.bytes, options)
        day = delivery.day
        created = (
            datetime(day.year, day.month, day.day, tzinfo=UTC)
            if day is not None
            else datetime(2000, 1, 1, tzinfo=UTC)
        )
        self.book.set_properties(
            {
                "title": f"{one_line(delivery.title)}: end credits, {delivery.stand}",
                "comments": delivery.caution,
                "created": created.replace(tzinfo=None),
            }
        )
        self._plain = self._format()
        self._to_left = self._format(reading_order=2, align="right")
        self._head = self._format(bold=True, bottom=1)
        self._title = self._format(bold=True, font_size=14, text_wrap=False)
        self._words = self._format(text_wrap=False)

    def _format(self, **dress: object) -> Format:
        return self.book.add_format({"valign": "top", "text_wrap": True, **dress})

    def sheet(
        self,
        name: str,
        columns: Sequence[tuple[str, int]],
        rows: Iterator[tuple[Cell, ...]],
        remark: str = "",
    ) -> None:
        """A sheet: the film, the data and the caution, then the heads of the columns and rows."""
        sheet = self.book.add_worksheet(name)
        delivery = self._delivery
        self._text(sheet, 0, 0, one_line(delivery.title), self._title)
        self._text(sheet, 1, 0, f"End credits. {delivery.stand}. {delivery.data}.", self._words)
        self._text(sheet, 2, 0, delivery.caution, self._words)
        self._text(sheet, 3, 0, remark, self._words)
        for at, (head, width) in enumerate(columns):
            sheet.set_column(at, at, width)
            self._text(sheet, HEADER_ROW, at, head, self._head)
        number = HEADER_ROW
        for number, row in enumerate(rows, HEADER_ROW + 1):
            for at, cell in enumerate(row):
                if isinstance(cell, int):
                    sheet.write_number(number, at, cell, self._plain)
                elif cell:
                    dress = self._to_left if direction(cell) == "rtl" else self._plain
                    self._text(sheet, number, at, cell, dress)
        sheet.freeze_panes(HEADER_ROW + 1, 0)
        sheet.autofilter(HEADER_ROW, 0, number, len(columns) - 1)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(HEADER_ROW)
        sheet.set_footer(f"&L&8{delivery.stand}&R&8&P / &N")

    @staticmethod
    def _text(sheet: Worksheet, row: int, column: int, text: str, dress: Format) -> None:
        sheet.write_string(row, column, _shown(text), dress)

    def whole(self) -> bytes:
        self.book.close()
        return self.bytes.getvalue()


def _shown(text: str) -> str:
    """A text as a cell holds it: no character that is not allowed in XML, not too long."""
    clean = "".join(sign for sign in text if sign >= " " and not "\ud800" <= sign <= "\udfff")
    clean = clean.replace("\ufffe", "").replace("\uffff", "")
    return clean if len(clean) <= LONGEST_CELL else f"{clean[: LONGEST_CELL - 1]}…"


def _notes(delivery: Delivery, section: Section, at: int, before: str | None) -> str:
    line = section.lines[at]
    notes = []
    if delivery.shows_unconfirmed and not line.confirmed:
        notes.append("spelling not confirmed")
    if direction(line.name) == "rtl":
        notes.append("name runs from right to left")
    if has_roles(section) and line.role and line.role == before:
        notes.append("role as above: set it once")
    return "; ".join(notes)


def _credit_rows(delivery: Delivery) -> Iterator[tuple[Cell, ...]]:
    order = 0
    for place, section in enumerate(delivery.credits.sections, 1):
        heading, layout = one_line(section.heading), section.layout.value
        before = None
        for at, line in enumerate(section.lines):
            order += 1
            notes = _notes(delivery, section, at, before)
            role, name = one_line(line.role or ""), one_line(line.name)
            yield order, place, heading, role, name, layout, columns_of(section), notes
            before = line.role
        for text in text_lines(blocks_of(section.text), TEXT_COLUMNS) if section.text else ():
            order += 1
            yield order, place, heading, "", one_line(text), layout, 1, "fixed text"


def _figures(words: ReasonWords) -> str:
    return ", ".join(f"{name} {value}" for name, value in words.figures)


def _entries(words: ReasonWords) -> str:
    numbers = [str(number) for number in words.entries]
    shown = ", ".join(numbers[:ENTRIES_SHOWN])
    left = len(numbers) - ENTRIES_SHOWN
    return f"{shown} and {left:,} more" if left > 0 else shown


def _held_rows(delivery: Delivery) -> Iterator[tuple[Cell, ...]]:
    for held in (*delivery.credits.held, *delivery.credits.held_lines):
        words = in_words(held.because)
        yield (
            held.person, one_line(held.name), one_line(held.heading), held.reason,
            words.rule, _figures(words), _entries(words),
        )  # fmt: skip


def _reason_rows(delivery: Delivery) -> Iterator[tuple[Cell, ...]]:
    order = 0
    for section in delivery.credits.sections:
        for line in section.lines:
            order += 1
            words = in_words(line.because)
            yield (
                order, one_line(section.heading), one_line(line.name), line.person,
                words.rule, _figures(words), words.threshold, _entries(words),
            )  # fmt: skip


def credits_xlsx(delivery: Delivery) -> bytes:
    """The workbook: ``Credits`` for the title house; for the office ``Held``, ``Reasons`` and,
    where a comparison with an earlier proof was made, ``Changes``.

    Every sheet says film, proof, data and caution above its table. Texts that look like formulas,
    links or numbers stay texts. Same delivery, same bytes.
    """
    book = _Book(delivery)
    inside = "For the production office: this workbook names people who are not printed."
    book.sheet(
        "Credits", CREDITS_COLUMNS, _credit_rows(delivery), inside if delivery.shows_held else ""
    )
    if delivery.shows_held:
        book.sheet("Held", HELD_COLUMNS, _held_rows(delivery), inside)
        book.sheet("Reasons", REASONS_COLUMNS, _reason_rows(delivery), inside)
        if delivery.changes is not None:
            book.sheet("Changes", CHANGES_COLUMNS, iter(delivery.changes), inside)
    return book.whole()
