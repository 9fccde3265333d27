"""The triggers that keep the log append-only and its history, in the engine that keeps the log."""

from __future__ import annotations

from importlib import import_module

from credits.store.engines import sqlite_triggers
from credits.store.engines.driver import Driver, engine_of, is_file, stored_triggers


def triggers(driver: Driver) -> dict[str, str]:
    """Give the name and the text of every trigger, in the order in which they are made."""
    if is_file(driver):
        return sqlite_triggers.triggers()
    found: dict[str, str] = import_module("credits.store.engines.postgres_triggers").triggers()
    return found


def drop_triggers(driver: Driver) -> None:
    """Drop every trigger: rebuilding a table loses its own silently, filling a new column is an
    UPDATE."""
    for name in stored_triggers(driver):
        engine_of(driver).drop_trigger(driver, name)


def make_triggers(driver: Driver) -> None:
    """Make every trigger."""
    engine = engine_of(driver)
    for name, text in triggers(driver).items():
        engine.make_trigger(driver, name, text)
