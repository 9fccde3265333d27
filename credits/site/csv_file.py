"""A table of a page as the CSV beside it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from credits.text import guarded
from credits.units.table import PLAIN_FIGURES, PrintedCell, Table


def _value(cell: PrintedCell) -> object:
    """Return a figure as a figure, names in a row, everything else as the text that it is."""
    if cell.unit in PLAIN_FIGURES and cell.text:
        text = str(cell.text).replace(",", "")
        return float(text) if "." in text else int(text) if text.lstrip("-").isdigit() else text
    names: Iterable[object] = cell.text if isinstance(cell.text, tuple) else (cell.text,)
    return guarded(", ".join(str(name) for name in names))


def table_csv(table: Table) -> bytes:
    """Return a table, which holds only what its edition sees, as CSV with a byte-order mark."""
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(column.key for column in table.columns)
    for row in table.printed().rows:
        writer.writerow(map(_value, row))
    # The byte-order mark is for spreadsheets.
    return text.getvalue().encode("utf-8-sig", "replace")
