"""Rows that the log refuses: which ones they are, and why, in words.

The database is the last guard: whoever plans a batch finds most problems before. So the words are
found afterwards, by writing a failed batch again, row by row; a good batch costs nothing.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from credits.errors import Finding, Place
from credits.store.engines.driver import Driver
from credits.store.reading import Values
from credits.store.schema.records import RECORDS, References
from credits.text import fold_code

Run = Callable[[Sequence[Any]], object]
"""Runs one statement for some rows."""

# What SQLite and its driver raise for values that cannot be stored.
NOT_STORABLE = (
    sqlite3.IntegrityError,
    sqlite3.InterfaceError,
    sqlite3.ProgrammingError,
    OverflowError,
    UnicodeEncodeError,
)

_REFUSALS = (
    ("rule", re.compile(r"CHECK constraint failed: (?:ck_)?(\w+)")),
    ("missing", re.compile(r"NOT NULL constraint failed: \w+\.(\w+)")),
    ("taken", re.compile(r"UNIQUE constraint failed: (.+)")),
    ("whole number", re.compile(r"cannot store \w+ value in INTEGER column \w+\.(\w+)")),
    ("text", re.compile(r"cannot store \w+ value in TEXT column \w+\.(\w+)")),
    ("code", re.compile(r"FOREIGN KEY constraint failed()")),
)


def refusal(error: Exception) -> tuple[str, str]:
    """Say why a row was refused: the kind of refusal, and what it names.

    ``rule``: the name of the rule; ``missing``, ``whole number``, ``text``: the column;
    ``taken``: the columns of the key; ``code``: nothing; ``large`` and ``letters``: nothing;
    ``other``: what the database said.
    """
    said = str(error)
    for kind, pattern in _REFUSALS:
        if match := pattern.search(said):
            return kind, match[1]
    if isinstance(error, OverflowError):
        return "large", ""
    return ("letters", "") if isinstance(error, UnicodeEncodeError) else ("other", said)


@contextmanager
def savepoint(driver: Driver) -> Iterator[None]:
    """Leave nothing of what is written inside where that fails, and all else as it was."""
    driver.execute("SAVEPOINT inside")
    try:
        yield
    except BaseException:
        # A full disk has ended the whole transaction already.
        if driver.in_transaction:
            driver.execute("ROLLBACK TO inside")
            driver.execute("RELEASE inside")
        raise
    driver.execute("RELEASE inside")


def failing(
    driver: Driver, run: Run, rows: Sequence[tuple[Any, Place]]
) -> Iterator[tuple[Any, Place, Exception]]:
    """Yield the rows that are refused, each with its place and the reason.

    Try the rows together, and where that fails by halves; the good ones stay written.
    """
    try:
        with savepoint(driver):
            run([row for row, _ in rows])
    except NOT_STORABLE as error:
        if len(rows) == 1:
            yield (*rows[0], error)
            return
        half = len(rows) // 2
        yield from failing(driver, run, rows[:half])
        yield from failing(driver, run, rows[half:])


def worded(
    driver: Driver, table: str, values: Values, place: Place, error: Exception
) -> Iterator[Finding]:
    """Yield what is wrong with a refused row, in words."""
    kind, named = refusal(error)
    unknown = list(_unknown_codes(driver, table, values, place))
    yield from unknown
    if kind == "code" or (unknown and "an_earlier_line" in named):
        return
    column, value = next(iter(values.items()))
    if table == "entries":
        column, value = "craft", values["craft"]
    if kind in ("missing", "whole number", "text"):
        column, value = named, values[named]
    elif kind == "large":
        large = ((c, v) for c, v in values.items() if isinstance(v, int) and abs(v) >= 2**63)
        column, value = next(large)
    rule = named.removeprefix(f"{table}_").replace("_", " ")
    what, hint = {
        "rule": (f"the log holds only rows of which this is true: {rule}", ""),
        "missing": ("is missing", "Give it a value."),
        "taken": (f"is there already ({named})", ""),
        "whole number": ("cannot be kept", "Give a whole number."),
        "text": ("cannot be kept", "Give a text."),
        "large": ("is too large a number", "Give a smaller one."),
        "letters": (
            "cannot be kept as UTF-8",
            "Write the text anew: it holds half of a character.",
        ),
    }.get(kind, (named, ""))
    yield Finding(what, hint, place, column, None if value is None else str(value))


def _unknown_codes(driver: Driver, table: str, values: Values, place: Place) -> Iterator[Finding]:
    origin, number = values.get("corrects_origin"), values.get("corrects_number")
    if number is not None:
        corrected = "SELECT 1 FROM entries WHERE origin = ? AND number = ?"
        if driver.execute(corrected, (origin, number)).fetchone() is None:
            hint = "Name a line that is in the log."
            said = f"{origin}-{number}"
            yield Finding(
                "corrects a line that the log does not have", hint, place, "corrects", said
            )
    for column in reversed([*RECORDS[table].columns.values()]):
        value = values.get(column.name)
        for named in column.said:
            if value is None or not isinstance(named, References):
                continue
            parent, _, target = named.to.partition(".")
            found = f"SELECT 1 FROM {parent} WHERE {target} = ?"
            if driver.execute(found, (value,)).fetchone() is not None:
                continue
            hint = f"Add it to the {parent} table, or correct the code."
            if isinstance(value, str):
                folded = f"SELECT {target} FROM {parent} WHERE {target}_key = ?"
                alike = driver.execute(folded, (fold_code(value),)).fetchone()
                hint = f"There it is spelled {alike[0]}." if alike else hint
            yield Finding(f"is not in the {parent} table", hint, place, column.name, str(value))
