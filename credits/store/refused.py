"""Rows that the log refuses, in words.

The database is the last guard: whoever plans a batch finds most problems before. So the words
here are found afterwards, by trying the rows of a failed batch again; a good batch costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sqlalchemy import Connection, Executable, select

from credits.errors import Finding, Place, ProblemsFound
from credits.store.rows import LINES, Values
from credits.store.sqlite import NOT_STORABLE, refusal
from credits.store.tables import METADATA
from credits.text import fold_code


def refused(
    connection: Connection,
    table: str,
    statement: Executable,
    rows: Sequence[tuple[Values, Place]],
    first_error: Exception,
) -> ProblemsFound:
    """Find every row that is refused, and why. To be called inside a savepoint.

    statement: what failed for the rows together; nothing of them is left. rows: each with the
    place where it was read.
    """
    findings = [
        finding
        for row, place, error in _failing(connection, statement, rows)
        for finding in _worded(connection, table, row, place, error)
    ]
    return ProblemsFound(*(findings or [Finding(str(first_error), place=Place(table))]))


def _failing(
    connection: Connection, statement: Executable, rows: Sequence[tuple[Values, Place]]
) -> Iterator[tuple[Values, Place, Exception]]:
    """Try the rows together, and where that fails by halves; the good ones stay written."""
    try:
        with connection.begin_nested():
            connection.execute(statement, [row for row, _ in rows])
    except NOT_STORABLE as error:
        if len(rows) == 1:
            yield (*rows[0], error)
            return
        half = len(rows) // 2
        yield from _failing(connection, statement, rows[:half])
        yield from _failing(connection, statement, rows[half:])


def _worded(
    connection: Connection, table: str, values: Values, place: Place, error: Exception
) -> Iterator[Finding]:
    kind, named = refusal(error)
    unknown = list(_unknown_codes(connection, table, values, place))
    yield from unknown
    if kind == "code" or (unknown and "an_earlier_line" in named):
        return
    column, value = next(iter(values.items()))
    if table == "entries":
        column, value = "craft", values["craft"]
    subject = (place, column, None if value is None else str(value))
    if kind == "rule":
        rule = named.removeprefix(f"{table}_").replace("_", " ")
        yield Finding(f"the log holds only rows of which this is true: {rule}", "", *subject)
    elif kind == "missing":
        yield Finding("is missing", "Give it a value.", place, named)
    elif kind == "taken":
        yield Finding(f"is there already ({named})", "", *subject)
    elif kind in ("whole number", "text"):
        yield Finding("cannot be kept", f"Give a {kind}.", place, named, str(values[named]))
    elif kind == "large":
        large = next((c, v) for c, v in values.items() if isinstance(v, int) and abs(v) >= 2**63)
        yield Finding(
            "is too large a number", "Give a smaller one.", place, large[0], str(large[1])
        )
    elif kind == "letters":
        hint = "Write the text anew: it holds half of a character."
        yield Finding("cannot be kept as UTF-8", hint, *subject)
    else:
        yield Finding(named, "", *subject)


def _unknown_codes(
    connection: Connection, table: str, values: Values, place: Place
) -> Iterator[Finding]:
    origin, number = values.get("corrects_origin"), values.get("corrects_number")
    if number is not None:
        corrected = select(LINES.c.line).where(LINES.c.origin == origin, LINES.c.number == number)
        if connection.execute(corrected).first() is None:
            hint = "Name a line that is in the log."
            said = f"{origin}-{number}"
            yield Finding(
                "corrects a line that the log does not have", hint, place, "corrects", said
            )
    for column in reversed(list(METADATA.tables[table].columns)):
        value = values.get(column.name)
        for key in column.foreign_keys:
            parent, target = key.column.table, key.column
            if value is None or parent is LINES:
                continue
            if connection.execute(select(target).where(target == value)).first() is not None:
                continue
            hint = f"Add it to the {parent.name} table, or correct the code."
            if isinstance(value, str):
                folded = parent.c[f"{target.name}_key"]
                alike = connection.scalar(select(target).where(folded == fold_code(value)))
                hint = f"There it is spelled {alike}." if alike else hint
            yield Finding(
                f"is not in the {parent.name} table", hint, place, column.name, str(value)
            )
