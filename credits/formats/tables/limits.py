"""How much of a file of tables is read."""

from __future__ import annotations

LARGEST_CELL = 131_072
LARGEST_FILE = 200_000_000

MOST_ROWS, MOST_COLUMNS = 1_048_576, 200
MOST_CELLS = 10_000_000
"""A sheet is held as a rectangle, empty cells and all."""
ALWAYS_HELD, LEAST_FILLED = 1_000_000, 20
"""A rectangle of more cells than that is held where one of so many is written in the file."""
MOST_LETTERS = LARGEST_FILE
"""Of all cells together: a text that stands once in the file may be that of many cells."""
