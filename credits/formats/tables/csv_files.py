"""Text files as rows of cells: encoding, separator and quotes as people and programs write them."""

from __future__ import annotations

import csv
import io
import re
import stat
from collections.abc import Collection, Iterable
from contextlib import suppress
from itertools import islice
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell
from credits.formats.tables.limits import LARGEST_CELL, LARGEST_FILE
from credits.text import fold_code, stripped

TITLE_ROWS = 15
"""The header of a sheet is one of this many rows: titles may stand above it."""

LOOKED_THROUGH = 5_000
"""Rows that are looked through for the first ones that are not blank."""

SEPARATORS = (",", ";", "\t")
_SAVE_AS_UTF8 = "Save the file again as CSV UTF-8."
_BETWEEN_WORDS = re.compile(r"[\s-]+")
_SEPARATOR_LINE = re.compile(r'"*sep=([^"\r\n])"*(?:\r\n|\r|\n|\Z)', re.IGNORECASE)
_BOMS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


def require_readable(path: Path, file: str | None = None) -> None:
    """Raise ProblemsFound, under the name ``file``, for what is no file, and for one too large."""
    place = Place(file or path.name)
    try:
        about = path.stat()
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", place)) from None
    if not stat.S_ISREG(about.st_mode):  # a pipe or a device may never end
        what = "is no ordinary file, so it is not read"
        raise ProblemsFound(Finding(what, "Save it as a file first.", place))
    if about.st_size > LARGEST_FILE:
        what = f"has more than {LARGEST_FILE // 1_000_000} MB"
        raise ProblemsFound(Finding(what, "Load it in several files.", place))


def file_bytes(path: Path, file: str | None = None) -> bytes:
    """Read a file. Raises ProblemsFound, under the name ``file``, when it cannot be read."""
    require_readable(path, file)
    try:
        return path.read_bytes()
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", Place(file or path.name))) from None


def plain_header(cell: Cell) -> str:
    """Return a column's name in its plain form: credit_name for ``Credit Name``."""
    return _BETWEEN_WORDS.sub("_", fold_code(stripped(str(cell))))


def read_csv(data: bytes, file: str, known: Collection[str]) -> list[tuple[Cell, ...]]:
    """Read all records of a CSV file, cells stripped; a blank line is an empty record.

    The separator (comma, semicolon or tab, or what a leading ``sep=`` line says) is the one under
    which a row of the beginning holds the most ``known`` column names. Raises ProblemsFound.
    """
    text = _decoded(data, file)
    if "\0" in text:
        row = _row_at(text[: text.index("\0")])
        what = "holds a NUL character, so it is not a text file"
        raise ProblemsFound(Finding(what, _SAVE_AS_UTF8, Place(file, row)))
    separator, text = _said_separator(text)
    return _records(text, separator or _separator_of(text, known), file)


def _decoded(data: bytes, file: str) -> str:
    bom, encoding = next((known for known in _BOMS if data.startswith(known[0])), (b"", "utf-8"))
    data = data.removeprefix(bom)
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        before = data[: error.start].decode(encoding, errors="replace")
        what = f"is not {'UTF-16' if '16' in encoding else 'UTF-8'} text"
        value = None
        if encoding == "utf-8":
            what += f" (byte {data[error.start]:#04x})"
            value = stripped(before.splitlines()[-1][-30:] + "\ufffd") if before else None
        place = Place(file, _row_at(before))
        raise ProblemsFound(Finding(what, _SAVE_AS_UTF8, place, value=value)) from None


def _row_at(before: str) -> int:
    """The row that a text has come to: records, or lines where it cannot be read as records."""
    lines = _said_separator(before)[1].replace("\r\n", "\n").replace("\r", "\n")
    outside_quotes = lines.split('"')[::2]
    return 1 + sum(piece.count("\n") for piece in outside_quotes)


def _said_separator(text: str) -> tuple[str | None, str]:
    """The separator that a leading ``sep=;`` line names, and the text after that line."""
    match = _SEPARATOR_LINE.match(text)
    return (match[1], text[match.end() :]) if match else (None, text)


def _lines(text: str) -> Iterable[str]:
    """Return the lines with their ends as they are; in a StringIO a text takes four times as much
    room."""
    return io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8", newline="")


def _separator_of(text: str, known: Collection[str]) -> str:
    def score(separator: str) -> tuple[int, int]:
        reader = csv.reader(_lines(text), delimiter=separator)
        with suppress(csv.Error, ValueError):
            begin = islice(reader, LOOKED_THROUGH)
            rows = islice((row for row in begin if any(map(stripped, row))), TITLE_ROWS)
            return max((sum(plain_header(cell) in known for cell in row), len(row)) for row in rows)
        return 0, 0

    return max(SEPARATORS, key=score)


class _Stripped(dict[str, str]):
    """Texts without white space around them: each that is different is looked at once, and kept
    once."""

    def __missing__(self, text: str) -> str:
        cell = self[text] = stripped(text)
        return cell


def _records(text: str, separator: str, file: str) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = []
    reader = csv.reader(_lines(text), delimiter=separator, strict=True)
    cell_of = _Stripped().__getitem__
    try:
        for row in reader:
            rows.append(tuple(map(cell_of, row)))
    except csv.Error as error:
        what = "a quotation mark stands inside a quoted cell"
        hint = "Write it twice, and close the cell with one before the separator."
        if "limit" in str(error):
            what = f"a cell holds more than {LARGEST_CELL} characters"
            hint = "A quotation mark opened in this row is perhaps never closed."
        elif "unexpected end" in str(error):
            what = "a quotation mark opened in this row is never closed"
            hint = "Close it, or write it twice."
        raise ProblemsFound(Finding(what, hint, Place(file, len(rows) + 1))) from None
    return rows
