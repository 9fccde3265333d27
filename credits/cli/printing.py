"""Everything that is printed goes through here: text, tables, JSON, problems.

Answers go to standard output, everything else to standard error. What people typed into the log is
data: control characters never reach a terminal, and nothing is read as markup.
"""

from __future__ import annotations

import json
import os
import sys
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from itertools import groupby
from typing import IO, TYPE_CHECKING, Any

from rich.cells import cell_len

from credits.errors import Finding

if TYPE_CHECKING:  # most commands print no table of values
    from credits.units.table import PrintedCell, Table

SHOWN_PROBLEMS = 50
READER_LEFT = 141  # 128 + SIGPIPE: what a shell expects of a program whose reader has gone

_NOT_SHOWN = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")


class ReaderGone(Exception):
    """Whoever read our output has stopped reading, as ``head`` does."""


def clean(text: object) -> str:
    """Return a text as it may be shown on one line, without control and direction signs."""
    shown = str(text)
    if shown.isascii() and shown.isprintable():
        return shown
    out = []
    for sign in shown:
        kind = unicodedata.category(sign)
        if sign in "\n\r\t" or kind in ("Zl", "Zp"):
            out.append(" ")
        elif kind in ("Cc", "Cs"):
            out.append("\N{REPLACEMENT CHARACTER}")
        elif sign not in _NOT_SHOWN:
            out.append(sign)
    return "".join(out)


def is_terminal(stream: IO[str]) -> bool:
    """Whether a person is looking at the stream."""
    try:
        return stream.isatty()
    except ValueError:  # the stream is closed
        return False


def _write(stream: IO[str], text: str) -> None:
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        raise ReaderGone from None


def say(text: str = "") -> None:
    """Print one line of the answer, cleaned, on standard output."""
    _write(sys.stdout, clean(text) + "\n")


def remark(text: str) -> None:
    """Print one line beside the answer, on standard error."""
    _write(sys.stderr, clean(text) + "\n")


def heading(text: str) -> None:
    """Print a line above a part of the answer: bold on a terminal."""
    shown = clean(text)
    bold = is_terminal(sys.stdout) and "NO_COLOR" not in os.environ
    if bold and os.environ.get("TERM", "dumb") != "dumb":
        shown = f"\033[1m{shown}\033[0m"
    _write(sys.stdout, shown + "\n")


def say_json(value: object) -> None:
    """Print the value as JSON, alone on standard output, in characters that it can write."""
    plain = (sys.stdout.encoding or "ascii").lower().replace("-", "") not in ("utf8", "utf16")
    _write(sys.stdout, json.dumps(value, ensure_ascii=plain, indent=2) + "\n")


def answer(as_json: bool, shape: object, *lines: str) -> None:
    """Print an answer in JSON where it is asked for, else its lines."""
    if as_json:
        say_json(shape)
    else:
        for line in lines:
            say(line)


def fields_json(fact: object, fields: str) -> dict[str, object]:
    """Return some fields of a fact as JSON: what JSON has no way to write becomes its text."""
    return {field: _plain(getattr(fact, field)) for field in fields.split()}


def _plain(value: Any) -> object:
    if value is None or isinstance(value, (bool, int)):
        return value
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if type(value) is tuple:  # the number of an entry is one too, and has a text of its own
        return list(map(_plain, value))
    return str(value)


def say_document(text: str) -> None:
    """Print a document alone on standard output, in UTF-8; on a terminal cleaned."""
    if is_terminal(sys.stdout):
        _write(sys.stdout, "".join(f"{clean(line)}\n" for line in text.splitlines()))
        return
    sys.stdout.flush()
    try:
        sys.stdout.buffer.write(text.encode("utf-8", "backslashreplace"))
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise ReaderGone from None


def cells(text: str) -> int:
    """Count the columns of a terminal that the text takes; East Asian wide characters take two."""
    return len(text) if text.isascii() else cell_len(text)


def table(
    headings: Sequence[str],
    rows: Iterable[Sequence[object]],
    numbers: int = 0,
    right: Collection[int] = (),
    in_parts: bool = False,
) -> None:
    """Print a table: aligned columns on a terminal, else lines of fields parted by tabs.

    numbers: how many columns at the right hold figures, which stand at the right of theirs.
    right: the places of further such columns.
    in_parts: on a terminal the first column becomes a heading above its rows, which stand together.
    """
    lines = [[clean("" if cell is None else cell) for cell in row] for row in rows]
    if not is_terminal(sys.stdout):
        _write(sys.stdout, "".join("\t".join(line) + "\n" for line in [list(headings), *lines]))
        return
    first_number = len(headings) - numbers
    widths = [max(map(cells, column)) for column in zip(headings, *lines, strict=True)]

    def aligned(line: Sequence[str]) -> list[str]:
        padded = []
        for column, (cell, width) in enumerate(zip(line, widths, strict=True)):
            space = " " * (width - cells(cell))
            is_right = column >= first_number or column in right
            padded.append(space + cell if is_right else cell + space)
        return padded

    if not in_parts:
        heading("  ".join(aligned(headings)).rstrip())
    for title, group in groupby(lines, key=lambda line: line[0] if in_parts else ""):
        if in_parts:
            heading(title)
        for line in group:
            texts = ["", *aligned(line)[1:]] if in_parts else aligned(line)
            _write(sys.stdout, "  ".join(texts).rstrip() + "\n")


def say_table(
    shown: Table, caption: bool = False, separators: bool = True, in_parts: bool = False
) -> None:
    """Print a table of values under its caption; days as in files, headings in small letters.

    separators: whether thousands are parted by commas. in_parts: as in ``table``.
    """
    done = shown.printed()
    if caption:
        say()
        heading(done.caption)
    rows = [
        [_cell_text(cell, separators) for cell in row] for row in (*done.rows, done.total) if row
    ]
    places = [place for place, column in enumerate(done.columns) if column.is_number]
    headings = [column.heading for column in done.columns]
    table(headings, rows, right=places, in_parts=in_parts)


def _cell_text(cell: PrintedCell, separators: bool) -> object:
    if cell.is_number and not separators:
        return cell.text.replace(",", "")
    if cell.is_day:
        return cell.sort or cell.text
    return ", ".join(map(str, cell.text)) if isinstance(cell.text, tuple) else cell.text


def problems(findings: Sequence[Finding], most: int = SHOWN_PROBLEMS) -> None:
    """Print the findings, one a line, on standard error; on a terminal the first of them."""
    shown = findings[:most] if is_terminal(sys.stderr) else findings
    for finding in shown:
        remark(str(finding))
    if len(shown) < len(findings):
        remark(f"… and {len(findings) - len(shown)} more.")


def lines(texts: Sequence[str], most: int = SHOWN_PROBLEMS) -> None:
    """Print lines of the answer; on a terminal the first of them."""
    shown = texts[:most] if is_terminal(sys.stdout) else texts
    for text in shown:
        say(text)
    if len(shown) < len(texts):
        say(f"… and {len(texts) - len(shown)} more.")


def finding_json(finding: Finding) -> dict[str, object]:
    """Return a finding as JSON: its parts, and the message that they make."""
    place = finding.place
    return {
        "file": place.file if place else None,
        "row": place.row if place else None,
        **fields_json(finding, "column value what hint"),
        "mend": finding.hint,
        "message": str(finding),
    }
