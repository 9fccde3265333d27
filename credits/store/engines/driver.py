"""What the store asks of whatever a log is read and written through, and of the engine behind it.

SQLite's own connection fits ``Driver`` as it is, so nothing stands between it and whoever reads.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from typing import Any, Protocol, TypeGuard, cast

from credits.store.engines import sqlite


class Cursor(Protocol):
    """The rows that a statement has found."""

    def fetchone(self) -> Any:
        """Return the next row; None: there is none."""

    def fetchmany(self, size: int = 1, /) -> list[Any]:
        """Return the next rows."""

    def fetchall(self) -> list[Any]:
        """Return all rows that are left."""

    def __iter__(self) -> Iterator[Any]: ...


class Driver(Protocol):
    """What a log is read and written through. Marks of values are ``?``."""

    @property
    def in_transaction(self) -> bool:
        """Tell whether a transaction was begun and goes on."""

    def execute(self, sql: str, parameters: Sequence[Any] = ..., /) -> Cursor:
        """Run a statement."""

    def executemany(self, sql: str, parameters: Iterable[Any], /) -> Cursor:
        """Run a statement for every row of values."""

    def commit(self) -> None:
        """End the transaction; what was written stays."""

    def rollback(self) -> None:
        """End the transaction as if it had never been."""

    def close(self) -> None:
        """Close the connection; closing twice is no harm."""


class Engine(Protocol):
    """What an engine does in its own way; each is a module of this package."""

    def begin(self, driver: Any, /, *, writing: bool = False) -> None:
        """Begin a transaction; one that writes keeps every other writer out from the beginning."""

    def table_names(self, driver: Any, /) -> set[str]:
        """List the tables that are there, but those of the engine."""

    def stored_triggers(self, driver: Any, /) -> dict[str, str]:
        """Give the name and the text of every trigger that the log has, as ``triggers`` does."""

    def make_trigger(self, driver: Any, name: str, text: str, /) -> None:
        """Make a trigger that ``triggers`` gives."""

    def drop_trigger(self, driver: Any, name: str, /) -> None:
        """Drop the trigger of this name."""

    def damage(self, driver: Any, /) -> list[str]:
        """List what is wrong with what lies on the disk and with its rules; empty: it is sound."""

    def lost_codes(self, driver: Any, /) -> list[tuple[str, int, str]]:
        """List the rows that name what is not there: table, row, the table that is named."""


def is_file(driver: Driver) -> TypeGuard[sqlite3.Connection]:
    """Tell whether a log is a file, which SQLite keeps."""
    return isinstance(driver, sqlite3.Connection)


def engine_of(driver: Driver) -> Engine:
    """Return the engine that a driver belongs to."""
    if isinstance(driver, sqlite3.Connection):
        return sqlite
    # Whoever has such a driver has imported it; nobody else waits for it.
    return cast("Engine", import_module("credits.store.engines.postgres"))


def begin(driver: Driver, *, writing: bool = False) -> None:
    """Begin a transaction; one that writes keeps every other writer out from the beginning."""
    engine_of(driver).begin(driver, writing=writing)


@contextmanager
def snapshot(driver: Driver) -> Iterator[None]:
    """Read one state of the log inside; nothing new inside a transaction."""
    if driver.in_transaction:
        yield
        return
    try:
        begin(driver)
        yield
    finally:
        driver.rollback()


def table_names(driver: Driver) -> set[str]:
    """List the tables that the log has, but those of the engine."""
    return engine_of(driver).table_names(driver)


def stored_triggers(driver: Driver) -> dict[str, str]:
    """Give the name and the text of every trigger that the log has."""
    return engine_of(driver).stored_triggers(driver)


def damage(driver: Driver) -> list[str]:
    """List what is wrong with what lies on the disk and with its rules; empty: it is sound."""
    return engine_of(driver).damage(driver)


def lost_codes(driver: Driver) -> list[tuple[str, int, str]]:
    """List the rows that name what is not there: table, row, the table that is named."""
    return engine_of(driver).lost_codes(driver)
