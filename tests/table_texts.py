"""What a table says, in the texts that a page prints."""

from __future__ import annotations

from typing import Any

from credits.site.folded import Folded
from credits.site.links import Link
from credits.units.table import PrintedCell, Table


def text_of(cell: PrintedCell) -> Any:
    """Return the text of a cell; of a link its name, of several links their names in a list."""
    if isinstance(cell.text, Link):
        return cell.text.text
    if isinstance(cell.text, tuple):
        return [link.text for link in cell.text]
    return cell.text


def unfolded(table: Table | Folded | None) -> Table:
    """Return a table that may be folded where it is long, and is short."""
    if isinstance(table, Folded):
        ((_, _, table),) = table.parts
    assert table is not None
    return table


def rows_of(values: Table | Folded | None, *keys: str) -> list[Any]:
    """Return the rows of a table, or of some of its columns; of one column its texts alone."""
    table = unfolded(values)
    shown = table.printed()
    names = [column.key for column in shown.columns]
    places = [names.index(key) for key in keys] if keys else list(range(len(names)))
    rows = [tuple(text_of(row[place]) for place in places) for row in shown.rows]
    return [row[0] for row in rows] if len(places) == 1 else rows


def total_of(values: Table | Folded | None) -> list[str]:
    """Return the texts of the total under the columns after the first."""
    return [text_of(cell) for cell in unfolded(values).printed().total[1:]]
