"""Names and tables as HTML.

A page holds hundreds of them, so they are written here and not by templates: a table a hundred
rows long is one call, and a name that was written before is remembered. What HTML says by itself of
a cell (where it ends, that a heading is one of its column or row) is left out: it would be a third
of a table.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from functools import lru_cache
from unicodedata import bidirectional

from markupsafe import Markup, escape

from credits.site.links import Link
from credits.site.markdown import markdown_line
from credits.units.film_time import day_text
from credits.units.table import PrintedCell, PrintedTable, Table, Unit

# The kinds of characters (UAX #9) among which nothing runs from right to left.
_LEFT_TO_RIGHT = frozenset({"L", "EN", "ES", "ET", "CS", "NSM", "WS", "ON"})


def _stays_apart(text: str) -> bool:
    """Tell whether a text could turn the text around it.

    What runs from left to right, as the pages do, needs nothing around it.
    """
    return not (text.isascii() or _LEFT_TO_RIGHT.issuperset(map(bidirectional, text)))


def isolated(text: str) -> Markup:
    """Write a text so that its direction does not reach the text around it."""
    return Markup("<bdi>{}</bdi>").format(text) if _stays_apart(text) else escape(text)


@lru_cache(maxsize=100_000)
def name(link: Link, root: str) -> Markup:
    """Write a name, isolated from the text around it, as a link where it leads somewhere.

    root: the way from the page that shows it to the root of the site.
    """
    text = escape(link.text)
    if _stays_apart(link.text):
        text = Markup('<bdi dir="{}">{}</bdi>').format(link.direction, text)
    if link.href is None:
        return text
    return Markup('<a href="{}{}">{}</a>').format(root, link.href, text)


def names(links: Iterable[Link], root: str) -> Markup:
    """Write names, separated by commas."""
    return Markup(", ".join([name(link, root) for link in links]))


def _said(cell: PrintedCell, root: str) -> str:
    """Write what a cell says: names, names with their frames, a note, or a text."""
    text = cell.text
    if isinstance(text, Link):
        said: str = name(text, root)
    elif isinstance(text, tuple) and cell.unit is Unit.RANGES:
        said = "; ".join(
            f'{name(link, root)} <span class="range">{escape(ranges)}</span>'
            for link, ranges in text
        )
    elif isinstance(text, tuple):
        said = names(text, root)
    elif cell.unit is Unit.NOTE:
        said = markdown_line(text)
    elif cell.unit in (Unit.TEXT, Unit.CODE):
        said = isolated(str(text))
    else:
        said = escape(text)
    return f"{said} <small>{escape(cell.note)}</small>" if cell.note else said


_CLASSES = {Unit.CODE: ' class="code"', Unit.DAY: ' class="one"'}


def _marks(cell: PrintedCell, sortable: bool) -> str:
    """Write the attributes of a cell: what it looks like, what it sorts by, its id.

    Ranges of frames, running times and days say it in their text.
    """
    marks = ' class="n"' if cell.is_number else _CLASSES.get(cell.unit, "")
    if sortable and not (cell.sort is None or _says_order(cell)):
        marks += f' data-sort="{escape(cell.sort)}"'
    # The style sheet knows a cell with an id, which is a code.
    return f' id="{escape(cell.anchor)}"' if cell.anchor else marks


@lru_cache(maxsize=20_000)
def _begins_with_day(text: str, sort: object) -> bool:
    try:
        return text.startswith(day_text(date.fromisoformat(str(sort))))
    except ValueError:  # words that sort among days
        return False


def _says_order(cell: PrintedCell) -> bool:
    """Tell whether what a cell sorts by can be read from its text, as ``value`` of site.js does."""
    if cell.unit is Unit.DAY:
        return _begins_with_day(str(cell.text), cell.sort)
    return cell.shows_order or (cell.unit in (Unit.RANGES, Unit.RUNNING) and cell.sort != "")


def _heads(table: PrintedTable) -> Iterator[str]:
    if table.heads:
        yield "<tr>"
        for text, width in table.heads:
            if text:
                yield f'<th scope="colgroup" colspan="{width}">{escape(text)}'
            else:
                yield f'<td colspan="{width}">'
        yield "\n"
    yield "<tr>"
    for column in table.columns:
        number = ' class="n"' if column.is_number else ""
        yield f"<th{number}>{escape(column.heading)}"
    yield "\n"


def _total(table: PrintedTable, root: str) -> Iterator[str]:
    label, span = table.total[0], table.label_span
    yield f'<tfoot><tr><th scope="row" colspan="{span}">{escape(label.text)}'
    for cell in table.total[span:]:
        number = ' class="n"' if cell.is_number else ""
        yield f"<td{number}>{_said(cell, root)}"
    yield "\n"


def _rows(table: PrintedTable, root: str, sortable: bool) -> Iterator[str]:
    for group in table.groups:
        yield "<tbody>\n"
        for place, row in enumerate(group):
            first, *others = row
            if not table.grouped:
                yield f"<tr><th{_marks(first, sortable)}>{_said(first, root)}"
            elif not place:
                opens = f'<th scope="rowgroup" rowspan="{len(group)}">{_said(first, root)}'
                yield f"<tr>{opens}"
            else:
                yield "<tr>"
            for cell in others:
                yield f"<td{_marks(cell, sortable)}>{_said(cell, root)}"
            yield "\n"


def printed_table(table: PrintedTable, root: str, sortable: bool = True) -> Markup:
    """Write a printed table. sortable: a click on a heading sorts it, unless rows are grouped."""
    sortable = sortable and not table.grouped
    caption, sorts = escape(table.caption), ' class="sortable"' if sortable else ""
    pieces = [
        f'<div class="wrap" tabindex="0" role="region" aria-label="{caption}">'
        f'<table{sorts}><caption class="unseen">{caption}</caption>\n<thead>\n',
        *_heads(table),
        *_rows(table, root, sortable),
        *(_total(table, root) if table.total else ()),
        "</table></div>",
    ]
    return Markup("".join(pieces))


def table(values: Table, root: str, sortable: bool = True) -> Markup:
    """Write a table of values."""
    return printed_table(values.printed(), root, sortable)
