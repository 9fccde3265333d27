"""Everything that is printed goes through here: text, tables, JSON, problems.

Answers go to standard output, everything else to standard error. What people typed into the log is
data: control characters never reach a terminal, and nothing is read as markup.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import sys
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
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


class UnprintedError(Exception):
    """Standard output does not take the answer: it is closed, or on a full disk."""


@dataclass(slots=True)
class Manner:
    """How this command prints.

    quiet: nothing beside the answer and what is wrong. has_json: an answer in JSON was given.
    before_printing: called before anything goes to a terminal, by what has drawn a line on it.
    names: finds what runs from right to left and is kept apart in sentences (``isolate``).
    """

    quiet: bool = False
    has_json: bool = False
    before_printing: Callable[[], None] | None = None
    names: re.Pattern[str] | None = None

    def begin(self) -> None:
        """Print as every command does at first."""
        self.quiet = self.has_json = False
        self.before_printing = self.names = None


manner = Manner()


def clean(text: object) -> str:
    """Return a text as it may be shown on one line, without control and direction signs."""
    shown = str(text)
    return shown if shown.isprintable() else shown.translate(_SHOWN_AS)


# What runs from right to left (UAX #9, kinds R, AL and AN), with the marks on it; a name of several
# such words, or of one with a dash or an apostrophe in it, is one piece.
_TO_LEFT = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefe\U00010800-\U00010fff\U0001e800-\U0001efff"
_RUNS_TO_LEFT = re.compile(f"[{_TO_LEFT}](?:(?: |[-'’\".])?[{_TO_LEFT}])*")
# What is typed again as it stands: a command to the end of its line, and what is in backticks.
_TYPED = re.compile(r"`[^`]*`|(?:(?<=: )|(?<=-> )|^\s*)credits [a-z].*")
FIRST_STRONG_ISOLATE, POP_ISOLATE = "\u2068", "\u2069"


def isolate(names: Iterable[str] = ()) -> None:
    """Keep what runs from right to left apart in the sentences of this command.

    Such a name does not turn the figures and signs around it then. names: those that may run both
    ways, which are one piece; what runs to the left throughout is found without being named. Tables
    and JSON, which machines read too, stay as they are.
    """
    cleaned = {clean(name) for name in names if not name.isascii()}
    known = [name for name in cleaned if _RUNS_TO_LEFT.search(name)]
    known.sort(key=lambda name: (-len(name), name))
    pieces = [*map(re.escape, known), _RUNS_TO_LEFT.pattern]
    manner.names = re.compile("|".join(pieces))


def _apart(text: str) -> str:
    """Return a cleaned text with its names isolated, where this command does so (``isolate``).

    A name stands between two signs of direction (UAX #9), which nobody sees. What is typed again,
    such as a command, has none: whoever copies it would copy them.
    """
    names = manner.names
    if names is None or text.isascii():
        return text
    parts, at = [], 0
    for typed in _TYPED.finditer(text):
        parts += [names.sub(_isolated, text[at : typed.start()]), typed[0]]
        at = typed.end()
    return "".join([*parts, names.sub(_isolated, text[at:])])


def _isolated(name: re.Match[str]) -> str:
    return f"{FIRST_STRONG_ISOLATE}{name[0]}{POP_ISOLATE}"


def is_terminal(stream: IO[str]) -> bool:
    """Whether a person is looking at the stream."""
    try:
        return stream.isatty()
    except ValueError:  # the stream is closed
        return False


def _write(stream: IO[AnyStr], text: AnyStr) -> None:
    if manner.before_printing is not None:
        manner.before_printing()
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        raise ReaderGone from None
    except UnicodeError:
        raise
    except (OSError, ValueError) as error:  # ValueError: the stream is closed
        if stream is sys.stderr:
            return  # there is nobody left to tell
        reason = error.strerror if isinstance(error, OSError) else None
        raise UnprintedError(reason or "standard output is closed") from None


def columns() -> int:
    """Return how many columns the terminal has."""
    return shutil.get_terminal_size().columns


def can_move(stream: IO[str]) -> bool:
    """Whether the stream is a terminal that knows more than to print line after line."""
    return is_terminal(stream) and os.environ.get("TERM", "dumb") != "dumb"


# What is copied as a whole: a command up to the end of its sentence, and what stands in backticks.
_COPIED = re.compile(r"`[^`]*`\S*|(?:(?<=: )|^)credits [a-z](?:[^.;]|[.;](?! |$))*[.;]?|\S+")
SET_IN = "  "


def wrapped(text: str, width: int) -> list[str]:
    """Break a line at words so that it fits, the rest set in; commands stay in one piece.

    A piece that is longer than a line stands on a line of its own, for the terminal to break:
    what is copied from it is then whole.
    """
    lead = text[: len(text) - len(text.lstrip())]
    lines, line = [], ""
    for piece in _COPIED.findall(text):
        if line and cells(line) + 1 + cells(piece) > width:
            lines.append(line)
            line = f"{lead}{SET_IN}{piece}"
        else:
            line = f"{line} {piece}" if line else lead + piece
    return [*lines, line]


def _lines_for(stream: IO[str], text: str) -> str:
    shown = clean(text)
    lines = [shown]
    if is_terminal(stream) and cells(shown) > columns():
        lines = wrapped(shown, columns())
    return "".join(f"{_apart(line)}\n" for line in lines)


def shortened(text: str, width: int) -> str:
    """Return the text cut to some columns of a terminal."""
    if cells(text) <= width:
        return text
    while text and cells(text) >= width:
        text = text[:-1]
    return f"{text}…" if width else ""


def say_wrapped(text: str) -> None:
    """Print a sentence of the answer; on a terminal broken at words."""
    _write(sys.stdout, _lines_for(sys.stdout, text))


def say(text: str = "") -> None:
    """Print one line of the answer, cleaned, on standard output."""
    _write(sys.stdout, _apart(clean(text)) + "\n")


def remark(text: str) -> None:
    """Print what stands beside the answer, on standard error; nothing with ``--quiet``."""
    if not manner.quiet:
        warn(text)


def warn(text: str) -> None:
    """Print on standard error what must be read: what is wrong, what was not done, a caution."""
    _write(sys.stderr, _lines_for(sys.stderr, text))


def say_text(text: str) -> None:
    """Print a text of several lines of the answer, each cleaned."""
    for line in text.splitlines():
        say(line)


def say_dry_run(dry_run: bool) -> None:
    """Say that nothing was written where that was asked for."""
    if dry_run:
        warn("Nothing was written: this was a dry run.")


def heading(text: str) -> None:
    """Print a line above a part of the answer: bold on a terminal."""
    shown = _apart(clean(text))
    if can_move(sys.stdout) and "NO_COLOR" not in os.environ:
        shown = f"\033[1m{shown}\033[0m"
    _write(sys.stdout, shown + "\n")


def say_json(value: object) -> None:
    """Print the value as JSON, alone on standard output, in characters that it can write."""
    plain = (sys.stdout.encoding or "ascii").lower().replace("-", "") not in ("utf8", "utf16")
    _write(sys.stdout, json.dumps(value, ensure_ascii=plain, indent=2) + "\n")
    manner.has_json = True


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
        warn(nothing)


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
            _write(sys.stdout, _fitted([*texts[:-1], line[-1]], texts[-1]))


LEAST_COLUMNS = 20
"""How narrow the last column of a table may be set, so that the others fit."""


def _fitted(texts: Sequence[str], last: str) -> str:
    """Return a row of a table on a terminal; a last cell too long for it goes on below itself.

    last: the last cell as it is aligned.
    """
    *others, text = texts
    before = "".join(f"{each}  " for each in others)
    room = columns() - cells(before)
    whole = (before + last).rstrip()
    if cells(whole) <= columns() or room < LEAST_COLUMNS or " " not in text.strip():
        return whole + "\n"
    first, *rest = wrapped(text, room)
    return "".join(
        f"{each}\n" for each in (before + first, *(" " * cells(before) + r for r in rest))
    )


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
    return sum(widths) + 2 * (len(widths) - 1) <= columns()


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
        warn(str(finding))
    if len(shown) < len(findings):
        warn(f"… and {len(findings) - len(shown)} more.")


def say_problems_json(findings: Sequence[Finding]) -> None:
    """Print what is wrong as JSON on standard output, where the command has not answered yet."""
    if not manner.has_json:
        say_json({"problems": list(map(finding_json, findings))})


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
