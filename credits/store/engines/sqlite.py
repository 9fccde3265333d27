"""SQLite: transactions, what a file says of itself, and what keeps others reading.

How a file is opened and copied stands in ``store/file.py``, its tables in ``table_words.py``, its
triggers in ``sqlite_triggers.py``.
"""

from __future__ import annotations

import sqlite3

from credits.waiting import tries


def begin(driver: sqlite3.Connection, *, writing: bool = False) -> None:
    """Begin a transaction; one that writes keeps every other writer out from the beginning.

    Where another program writes, it is waited for as long as was said when the file was opened.
    """
    if not writing:
        driver.execute("BEGIN")
        return
    # The engine's own way of waiting tries the seldomer the longer it waits: who comes first may
    # come last, or never.
    longest = driver.execute("PRAGMA busy_timeout").fetchone()[0]
    driver.execute("PRAGMA busy_timeout=0")
    try:
        for is_last in tries(longest / 1000):
            try:
                driver.execute("BEGIN IMMEDIATE")
            except sqlite3.OperationalError as error:
                if is_last or not is_busy(error):
                    raise
            else:
                return
    finally:
        driver.execute(f"PRAGMA busy_timeout={longest}")


def is_busy(error: sqlite3.Error) -> bool:
    """Tell whether another program holds the file."""
    return (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF == sqlite3.SQLITE_BUSY


def to_wal(driver: sqlite3.Connection) -> None:
    """Let others read while one writes. A log that may not be written stays as it is.

    To be called when the file is known to be a log: a stranger's database is left alone.
    """
    if driver.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            driver.execute("PRAGMA journal_mode=WAL").fetchone()
        except sqlite3.Error as error:
            if "readonly" not in str(error):
                raise


def table_names(driver: sqlite3.Connection) -> set[str]:
    """List the tables that the file has, but those of the engine."""
    query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT GLOB 'sqlite_*'"
    return {str(row[0]) for row in driver.execute(query)}


def stored_triggers(driver: sqlite3.Connection) -> dict[str, str]:
    """Give the name and the text of every trigger that the log has."""
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    return {str(name): str(text) for name, text in driver.execute(query)}


def make_trigger(driver: sqlite3.Connection, name: str, text: str) -> None:  # noqa: ARG001
    """Make a trigger that ``triggers`` gives."""
    driver.execute(text)


def drop_trigger(driver: sqlite3.Connection, name: str) -> None:
    """Drop the trigger of this name."""
    driver.execute(f'DROP TRIGGER "{name}"')


def damage(driver: sqlite3.Connection) -> list[str]:
    """List what is wrong with the file and with its rules; empty: the file is sound."""
    said = [str(row[0]) for row in driver.execute("PRAGMA integrity_check")]
    return [] if said == ["ok"] else said


def lost_codes(driver: sqlite3.Connection) -> list[tuple[str, int, str]]:
    """List the rows that name what is not there: table, row, the table that is named."""
    found = driver.execute("PRAGMA foreign_key_check")
    return [(table, row, parent) for table, row, parent, _ in found]
