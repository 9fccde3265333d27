"""How a text stands in a cell of a CSV file, so that a spreadsheet never runs it."""

from __future__ import annotations

# What a spreadsheet may take for the beginning of a formula, the full-width forms included.
FORMULA_SIGNS = frozenset("=+-@\t\r\n＝＋－＠")


def guarded(text: str) -> str:
    """The text of a cell, with an apostrophe before what a spreadsheet would run as a formula."""
    return f"'{text}" if text.lstrip(" ")[:1] in FORMULA_SIGNS and text.strip(" ") else text
