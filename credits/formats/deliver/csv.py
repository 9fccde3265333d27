"""Tables as CSV, and the credits as a table."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from credits.billing.credits import Section
from credits.billing.fixed_text import blocks_of, text_lines
from credits.billing.roll import TEXT_COLUMNS, columns_of, has_roles, one_line
from credits.formats.deliver.delivery import Delivery
from credits.names import direction
from credits.text import guarded
from credits.units.table import Column, Table

CREDITS = (
    "section", "heading", "layout", "columns", "line", "role", "name", "direction", "person",
    "confirmed",
)  # fmt: skip
FOR_TITLE_HOUSE = ("order", "notes")


def table_of(caption: str, keys: Iterable[str], rows: Iterable[tuple[object, ...]]) -> Table:
    """Return a table of texts and whole numbers for a file, its columns called by their keys."""
    columns = tuple(Column(key=key, heading=key) for key in keys)
    return Table(caption=caption, columns=columns, rows=tuple(rows))


def table_csv(table: Table) -> bytes:
    """Return a table as CSV: UTF-8 with a byte-order mark, which spreadsheets need; texts quoted.

    A text that a spreadsheet would run as a formula has an apostrophe before it.
    """
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(column.key for column in table.columns)
    for row in table.rows:
        writer.writerow(guarded(cell) if isinstance(cell, str) else cell for cell in row)
    return text.getvalue().encode("utf-8-sig", "replace")


def _rows(delivery: Delivery, place: int, section: Section) -> Iterator[tuple[object, ...]]:
    heading, layout = one_line(section.heading), section.layout.value
    before = None
    for number, line in enumerate(section.lines, 1):
        confirmed = ("yes" if line.confirmed else "no") if delivery.shows_unconfirmed else ""
        to_left = direction(line.name) == "rtl"
        notes = (
            "spelling not confirmed" if confirmed == "no" else "",
            "name runs from right to left" if to_left else "",
            "role as above: set it once"
            if has_roles(section) and line.role and line.role == before
            else "",
        )
        yield (
            place, heading, layout, columns_of(section), number, one_line(line.role or ""),
            one_line(line.name), "rtl" if to_left else "ltr", line.person, confirmed,
            "; ".join(filter(None, notes)),
        )  # fmt: skip
        before = line.role
    texts = text_lines(blocks_of(section.text), TEXT_COLUMNS) if section.text else ()
    for number, text in enumerate(texts, len(section.lines) + 1):
        shown = one_line(text)
        yield (
            place, heading, layout, 1, number, "", shown, direction(shown), "", "", "fixed text"
        )  # fmt: skip


def credits_table(delivery: Delivery) -> Table:
    """Return the lines that print, a row for each; lines of fixed text stand as names.

    ``section`` and ``line`` count from 1, ``order`` all lines together. ``confirmed`` is yes or no,
    and empty where the edition does not say.
    """
    rows = (
        row
        for place, section in enumerate(delivery.credits.sections, 1)
        for row in _rows(delivery, place, section)
    )
    numbered = ((order, *row) for order, row in enumerate(rows, 1))
    order, notes = FOR_TITLE_HOUSE
    return table_of("Credits", (order, *CREDITS, notes), numbered)


def credits_csv(delivery: Delivery) -> bytes:
    """Return the lines that print as CSV."""
    return table_csv(credits_table(delivery).without(*FOR_TITLE_HOUSE))
