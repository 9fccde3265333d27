"""Names and tables as HTML.

A page holds hundreds of them, so they are written here and not by templates: a table a hundred
rows long is one call, and a name that was written before is remembered. What HTML says by itself of
a cell (where it ends, that a heading is one of its column or row) is left out: it would be a third
of a table.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache, lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any
from unicodedata import bidirectional

from markupsafe import Markup, escape

from credits.site.links import Link
from credits.site.markdown import markdown_line
from credits.units.film_time import day_text
from credits.units.table import (
    WHOLE,
    WORDS,
    Column,
    PrintedCell,
    PrintedColumn,
    PrintedTable,
    Table,
    Unit,
    printed,
)

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


@lru_cache(maxsize=5_000)
def names(links: tuple[Link, ...], root: str) -> Markup:
    """Write names, separated by commas."""
    return Markup(", ".join([name(link, root) for link in links]))


def _said(cell: PrintedCell, root: str) -> str:
    """Write what a cell says: names, names with their frames, a note, or a text."""
    text = cell.text
    said: str
    if cell.unit not in WORDS:
        said = escape(text)
    elif isinstance(text, Link):
        said = name(text, root)
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


_LOOKS = {
    unit: {Unit.CODE: "c", Unit.DAY: "d"}.get(unit, "") if unit in WORDS else "n" for unit in Unit
}
"""What the style sheet calls a column: of codes, of days, of figures; nothing for other words."""

MOST_NAMED = 20
"""Columns whose look the class of their table names, counted from the last, as the style sheet
knows them: a class for each cell would be a tenth of a site."""


def _marks(cell: PrintedCell, sortable: bool) -> str:
    """Write the attributes of a cell: what it looks like, what it sorts by, its id.

    Ranges of frames, running times and days say it in their text.
    """
    # The style sheet knows a cell with an id, which is a code.
    if cell.anchor:
        return f' id="{escape(cell.anchor)}"'
    if sortable and not (cell.sort is None or _says_order(cell)):
        return f' data-sort="{escape(cell.sort)}"'
    return ""


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


def _ended(cell: str) -> str:
    """End a cell that says nothing, or the end of its line would be in it.

    The style sheet leaves out of a stacked row what is empty.
    """
    return f"{cell}</td>" if cell.find(">") == len(cell) - 1 else cell


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
        yield f"<th>{escape(column.heading)}"
    yield "\n"


def _total(table: PrintedTable, root: str) -> Iterator[str]:
    label, span = table.total[0], table.label_span
    yield f'<tfoot><tr><th scope="row" colspan="{span}">{escape(label.text)}'
    for cell in table.total[span:]:
        yield f"<td{_ended(f'>{_said(cell, root)}')}"
    yield "\n"


class _Known(dict[Any, str]):
    """Cells as they are written, by their values: a site says the same words often.

    Of each what follows its ``<td``. Values that are equal are written alike.
    """

    def __init__(self, unit: Unit, nothing: str, root: str, sortable: bool) -> None:
        super().__init__()
        self._column = Column(key="", heading="", unit=unit, nothing=nothing)
        self._root = root
        self._sortable = sortable

    def __missing__(self, value: Any) -> str:
        cell = printed(value, self._column)
        text = _cell(cell, self._root, self._sortable)
        # An anchor stands once, and so does a long list.
        if not cell.anchor and not (isinstance(value, tuple) and len(value) > MOST_LISTED):
            if len(self) >= MOST_KNOWN:
                self.clear()
            self[value] = text
        return text


MOST_KNOWN = 10_000  # of a kind
MOST_LISTED = 12  # things in a list whose text is known
_known = cache(_Known)


def _cell(cell: PrintedCell, root: str, sortable: bool) -> str:
    return f"{_marks(cell, sortable)}>{_said(cell, root)}"


def _cells(own: PrintedColumn, root: str, sortable: bool) -> list[str]:
    """Write the cells of a column, of each what follows its ``<td``."""
    column = own.column
    if column.unit in WORDS or column.unit in WHOLE:
        known = _known(column.unit, column.nothing, root, sortable)
        return [known[value] for value in own.rounded]
    return [_cell(cell, root, sortable) for cell in own.cells]


def _rows(columns: Sequence[Sequence[str]]) -> Iterator[str]:
    yield "<tbody>\n"
    for row in zip(*columns, strict=True):
        yield f"<tr><th{'<td'.join(row)}\n"


def _grouped_rows(columns: Sequence[Sequence[str]]) -> Iterator[str]:
    first, *others = columns
    rows = zip(first, zip(*others, strict=True) if others else ((),) * len(first), strict=True)
    for named, group in groupby(rows, key=itemgetter(0)):
        own = ["".join([f"<td{cell}" for cell in cells]) for _, cells in group]
        _, _, said = named.partition(">")
        opens = f'<th scope="rowgroup" rowspan="{len(own)}">{said}'
        yield "<tbody>\n"
        yield f"<tr>{opens}" + "\n<tr>".join(own) + "\n"


MOST_STACKED = 16
"""Columns of a stacked table: for so many the style sheet can write the headings."""
_UNSAFE_IN_CSS = re.compile(r"""[\\'"&<>\x00-\x1f\x7f]""")


def css_string(text: str) -> str:
    """Write a text as a string of CSS, in single quotes, which an attribute of HTML may hold."""
    return "'" + _UNSAFE_IN_CSS.sub(lambda match: f"\\{ord(match[0]):x} ", text) + "'"


def _stacks(table: PrintedTable) -> bool:
    """Tell whether a telephone shows the rows one under the other, a line for each value.

    Figures are compared along their column, so they stay beside each other, with the first column
    in sight. Words are read along their row: where a table has several columns of them, their
    row is set as a paragraph.
    """
    words = sum(not column.is_number for column in table.columns[1:])
    return words >= 2 and 4 <= len(table.columns) <= MOST_STACKED


@lru_cache(maxsize=1_000)
def _headings(columns: tuple[Column, ...]) -> tuple[str, ...]:
    """Write the headings of a stacked table, counted from its last column, for the style sheet."""
    said = (f"{own.head}, {own.heading}" if own.head else own.heading for own in columns)
    places = range(len(columns), 0, -1)
    return tuple(f"--h{place}:{css_string(text)}" for place, text in zip(places, said, strict=True))


SHORT = 18
"""Characters: of what is never longer, several share a line of a stacked row."""


def _stacked(columns: tuple[Column, ...], *written: Sequence[Sequence[str]]) -> str:
    """Write how tables of one kind are stacked: headings, and which of their columns are short.

    Figures, codes and days, which the style sheet knows, always are. What heads a row has its
    heading beside it where it is short: a name says by itself what it is.
    """
    short = [
        all(len(cell) - cell.find(">") <= SHORT for own in every for cell in own)
        for every in zip(*written, strict=True)
    ]
    wide = len(columns)
    headings = _headings(columns)[0 if short[0] else 1 :]
    narrow = (
        f"--w{wide - at}:0px" for at in range(1, wide) if short[at] and not _LOOKS[columns[at].unit]
    )
    return f' style="{";".join((*headings, *narrow))}"'


@lru_cache(maxsize=1_000)
def _looks(columns: tuple[Column, ...]) -> tuple[str, ...]:
    """Return the classes of a table that say how its columns look, counted from the last."""
    looks = (_LOOKS[column.unit] for column in reversed(columns))
    return tuple(f"{look}{place}" for place, look in enumerate(looks, 1) if look)


class _Written:
    """A table whose cells are written."""

    def __init__(self, values: Table, root: str, sortable: bool) -> None:
        self._root = root
        self._sortable = sortable and not values.grouped
        self.shown = values.printed()
        self.stacks = _stacks(self.shown)
        own = [_cells(column, root, self._sortable) for column in self.shown.printed_columns]
        if len(own) > 1:
            own[-1] = list(map(_ended, own[-1]))
        self.cells = own

    def whole(self, stacked: str) -> Markup:
        """Write all of it. stacked: how it is stacked, where nothing around it says so."""
        shown, caption = self.shown, escape(self.shown.caption)
        kinds = (*["sortable"] * self._sortable, *["stacks"] * self.stacks, *_looks(shown.columns))
        looks = f' class="{" ".join(kinds)}"' if kinds else ""
        pieces = [
            f'<div class="wrap" tabindex="0" role="region" aria-label="{caption}">'
            f'<table{looks}{stacked}><caption class="unseen">{caption}</caption>\n<thead>\n',
            *_heads(shown),
            *(_grouped_rows(self.cells) if shown.grouped else _rows(self.cells)),
            *(_total(shown, self._root) if shown.total else ()),
            "</table></div>",
        ]
        return Markup("".join(map(str, pieces)))


def table(values: Table, root: str, sortable: bool = True) -> Markup:
    """Write a table of values.

    sortable: a click on a heading sorts it, unless rows are grouped.
    """
    written = _Written(values, root, sortable)
    return written.whole(_stacked(written.shown.columns, written.cells) if written.stacks else "")


def folded_tables(parts: Sequence[tuple[str, str, Table]], root: str) -> Markup:
    """Write tables of the same columns, each folded under its name and its number of rows.

    How they are stacked is said once for all. A table without a name stands as it is.
    """
    written = [_Written(part, root, sortable=True) for _, _, part in parts]
    if not written:
        return Markup("")
    stacked = ""
    if written[0].stacks:
        stacked = _stacked(written[0].shown.columns, *(own.cells for own in written))
    tables = [
        Markup("<details><summary><bdi>{}</bdi> <small>{}</small></summary>{}</details>").format(
            name, count, own.whole("")
        )
        if name
        else own.whole("")
        for (name, count, _), own in zip(parts, written, strict=True)
    ]
    return Markup("<div{}>\n{}\n</div>").format(Markup(stacked), Markup("\n").join(tables))


_PATTERNS = re.compile(r'<svg class="patterns".*?</svg>\n?', re.DOTALL)
# That whose units all have begins otherwise, and stays.
_PATTERN = re.compile(r'<pattern id="(\w+)".*?</pattern>\n', re.DOTALL)


def with_patterns_asked_for(page: str) -> str:
    """Return a page with those patterns alone that something on it is filled with."""
    asked = set(re.findall(r"url\(#(\w+)\)", page))

    def left(every: re.Match[str]) -> str:
        if asked.isdisjoint(_PATTERN.findall(every[0])):
            return ""
        return _PATTERN.sub(lambda one: one[0] if one[1] in asked else "", every[0])

    return _PATTERNS.sub(left, page, count=1)
