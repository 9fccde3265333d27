"""Everything that is printed goes through here: text, tables, JSON, problems.

Answers go to standard output, everything else to standard error. What people typed into the log is
data: control characters never reach a terminal, and nothing is read as markup.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from itertools import groupby
from operator import attrgetter
from typing import IO, TYPE_CHECKING, Any, AnyStr

from rich.cells import cell_len

from credits.errors import Finding

if TYPE_CHECKING:  # most commands print no table of values
    from credits.units.table import PrintedCell, Table

SHOWN_PROBLEMS = 50
READER_LEFT = 141  # 128 + SIGPIPE: what a shell expects of a program whose reader has gone

# Signs by number, as they may be shown on one line: control signs and halves of signs as a mark,
# what begins a line as a space, what changes the direction of writing not at all.
_SHOWN_AS: dict[int, str | None] = {
    **dict.fromkeys([*range(0x20), *range(0x7F, 0xA0), *range(0xD800, 0xE000)], "\ufffd"),
    **dict.fromkeys(map(ord, "\n\r\t\u2028\u2029"), " "),
    **dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x61C]),
}


class ReaderGone(Exception):
    """Whoever read our output has stopped reading, as ``head`` does."""


def clean(text: object) -> str:
    """Return a text as it may be shown on one line, without control and direction signs."""
    shown = str(text)
    return shown if shown.isprintable() else shown.translate(_SHOWN_AS)


def is_terminal(stream: IO[str]) -> bool:
    """Whether a person is looking at the stream."""
    try:
        return stream.isatty()
    except ValueError:  # the stream is closed
        return False


def _write(stream: IO[AnyStr], text: AnyStr) -> None:
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


def say_dry_run(dry_run: bool) -> None:
    """Say that nothing was written where that was asked for."""
    if dry_run:
        remark("Nothing was written: this was a dry run.")


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
    """Return some fields of a fact as JSON: what JSON has no way to write becomes its text.

    fields: their names, parted by blanks; ``key=field`` under another one; a field may be one of a
    field: ``threshold.least``.
    """
    named = (each.rpartition("=") for each in fields.split())
    return {key or field: _plain(attrgetter(field)(fact)) for key, _, field in named}


def _plain(value: Any) -> object:
    if value is None or isinstance(value, (bool, int)):
        return value
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, Finding):
        return finding_json(value)
    if type(value) is tuple:  # the number of an entry is one too, and has a text of its own
        return list(map(_plain, value))
    return str(value)


def say_rows(
    as_json: bool,
    shape: object,
    headings: Sequence[str],
    rows: Collection[Sequence[object]],
    nothing: str,
    right: Collection[int] = (),
) -> None:
    """Print a list in JSON where it is asked for, else as a table, or that there is nothing."""
    if as_json:
        say_json(shape)
    elif rows:
        table(headings, rows, right)
    else:
        remark(nothing)


def say_document(text: str) -> None:
    """Print a document alone on standard output, in UTF-8; on a terminal cleaned."""
    if is_terminal(sys.stdout):
        _write(sys.stdout, "".join(f"{clean(line)}\n" for line in text.splitlines()))
    else:
        _write(sys.stdout.buffer, text.encode("utf-8", "backslashreplace"))


def cells(text: str) -> int:
    """Count the columns of a terminal that the text takes; East Asian wide characters take two."""
    return len(text) if text.isascii() else cell_len(text)


def table(
    headings: Sequence[str],
    rows: Iterable[Sequence[object]],
    right: Collection[int] = (),
    in_parts: bool = False,
) -> None:
    """Print a table: aligned columns on a terminal, else lines of fields parted by tabs.

    right: the places of columns that hold figures, which stand at the right of theirs.
    in_parts: on a terminal the first column becomes a heading above its rows, which stand together.
    """
    lines = [[clean("" if cell is None else cell) for cell in row] for row in rows]
    if not is_terminal(sys.stdout):
        _write(sys.stdout, "".join("\t".join(line) + "\n" for line in [list(headings), *lines]))
        return
    widths = [max(map(cells, column)) for column in zip(headings, *lines, strict=True)]

    def aligned(line: Sequence[str]) -> list[str]:
        spaces = [" " * (width - cells(cell)) for cell, width in zip(line, widths, strict=True)]
        padded = enumerate(zip(line, spaces, strict=True))
        return [space + cell if at in right else cell + space for at, (cell, space) in padded]

    if not in_parts:
        heading("  ".join(aligned(headings)).rstrip())
    for title, group in groupby(lines, key=lambda line: line[0] if in_parts else ""):
        if in_parts:
            heading(title)
        for line in group:
            texts = ["", *aligned(line)[1:]] if in_parts else aligned(line)
            _write(sys.stdout, "  ".join(texts).rstrip() + "\n")


def say_table(shown: Table, caption: bool = False, separators: bool = True) -> None:
    """Print a table of values under its caption; days as in files, headings in small letters.

    separators: whether thousands are parted by commas.
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
    table(headings, rows, right=places)


def fits(shown: Table) -> bool:
    """Tell whether a table is as wide as the terminal at most; in a file any is."""
    if not is_terminal(sys.stdout):
        return True
    done = shown.printed()
    lines = [[column.heading for column in done.columns]]
    lines += [[str(_cell_text(cell, True) or "") for cell in row] for row in done.rows]
    widths = [max(cells(clean(cell)) for cell in column) for column in zip(*lines, strict=True)]
    return sum(widths) + 2 * (len(widths) - 1) <= shutil.get_terminal_size().columns


def say_wrapped(text: str) -> None:
    """Print a line of the answer; on a terminal wrapped at words, the rest of it set in."""
    shown = clean(text)
    if not is_terminal(sys.stdout):
        say(shown)
        return
    lead = " " * (len(shown) - len(shown.lstrip()))
    width, line = shutil.get_terminal_size().columns, ""
    for word in shown.split():
        if line and cells(line) + 1 + cells(word) > width:
            say(line)
            line = f"{lead}  {word}"
        else:
            line = f"{line} {word}" if line else lead + word
    say(line)


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
        "cell": place.cell if place else None,
        "more_rows": list(place.also) if place else [],
        **fields_json(finding, "column value what hint mend=hint"),
        "message": str(finding),
    }
