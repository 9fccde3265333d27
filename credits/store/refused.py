"""Rows that the log refuses, in words.

The database is the last guard: whoever plans a batch finds most problems before. So the words
here are found afterwards, by trying each row of a failed batch alone; a good batch costs nothing.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence

from credits.errors import Finding, Place, ProblemsFound
from credits.model.log import Value
from credits.store.columns import Row
from credits.text import fold_code

# What SQLite and its binding raise for values that cannot be stored.
NOT_STORABLE = (
    sqlite3.IntegrityError,
    sqlite3.InterfaceError,
    sqlite3.ProgrammingError,
    OverflowError,
    UnicodeEncodeError,
)

_CHECK = re.compile(r"CHECK constraint failed: (?:ck_)?(\w+)")
_MISSING = re.compile(r"NOT NULL constraint failed: \w+\.(\w+)")
_TAKEN = re.compile(r"UNIQUE constraint failed: (.+)")
_WRONG_TYPE = re.compile(r"cannot store (\w+) value in (\w+) column \w+\.(\w+)")


def refused(
    connection: sqlite3.Connection,
    table: str,
    statement: str,
    rows: Sequence[Row],
    places: Iterable[Place],
    first_error: Exception,
) -> ProblemsFound:
    """Every row of the batch that is refused, and why. To be called inside a savepoint."""
    columns = _columns(statement)
    findings: list[Finding] = []
    for row, place in zip(rows, places, strict=False):
        try:
            connection.execute(statement, row)
        except NOT_STORABLE as error:
            values = dict(zip(columns, row, strict=True))
            findings += _worded(connection, table, values, place, error)
    return ProblemsFound(*(findings or [Finding(str(first_error), place=Place(table))]))


def _columns(statement: str) -> list[str]:
    """The columns of an INSERT or UPDATE in the order of its question marks."""
    inserted = re.search(r"\(([^)]*)\) VALUES", statement)
    if inserted:
        return inserted[1].split(", ")
    return re.findall(r"(\w+) ?= ?\?", statement)


def _worded(
    connection: sqlite3.Connection,
    table: str,
    values: dict[str, Value],
    place: Place,
    error: Exception,
) -> Iterator[Finding]:
    said = str(error)
    unknown = list(_unknown_codes(connection, table, values, place))
    yield from unknown
    if "FOREIGN KEY" in said or (unknown and "an_earlier_line" in said):
        return
    column, value = next(iter(values.items()))
    if table == "entries":
        column, value = "craft", values["craft"]
    subject = (place, column, None if value is None else str(value))
    if match := _CHECK.search(said):
        rule = match[1].removeprefix(f"{table}_").replace("_", " ")
        yield Finding(f"the log holds only rows of which this is true: {rule}", "", *subject)
    elif match := _MISSING.search(said):
        yield Finding("is missing", "Give it a value.", place, match[1])
    elif match := _TAKEN.search(said):
        yield Finding(f"is there already ({match[1]})", "", *subject)
    elif match := _WRONG_TYPE.search(said):
        kind = {"INTEGER": "a whole number", "TEXT": "a text"}.get(match[2], match[2])
        yield Finding("cannot be kept", f"Give {kind}.", place, match[3], str(values[match[3]]))
    elif isinstance(error, OverflowError):
        large = next((c, v) for c, v in values.items() if isinstance(v, int) and abs(v) >= 2**63)
        yield Finding(
            "is too large a number", "Give a smaller one.", place, large[0], str(large[1])
        )
    elif isinstance(error, UnicodeEncodeError):
        hint = "Write the text anew: it holds half of a character."
        yield Finding("cannot be kept as UTF-8", hint, *subject)
    else:
        yield Finding(said, "", *subject)


def _unknown_codes(
    connection: sqlite3.Connection, table: str, values: dict[str, Value], place: Place
) -> Iterator[Finding]:
    if (
        values.get("corrects_number") is not None
        and not connection.execute(
            "SELECT 1 FROM entries WHERE origin = ? AND number = ?",
            (values["corrects_origin"], values["corrects_number"]),
        ).fetchone()
    ):
        number = f"{values['corrects_origin']}-{values['corrects_number']}"
        hint = "Name a line that is in the log."
        yield Finding("corrects a line that the log does not have", hint, place, "corrects", number)
    for _, sequence, parent, column, target, *_ in connection.execute(
        f"PRAGMA foreign_key_list({table})"
    ).fetchall():
        value = values.get(column)
        if parent == "entries" or sequence or value is None:
            continue
        if connection.execute(f"SELECT 1 FROM {parent} WHERE {target} = ?", (value,)).fetchone():
            continue
        hint = f"Add it to the {parent} table, or correct the code."
        if isinstance(value, str):
            alike = connection.execute(
                f"SELECT {target} FROM {parent} WHERE {target}_key = ?", (fold_code(value),)
            ).fetchone()
            hint = f"There it is spelled {alike[0]}." if alike else hint
        yield Finding(f"is not in the {parent} table", hint, place, column, str(value))
