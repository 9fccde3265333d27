"""What a log on a server holds, kept here for the figures: ``figures-log.db`` beside them.

Figures are made of rows that are read again and again, so they stay local to each machine, and the
rows that they are made of with them. It is brought up to date before anything is computed: what
only grows by the rows that came, lists by the codes that their history names. It is never a source
of truth, nothing is written to the log from it, and it may be deleted at any moment. Whether it is
of this log its last seal says; where that is another, it is made anew.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, suppress
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from credits.store.beside.figures_db import make_file
from credits.store.engines.driver import Driver, snapshot
from credits.store.engines.said import ConnectionLostError, ServerError
from credits.store.file import LOG_NAME
from credits.store.schema.records import (
    APPEND_ONLY,
    RECORDS,
    VERSION_COLUMN,
    VERSION_TABLE,
    WITH_HISTORY,
)
from credits.store.schema.statements import insert_text
from credits.store.schema.version import known_versions

NAME = "figures-log.db"
WAIT_SECONDS = 60
AT_ONCE = 5000
MOST_CODES = 200
"""A list of which more codes changed is read whole."""

_LAST = ", ".join(
    f"(SELECT coalesce(max({RECORDS[name].key}), 0) FROM {name})" for name in APPEND_ONLY
)
_SEAL = "(SELECT seal FROM moments WHERE moment = ?)"
_ORIGIN = "(SELECT origin FROM log), (SELECT made_on FROM log)"


class LogHere:
    """The rows of a log on a server, in a file here: in the production's folder, or where that may
    not be written in one of its own for as long as this is used."""

    def __init__(self, log: Driver, folder: Path) -> None:
        """log: the log on the server, which whoever opened it closes."""
        self._log = log
        self._own: TemporaryDirectory[str] | None = None
        self.path = folder / NAME
        self.made: tuple[int, int] | None = None
        """Which file it is: another one has been made where this changes."""

    def renew(self) -> None:
        """Bring the file up to date. Raises what the engine of the log raises."""
        try:
            self._renew_here()
        except ConnectionLostError:  # nothing of it was written
            self._renew_here()

    def _renew_here(self) -> None:
        if self._own is None:
            for _ in range(2):
                try:
                    self._renew()
                    return
                except (sqlite3.DatabaseError, OSError) as error:
                    if not _is_of_the_file(error):
                        raise
                # Damaged, of another version, or nothing may be written here.
                with suppress(OSError):
                    _remove(self.path)
            self._own = TemporaryDirectory(prefix="credits-")
            self.path = Path(self._own.name) / NAME
        self._renew()

    def close(self) -> None:
        """Take away what lay in a folder of its own."""
        if self._own is not None:
            self._own.cleanup()

    def _renew(self) -> None:
        with closing(_opened(self.path)) as here:
            here.execute("BEGIN IMMEDIATE")
            if not _is_made(here):
                here.rollback()
                _make(here)
                here.execute("BEGIN IMMEDIATE")
            with snapshot(self._log):
                _bring(self._log, here)
            here.commit()
        found = self.path.stat()
        self.made = (found.st_dev, found.st_ino)


class _FileHereError(sqlite3.DatabaseError):
    """What is wrong with the file here, not with the log."""


def _is_of_the_file(error: Exception) -> bool:
    if isinstance(error, ServerError) or error.__cause__ is not None:
        return False  # what a server says
    return "locked" not in str(error)


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        path.with_name(f"{path.name}{ending}").unlink(missing_ok=True)


def _opened(path: Path) -> sqlite3.Connection:
    if not path.exists():  # what is on a server is read by this user alone
        make_file(path, path.with_name(LOG_NAME))
    address = f"{path.absolute().as_uri()}?mode=rw"
    here = sqlite3.connect(
        address,
        uri=True,
        isolation_level=None,
        timeout=WAIT_SECONDS,
        check_same_thread=False,  # as a log's own file
    )
    try:
        here.execute("PRAGMA journal_mode=WAL").fetchone()
        here.execute("PRAGMA synchronous=NORMAL")
        here.execute("PRAGMA foreign_keys=OFF")  # rows come as they are
    except BaseException:
        here.close()
        raise
    return here


def _is_made(here: sqlite3.Connection) -> bool:
    there = "SELECT count(*) FROM sqlite_master WHERE name = ?"
    if here.execute(there, (VERSION_TABLE,)).fetchone()[0] == 0:
        return False
    row = here.execute(f"SELECT {VERSION_COLUMN} FROM {VERSION_TABLE}").fetchone()
    if row != (known_versions()[-1],):
        raise _FileHereError("it is of another version")
    return True


def _make(here: sqlite3.Connection) -> None:
    """Make the tables: those of a log, without the triggers that would write a history again."""
    # The table classes are wanted once for each machine.
    tables = import_module("credits.store.engines.table_words")
    here.execute("BEGIN IMMEDIATE")
    if not _is_made(here):  # another program may have been first
        tables.make_tables(here)
        version = f"INSERT INTO {VERSION_TABLE} ({VERSION_COLUMN}) VALUES (?)"
        here.execute(version, (known_versions()[-1],))
    here.commit()


def _bring(log: Driver, here: sqlite3.Connection) -> None:
    """Bring what is new, of one moment of the log."""
    moment, seal = here.execute(
        "SELECT moment, seal FROM moments UNION ALL SELECT 0, NULL ORDER BY 1 DESC LIMIT 1"
    ).fetchone()
    *had, origin, made_on = here.execute(f"SELECT {_LAST}, {_ORIGIN}").fetchone()
    *has, now_seal, now_origin, now_made_on = log.execute(
        f"SELECT {_LAST}, {_SEAL}, {_ORIGIN}", (moment,)
    ).fetchone()
    same = (now_seal, now_origin, now_made_on) == (seal, origin, made_on)
    if not same or any(now < before for now, before in zip(has, had, strict=True)):
        for name in RECORDS:
            here.execute(f"DELETE FROM {name}")
        for name in RECORDS:
            _put(here, name, _rows(log, name))
        return
    for name, now, before in zip(APPEND_ONLY, has, had, strict=True):
        if now > before:
            _put(here, name, _rows(log, name, f"{RECORDS[name].key} > ?", (before,)))
    before = had[APPEND_ONLY.index("history")]
    if has[APPEND_ONLY.index("history")] > before:
        for name, codes in _changed(here, before).items():
            _bring_list(log, here, name, sorted(codes))


def _changed(here: sqlite3.Connection, after: int) -> dict[str, set[str]]:
    """Find the codes of the lists of which the history has something new."""
    found: dict[str, set[str]] = {}
    query = "SELECT table_name, code, old_row FROM history WHERE position > ?"
    for name, code, old in here.execute(query, (after,)):
        if name in WITH_HISTORY:
            codes = found.setdefault(name, set())
            codes.add(code)
            if old is not None:  # which may have had another code
                codes.add(json.loads(old).get(RECORDS[name].said_columns[0], code))
    return found


def _bring_list(log: Driver, here: sqlite3.Connection, name: str, codes: Sequence[str]) -> None:
    where, values = "", tuple(codes)
    if len(codes) > MOST_CODES:
        values = ()
    else:
        marks = ", ".join("?" * len(codes))
        where = f"{RECORDS[name].said_columns[0]} IN ({marks})"
    here.execute(f"DELETE FROM {name}{f' WHERE {where}' if where else ''}", values)
    _put(here, name, _rows(log, name, where, values))


def _rows(
    log: Driver, name: str, where: str = "", values: Sequence[Any] = ()
) -> Iterator[Sequence[Any]]:
    """Read rows as they are kept, with their places."""
    condition = f" WHERE {where}" if where else ""
    columns = ", ".join(RECORDS[name].columns)
    query = f"SELECT {columns} FROM {name}{condition} ORDER BY {RECORDS[name].key}"
    return iter(log.execute(query, tuple(values)))


def _put(here: sqlite3.Connection, name: str, rows: Iterable[Sequence[Any]]) -> None:
    here.executemany(insert_text(name, list(RECORDS[name].columns)), rows)
