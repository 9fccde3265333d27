"""The end credits as plain files: a table, data and text.

The data has the shape that ``credits roll --json`` has too.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence

from credits.billing.credits import Credits, Line, Section
from credits.billing.fixed_text import blocks_of, display_width, text_lines, wrapped
from credits.billing.plan import Layout
from credits.billing.reasons import Reason, in_words
from credits.billing.roll import TEXT_COLUMNS, columns_of, has_roles, in_rows, one_line
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


def because_json(reasons: tuple[Reason, ...], office: bool = True) -> dict[str, object]:
    """Return reasons as data: rule, threshold, figures, entries; to the office all of them."""
    words = in_words(reasons, office=office)
    return {
        "rule": words.rule,
        "threshold": words.threshold or None,
        "figures": dict(words.figures),
        "entries": [str(number) for number in words.entries],
    }


def credits_shape(
    credits: Credits, proof: int | None = None, *, reasons: bool = True, office: bool = True
) -> dict[str, object]:
    """Return the credits as plain data.

    reasons: whether it is said why somebody stands where they stand. office: whether the people who
    are held, and what contracts say, are in it.
    """
    return {
        "proof": proof,
        "sections": [
            {
                "heading": section.heading,
                "layout": section.layout.value,
                "columns": section.columns,
                "text": section.text or None,
                "lines": [
                    {
                        "person": line.person,
                        "name": line.name,
                        "role": line.role,
                        "because": because_json(line.because, office) if reasons else None,
                    }
                    for line in section.lines
                ],
            }
            for section in credits.sections
        ],
        "held": [
            {
                "person": held.person,
                "heading": held.heading or None,
                "reason": held.reason,
                "threshold": words.threshold or None,
                "figures": dict(words.figures),
            }
            for held in ((*credits.held, *credits.held_lines) if office else ())
            for words in (in_words(held.because),)
        ],
        "order_of_appearance": list(credits.order_of_appearance),
    }


def credits_json(delivery: Delivery) -> bytes:
    """Return the JSON file: the shape, and the film, the data and the caution beside it."""
    reasons, office = delivery.shows_reasons, delivery.shows_held
    shape = credits_shape(delivery.credits, delivery.proof, reasons=reasons, office=office)
    whole = {"title": delivery.title, "data": delivery.data, **shape, "caution": delivery.caution}
    return (json.dumps(whole, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")


WIDTH = 78
GUTTER = "  "
LONGEST_ROLE = 40
UNCONFIRMED = "\N{DEGREE SIGN}"
_ISOLATE, _END = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"


def _beside(text: str) -> str:
    """Isolate a text that runs to the left, so that it does not turn the others of its line."""
    return f"{_ISOLATE}{text}{_END}" if direction(text) == "rtl" else text


def _joined(parts: Sequence[str]) -> str:
    line = "".join(parts).rstrip()
    return _LEFT_TO_RIGHT + line if direction(line) == "rtl" or _ISOLATE in line else line


def _padded(text: str, width: int, right: bool = False) -> str:
    space = " " * max(0, width - display_width(text))
    return f"{space}{_beside(text)}" if right else f"{_beside(text)}{space}"


def _centred(text: str) -> str:
    return " " * max(0, (WIDTH - display_width(text)) // 2) + text


def _name(line: Line, delivery: Delivery) -> str:
    mark = "" if line.confirmed or not delivery.shows_unconfirmed else f" {UNCONFIRMED}"
    return one_line(line.name) + mark


def _with_roles(section: Section, delivery: Delivery) -> Iterator[str]:
    roles = [one_line(line.role or "") for line in section.lines]
    width = min(LONGEST_ROLE, max(map(display_width, roles)))
    before = None
    for line, role in zip(section.lines, roles, strict=True):
        shown = list(wrapped("" if role == before else role, width))
        first, *rest = shown
        name = _name(line, delivery)
        yield _joined([_padded(first, width, right=True), GUTTER, _beside(name)])
        yield from (_joined([_padded(part, width, right=True)]) for part in rest)
        before = role


def _in_columns(section: Section, delivery: Delivery) -> Iterator[str]:
    widest = max(display_width(_name(line, delivery)) for line in section.lines)
    columns = min(columns_of(section), max(1, (WIDTH + len(GUTTER)) // (widest + len(GUTTER))))
    if columns == 1:
        yield from (_name(line, delivery) for line in section.lines)
        return
    width = (WIDTH + len(GUTTER)) // columns - len(GUTTER)
    for row in in_rows(section.lines, columns):
        yield _joined([_padded(_name(line, delivery), width) + GUTTER for line in row])


def _section(section: Section, delivery: Delivery) -> Iterator[str]:
    card = section.layout is Layout.CARD
    heading = one_line(section.heading)
    if heading:
        yield _centred(heading) if card else heading
        yield ""
    if has_roles(section) and not card:
        yield from _with_roles(section, delivery)
    elif card:
        for line in section.lines:
            if line.role:
                yield _centred(one_line(line.role))
            yield _centred(_name(line, delivery))
    elif section.lines:
        yield from _in_columns(section, delivery)
    if section.text:
        lines = text_lines(blocks_of(section.text), TEXT_COLUMNS)
        yield from (_centred(one_line(line)) if card else one_line(line) for line in lines)


def credits_text(delivery: Delivery) -> bytes:
    """Return the lines that print, as UTF-8 text of about 78 columns.

    Names that run from right to left are isolated where they share a line with others, so that
    the columns keep their order. Wide letters count two columns (UAX #11).
    """
    title = one_line(delivery.title)
    lines = [title, f"End credits. {delivery.stand}. {delivery.data}.", ""]
    lines += wrapped(delivery.caution, WIDTH)
    sections = delivery.credits.sections
    unconfirmed = any(not line.confirmed for section in sections for line in section.lines)
    if unconfirmed and delivery.shows_unconfirmed:
        lines += ["", f"{UNCONFIRMED} The spelling is not confirmed."]
    if not sections:
        lines += ["", "Nobody yet: nothing prints."]
    for section in sections:
        lines += ["", "", *_section(section, delivery)]
    return ("\n".join(lines) + "\n").encode("utf-8", "replace")
