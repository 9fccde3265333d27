"""The sheet that asks how names are spelled: whom it asks, and how it goes out."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import NamedTuple

import xlsxwriter

from credits.billing.credits import Credits
from credits.formats.tables.columns import TABLES
from credits.model.ledger import Ledger
from credits.text import workbook_text
from credits.units.film_time import day_text

COLUMNS = TABLES["confirmations"].column_names
LEGAL, ANSWER_BY, ASKED = "legal_name", "answer_by", "asked_name"
WIDTHS = {
    **dict.fromkeys(("credit_name", "correction", LEGAL, ASKED), 34),
    "headings": 46,
    "confirmed": 11,
}
# The same film, the same bytes: a workbook must say when it was made (ECMA-376 part 2, 11).
_MADE = datetime(2000, 1, 1)
_ASKED = {
    "confirmed": ("Is the name right?", "yes, or no. If no, write the right name beside it."),
    "correction": ("The right name", "Exactly as it is to appear, every letter and sign."),
    "confirmed_on": ("When", "The day of the answer: year-month-day, such as 2026-03-02."),
}
_DAYS = ("confirmed_on", ANSWER_BY)


class PrintedAt(NamedTuple):
    """A line of somebody: under which heading, in which role, and the name as it prints there."""

    heading: str
    role: str
    name: str


class Asked(NamedTuple):
    """Somebody who would be printed. ``confirmed_on``: None where the name is not confirmed.

    legal_name: None where it is not known. lines: where the name prints.
    """

    person: str
    name: str
    headings: tuple[str, ...]
    confirmed_on: date | None
    legal_name: str | None = None
    lines: tuple[PrintedAt, ...] = ()


def asked(credits: Credits, ledger: Ledger) -> Iterator[Asked]:
    """Find everybody whom the credits print, once, in their order.

    Lines of the plan's own are nobody's: the plan itself says who confirmed them.
    """
    lines: dict[str, dict[PrintedAt, None]] = {}
    for section, line in credits.lines:
        if line.person:
            at = PrintedAt(section.heading, line.role or "", line.name)
            lines.setdefault(line.person, {})[at] = None
    for code, own in lines.items():
        word, person = ledger.confirmation(code), ledger.person(code)
        yield Asked(
            person=code,
            name=person.credit_name,
            headings=tuple(dict.fromkeys(at.heading for at in own if at.heading)),
            confirmed_on=word.confirmed_on if word and ledger.confirmed(code) else None,
            legal_name=person.legal_name,
            lines=tuple(own),
        )


def confirmation_sheet(
    people: Iterable[Asked], answer_by: date | None = None, *, legal: bool = False
) -> bytes:
    """Return the sheet as a workbook. Names stand as text, whatever they begin with.

    A hidden column keeps each name as it went out, so that one which is written over is known.

    answer_by: the day by which to answer; it prints above every page. legal: with the legal names.
    """
    target = io.BytesIO()
    left_out = {LEGAL} - ({LEGAL} if legal else set())
    if answer_by is None:
        left_out.add(ANSWER_BY)
    columns = [column for column in COLUMNS if column not in left_out]
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as book:
        book.set_properties({"title": "Confirmation of names", "created": _MADE})
        sheet = book.add_worksheet("confirmations")
        bold = book.add_format({"bold": True, "bottom": 1})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        text = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
        sheet.freeze_panes(1, 2)
        if answer_by is not None:
            sheet.set_header(f"&LPlease answer by {day_text(answer_by)}")
        rows = list(people)
        for at, column in enumerate(columns):
            shape = day if column in _DAYS else text
            sheet.set_column(at, at, WIDTHS.get(column, 14), shape, {"hidden": column == ASKED})
            sheet.write_string(0, at, column, bold)
            if column in _ASKED and rows:
                title, message = _ASKED[column]
                rule: dict[str, object] = {"input_title": title, "input_message": message}
                choice = {"validate": "list", "source": ["yes", "no"]}
                rule |= choice if column == "confirmed" else {"validate": "any"}
                sheet.data_validation(1, at, len(rows), at, rule)
        for number, row in enumerate(rows, 1):
            said: dict[str, str | date | None] = {
                "person": row.person,
                "credit_name": row.name,
                "headings": ", ".join(row.headings),
                "confirmed": "yes" if row.confirmed_on is not None else None,
                "confirmed_on": row.confirmed_on,
                LEGAL: row.legal_name,
                ANSWER_BY: answer_by,
                ASKED: row.name,
            }
            for at, column in enumerate(columns):
                value = said.get(column)
                if isinstance(value, date):
                    sheet.write_datetime(number, at, value, day)
                elif value is not None:
                    sheet.write_string(number, at, workbook_text(value), text)
    return target.getvalue()
