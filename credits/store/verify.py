"""The full check of a log: is the file sound, is it whole, can every line be read."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from credits.errors import CreditsError, Finding, NoProduction, Place
from credits.places import migrations
from credits.store.columns import CONFIRMATIONS, FACT_TABLES, PROOFS, SETTLEMENTS, lines_of
from credits.store.connection import LOG_NAME, connect, in_words, snapshot
from credits.store.migrate import is_current
from credits.store.settings import read_settings
from credits.store.statements import statements

_PLACE = Place(LOG_NAME)
_PUT_BACK = "Put back a copy made with `credits backup`."
_HOLES = """
    SELECT origin, number, coalesce(before, 0) FROM (
        SELECT origin, number, lag(number) OVER (PARTITION BY origin ORDER BY number) AS before
        FROM entries
    ) WHERE number <> coalesce(before, 0) + 1 ORDER BY origin, number
"""


def verify(folder: Path) -> tuple[Finding, ...]:
    """Everything that is wrong with the log and the settings of a production; empty: all is well.

    Nothing is changed, an older log is not migrated. Raises NoProduction, and LogUnusable when
    the file cannot be opened as a log at all.
    """
    path = folder / LOG_NAME
    with in_words(path):
        if not path.exists():
            hint = "Name the folder of a production."
            raise NoProduction(Finding("holds no production.db", hint, value=str(folder)))
        with closing(connect(path)) as connection, snapshot(connection):
            return (*_settings(folder), *_log(connection, path))


def _settings(folder: Path) -> tuple[Finding, ...]:
    try:
        read_settings(folder)
    except CreditsError as error:
        return error.findings
    return ()


def _log(connection: sqlite3.Connection, path: Path) -> Iterator[Finding]:
    current = is_current(connection, path)
    damage = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
    if damage != ["ok"]:
        yield from (Finding(f"is damaged: {what}", _PUT_BACK, _PLACE) for what in damage)
        return
    yield from _codes(connection)
    if not current:
        hint = "Any other command brings it to the newest version; then verify again."
        yield Finding("is of an older version: its rows were not looked at", hint, _PLACE)
        return
    yield from _triggers(connection)
    yield from _numbers(connection)
    yield from _proofs(connection)
    yield from _rows(connection)


def _codes(connection: sqlite3.Connection) -> Iterator[Finding]:
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        what = f"row {row} of {table} names something that is not in {parent}"
        yield Finding(what, _PUT_BACK, _PLACE)


def _triggers(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Whether what keeps the log append-only is there, and nothing beside it."""
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    with closing(sqlite3.connect(":memory:")) as fresh:
        fresh.executescript((migrations() / "schema.sql").read_text(encoding="utf-8"))
        expected = dict(fresh.execute(query).fetchall())
    found = dict(connection.execute(query).fetchall())
    for name in sorted(expected.keys() | found.keys()):
        if name not in found:
            what = "the trigger is missing: the log is not guarded against changes"
        elif name not in expected:
            what = "the trigger was not made by this program"
        elif found[name] != expected[name]:
            what = "the trigger was changed: the log is not guarded against changes"
        else:
            continue
        yield Finding(what, _PUT_BACK, _PLACE, "trigger", name)


def _numbers(connection: sqlite3.Connection) -> Iterator[Finding]:
    """The numbers of each origin are 1, 2, 3, ... without holes: no line was taken out."""
    for origin, number, before in connection.execute(_HOLES):
        first, last = f"{origin}-{before + 1}", f"{origin}-{number - 1}"
        lines = f"line {first} is" if first == last else f"lines {first} to {last} are"
        yield Finding(f"{lines} missing", _PUT_BACK, _PLACE)


def _proofs(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Proofs are numbered 1, 2, 3, ... and each can be read."""
    rows = connection.execute(statements()["select proofs"])
    for expected, (*mark, _) in enumerate(rows, 1):
        if mark[0] != expected:
            yield Finding(f"proof {expected} is missing", _PUT_BACK, _PLACE)
            return
        try:
            PROOFS.read(mark)
        except (ValueError, TypeError) as error:
            yield Finding(f"proof {expected} cannot be read ({error})", _PUT_BACK, _PLACE)


def _rows(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Every row can be read as what it is."""
    for table in (*FACT_TABLES, SETTLEMENTS, CONFIRMATIONS):
        for position, *row in connection.execute(statements()[f"select {table.name}"]):
            try:
                table.read(row)
            except (ValueError, TypeError, CreditsError) as error:
                what = f"row {position} of {table.name} cannot be read ({error})"
                yield Finding(what, _PUT_BACK, _PLACE)
    for row in connection.execute(statements()["select entries"]):
        try:
            for line in lines_of([row]):
                str(line.number)
        except (ValueError, TypeError, KeyError, CreditsError) as error:
            yield Finding(f"line {row[1]}-{row[2]} cannot be read ({error})", _PUT_BACK, _PLACE)
