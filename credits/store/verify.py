"""The full check of a log: is the file sound, is it whole, can every line be read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, select, type_coerce
from sqlalchemy.types import NullType

from credits.errors import CreditsError, Finding, Place
from credits.store import reading, sqlite
from credits.store.migrate import is_current
from credits.store.settings import read_settings

_PLACE = Place(sqlite.LOG_NAME)
_PUT_BACK = "Put back a copy made with `credits backup`."


def verify(folder: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with the log and the settings of a production.

    Nothing is changed, an older log is not migrated. Raises NoProduction, and LogUnusable when
    the file cannot be opened as a log at all.
    """
    settings: tuple[Finding, ...] = ()
    with sqlite.in_words(folder / sqlite.LOG_NAME):
        path = sqlite.log_in(folder)
        with closing(sqlite.connect(path)) as connection, sqlite.snapshot(connection):
            try:
                read_settings(folder)
            except CreditsError as error:
                settings = error.findings
            return (*settings, *_log(connection, path))


def _log(connection: Connection, path: Path) -> Iterator[Finding]:
    current = is_current(connection, path)
    if found := sqlite.damage(connection):
        yield from (Finding(f"is damaged: {what}", _PUT_BACK, _PLACE) for what in found)
        return
    for table, row, parent in sqlite.lost_codes(connection):
        what = f"row {row} of {table} names something that is not in {parent}"
        yield Finding(what, _PUT_BACK, _PLACE)
    if not current:
        hint = "Any other command brings it to the newest version; then verify again."
        yield Finding("is of an older version: its rows were not looked at", hint, _PLACE)
        return
    yield from _triggers(connection)
    yield from _numbers(connection)
    yield from _proofs(connection)
    yield from _rows(connection)


def _triggers(connection: Connection) -> Iterator[Finding]:
    """Find whether what keeps the log append-only is there, and nothing beside it."""
    expected, found = sqlite.triggers(), sqlite.stored_triggers(connection)
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


def _numbers(connection: Connection) -> Iterator[Finding]:
    """Ask that the numbers of each origin are 1, 2, 3, ... without holes: no line was taken out."""
    last: dict[str, int] = {}
    numbers = select(reading.LINES.c.origin, reading.LINES.c.number).order_by(
        reading.LINES.c.origin, reading.LINES.c.number
    )
    for origin, number in connection.execute(numbers):
        before = last.get(origin, 0)
        last[origin] = number
        if number > before + 1:
            first, until = f"{origin}-{before + 1}", f"{origin}-{number - 1}"
            lines = f"line {first} is" if first == until else f"lines {first} to {until} are"
            yield Finding(f"{lines} missing", _PUT_BACK, _PLACE)


def _proofs(connection: Connection) -> Iterator[Finding]:
    """Ask that proofs are numbered 1, 2, 3, ..."""
    numbers = select(reading.PROOFS.place).order_by(reading.PROOFS.place)
    for expected, number in enumerate(connection.scalars(numbers), 1):
        if number != expected:
            yield Finding(f"proof {expected} is missing", _PUT_BACK, _PLACE)
            return


def _rows(connection: Connection) -> Iterator[Finding]:
    """Ask that every row can be read as what it is."""
    tables = (*reading.FACT_TABLES, reading.SETTLEMENTS, reading.CONFIRMATIONS)
    for which, wanted in (
        ("proof {0}", reading.PROOFS.select()),
        *((f"row {{0}} of {table.name}", table.select()) for table in tables),
        ("line {0}-{1}", reading.select_lines()),
    ):
        for row, error in _unreadable(connection, wanted):
            what = f"{which.format(*row)} cannot be read ({error})"
            yield Finding(what, _PUT_BACK, _PLACE)


def _unreadable(
    connection: Connection, wanted: Select[Any]
) -> Iterator[tuple[tuple[Any, ...], Exception]]:
    """Find each row, as it is written, that holds what its columns cannot hold; and why."""
    columns = list(wanted.selected_columns)
    readers = [
        (at, read)
        for at, column in enumerate(columns)
        if (read := column.type.result_processor(connection.dialect, None)) is not None
    ]
    as_written = wanted.with_only_columns(*(type_coerce(c, NullType()) for c in columns))
    for row in reading.many(connection, as_written):
        try:
            for at, read in readers:
                read(row[at])
        except (ValueError, TypeError, CreditsError) as error:
            yield tuple(row), error
