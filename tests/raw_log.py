"""A log as any other program sees it: SQLite's file, or the database with its owner's rights."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from credits.store.engines.address import Address, address_in
from credits.store.engines.driver import Driver
from credits.store.engines.postgres import opened
from tests.postgres_server import OWNER, WRITER


def raw_log(folder: Path) -> Any:
    """What a log is written through by another program; whoever opened it closes it.

    Statements end by themselves, and marks are ``?``.
    """
    address = address_in(folder)
    if address is None:
        return sqlite3.connect(folder / "production.db", isolation_level=None)
    raw = opened(Address(address.text.replace(f"//{WRITER}@", f"//{OWNER}@")), 5000)
    raw.listen()  # so that nobody takes it up afterwards, with what was set in it
    return raw


def read_raw(folder: Path, query: str) -> list[tuple[Any, ...]]:
    """What a query finds in the log."""
    with closing(raw_log(folder)) as raw:
        found: list[tuple[Any, ...]] = raw.execute(query).fetchall()
        return found


@contextmanager
def unguarded(folder: Path, gone: tuple[str, ...] = ()) -> Iterator[Driver]:
    """The log without its triggers, which are put back as they were, but those of tables that are
    gone."""
    with closing(raw_log(folder)) as raw:
        if not isinstance(raw, sqlite3.Connection):
            raw.execute("SET session_replication_role = replica")
            yield raw
            return
        kept = raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in kept:
            raw.execute(f"DROP TRIGGER {name}")
        yield raw
        for name, text in kept:
            if not name.startswith(gone or ("-",)):
                raw.execute(text)
