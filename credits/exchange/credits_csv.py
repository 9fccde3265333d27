"""The end credits as CSV: a row for each line, in the order in which they run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from credits.compute.credit_lines import Section
from credits.compute.fixed_text import blocks_of, text_lines
from credits.compute.roll_lines import TEXT_COLUMNS, columns_of, one_line
from credits.exchange.delivery import Delivery
from credits.names import direction
from credits.text import guarded

COLUMNS = (
    "section", "heading", "layout", "columns", "line", "role", "name", "direction", "person",
    "confirmed",
)  # fmt: skip


def _rows(place: int, section: Section, delivery: Delivery) -> Iterator[tuple[object, ...]]:
    heading = guarded(one_line(section.heading))
    layout, columns = section.layout.value, columns_of(section)
    number = 0
    for number, line in enumerate(section.lines, 1):
        confirmed = ("yes" if line.confirmed else "no") if delivery.shows_unconfirmed else ""
        yield (
            place, heading, layout, columns, number,
            guarded(one_line(line.role or "")), guarded(one_line(line.name)),
            direction(line.name), guarded(line.person), confirmed,
        )  # fmt: skip
    for text in text_lines(blocks_of(section.text), TEXT_COLUMNS) if section.text else ():
        number += 1
        shown = guarded(one_line(text))
        yield place, heading, layout, 1, number, "", shown, direction(text), "", ""


def credits_csv(delivery: Delivery) -> bytes:
    """The lines that print: UTF-8 with a byte-order mark, which spreadsheets need; texts quoted.

    ``section`` and ``line`` count from 1. Lines of fixed text stand under ``name`` without a
    person. ``confirmed`` is yes or no, and empty where the edition does not say. A text that a
    spreadsheet would run as a formula has an apostrophe before it.
    """
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    for place, section in enumerate(delivery.credits.sections, 1):
        writer.writerows(_rows(place, section, delivery))
    return text.getvalue().encode("utf-8-sig", "replace")
