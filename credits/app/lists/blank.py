"""Blank tables beside a new production: CSV files with an explanation, or one workbook."""

from __future__ import annotations

import os
from pathlib import Path

from credits.files import write_whole
from credits.formats.tables.blank import BLANK, blank_csv, blank_workbook, explanations

TABLES = "tables"
EXPLAINED = "TABLES.txt"


def write_blank_tables(folder: Path, workbook: bool = False) -> Path:
    """Write blank tables into a production's folder; return the folder or workbook of them.

    What is there already stays as it is.
    """
    if workbook:
        path = folder / f"{TABLES}.xlsx"
        _write_new(path, blank_workbook())
        return path
    tables = folder / TABLES
    tables.mkdir(exist_ok=True)
    for name, table in BLANK.items():
        _write_new(tables / f"{name}.csv", blank_csv(table))
    _write_new(folder / EXPLAINED, explanations().encode())
    return tables


def _write_new(path: Path, content: bytes) -> None:
    if not os.path.lexists(path):
        write_whole(path, content)
