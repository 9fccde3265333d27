"""The triggers that keep the log append-only and its history, in the engine that keeps the log."""

from __future__ import annotations

from credits.store.engines import sqlite_triggers
from credits.store.engines.driver import Driver, engine_of, stored_triggers


def triggers(driver: Driver) -> dict[str, str]:  # noqa: ARG001 - of SQLite until there is another
    """Give the name and the text of every trigger, in the order in which they are made."""
    return sqlite_triggers.triggers()


def drop_triggers(driver: Driver) -> None:
    """Drop every trigger: rebuilding a table loses its own silently, filling a new column is an
    UPDATE."""
    for name in stored_triggers(driver):
        engine_of(driver).drop_trigger(driver, name)


def make_triggers(driver: Driver) -> None:
    """Make every trigger."""
    for text in triggers(driver).values():
        driver.execute(text)
