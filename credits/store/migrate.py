"""Runs Alembic on an older log, in one transaction: all of it, or nothing.

Imported only when a log is older than the program: see ``versions.py``.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, StaticPool, create_engine, event

from credits.errors import CreditsError, Finding, LogUnusable, Place
from credits.store.backup import copy_log
from credits.store.triggers import drop_statements, triggers
from credits.store.versions import is_current, stored_version


def migrate(path: Path, raw: sqlite3.Connection, folder: Path) -> Path | None:
    """Bring the log of an open connection to the head of the migrations in ``folder``.

    Returns the copy made before. None: another program was first, and nothing was to be done.
    """
    # With foreign keys on, rebuilding a table would delete or refuse the rows that name it; the
    # pragma has no effect inside a transaction. They are checked at the end instead.
    raw.execute("PRAGMA foreign_keys=OFF")
    engine = create_engine("sqlite://", creator=lambda: raw, poolclass=StaticPool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    copy: Path | None = None
    try:
        with engine.begin() as connection:
            if is_current(raw, path, folder):
                return None
            copy = copy_log(path, _free_name(path, stored_version(raw, path)))
            upgrade(connection, folder)
            _check_codes(connection)
    except Exception as error:
        if copy is not None:
            copy.unlink(missing_ok=True)
        if isinstance(error, CreditsError):
            raise
        raise _failed(path, error) from error
    return copy


class _Broken(Exception):
    """The migrated log would not be whole."""


def upgrade(connection: Connection, folder: Path) -> None:
    """Bring the tables to the head of the migrations and make the triggers anew; no commit."""
    names = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    for statement in list(drop_statements(name for (name,) in names)):
        connection.exec_driver_sql(statement)
    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    command.upgrade(config, "head")
    for text in triggers().values():
        connection.exec_driver_sql(text)


def _check_codes(connection: Connection) -> None:
    lost = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if lost:
        raise _Broken(f"{len(lost)} rows would name codes that are in no table")


def _free_name(path: Path, version: str) -> Path:
    name = f"{path.name}.before-{version or 'unknown'}"
    copy = path.with_name(name)
    count = 1
    while copy.exists():
        count += 1
        copy = path.with_name(f"{name}-{count}")
    return copy


def _failed(path: Path, error: Exception) -> LogUnusable:
    original = getattr(error, "orig", None) or error
    return LogUnusable(
        Finding(
            f"could not be brought to the newest version ({original})",
            "The log is as it was. Go on with the older program, and report this.",
            Place(path.name),
        )
    )
