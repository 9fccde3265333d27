"""The confirmation sheet: who would be printed, how and where, and two columns for the answer.

``credits load`` takes the sheet back as it is (``confirmations_in.py``).
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from credits.compute.credit_lines import Credits
from credits.exchange.columns import TABLES
from credits.model.ledger import Ledger

COLUMNS = TABLES["confirmations"].column_names
WIDTHS = {"person": 14, "credit_name": 34, "headings": 46, "confirmed": 11, "correction": 34}
# The same film, the same bytes: a workbook must say when it was made (ECMA-376 part 2, 11).
_MADE = datetime(2000, 1, 1)
_ASKED = {
    "confirmed": ("Is the name right?", "yes, or no. If no, write the right name beside it."),
    "correction": ("The right name", "Exactly as it is to appear, every letter and sign."),
    "confirmed_on": ("When", "The day of the answer: year-month-day, such as 2026-03-02."),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """Somebody who would be printed. ``confirmed_on``: None where the name is not confirmed."""

    person: str
    name: str
    headings: tuple[str, ...]
    confirmed_on: date | None


def asked(credits: Credits, ledger: Ledger) -> Iterator[Asked]:
    """Everybody whom the credits print, once, in their order."""
    headings: dict[str, dict[str, None]] = {}
    for section in credits.sections:
        for line in section.lines:
            headings.setdefault(line.person, {})[section.heading] = None
    for person, own in headings.items():
        word = ledger.confirmation(person)
        day = word.confirmed_on if word is not None and ledger.confirmed(person) else None
        name = ledger.person(person).credit_name
        yield Asked(person, name, tuple(heading for heading in own if heading), day)


def confirmation_sheet(credits: Credits, ledger: Ledger) -> bytes:
    """The sheet as a workbook. Names stand as text, whatever they begin with."""
    import xlsxwriter

    target = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as book:
        book.set_properties({"title": "Confirmation of names", "created": _MADE})
        sheet = book.add_worksheet("confirmations")
        bold = book.add_format({"bold": True, "bottom": 1})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        text = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
        sheet.freeze_panes(1, 2)
        rows = list(asked(credits, ledger))
        for at, column in enumerate(COLUMNS):
            shape = day if column == "confirmed_on" else text
            sheet.set_column(at, at, WIDTHS.get(column, 14), shape)
            sheet.write_string(0, at, column, bold)
            if column in _ASKED and rows:
                title, message = _ASKED[column]
                rule: dict[str, object] = {
                    "validate": "any",
                    "input_title": title,
                    "input_message": message,
                }
                if column == "confirmed":
                    rule |= {"validate": "list", "source": ["yes", "no"]}
                sheet.data_validation(1, at, len(rows), at, rule)
        for number, row in enumerate(rows, 1):
            for column, value in zip(
                COLUMNS, (row.person, row.name, ", ".join(row.headings)), strict=False
            ):
                sheet.write_string(number, COLUMNS.index(column), value, text)
            if row.confirmed_on is not None:
                sheet.write_string(number, COLUMNS.index("confirmed"), "yes", text)
                sheet.write_datetime(number, COLUMNS.index("confirmed_on"), row.confirmed_on, day)
    return target.getvalue()
