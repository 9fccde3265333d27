"""The file ``figures.db`` beside a log: its tables, how it is opened, and when it is made anew."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from credits.store.file import LOG_NAME

_HAS_LOCKS = os.name == "posix"
if _HAS_LOCKS:
    import fcntl

FIGURES_NAME = "figures.db"
WAIT_MILLISECONDS = 60_000
TAIL = 64
"""So many of the last rows of a table say whether another log was put in its place."""

STANDING = (
    "record", "line", "first_origin", "first_number", "origin", "number", "ref", "craft", "person",
    "character", "puppet", "part", "sequence", "shot", "take", "frames", "share", "day", "stage",
)  # fmt: skip
"""The columns of an entry as it stands: the rows of the log that record it and that say it now,
their numbers, and what it names and implies."""

MEASURED = tuple(
    f"{kind}_{measure}"
    for kind in ("character", "shot")
    for measure in ("shot", "kept", "accepted", "cut", "screen")
)
CELL = ("shot", "take", "at", "person", "character", "day", "stage", "den", *MEASURED)

TABLES = {
    "state": "name TEXT PRIMARY KEY, value TEXT NOT NULL",
    "standing": (
        "record INTEGER PRIMARY KEY, line INTEGER NOT NULL, first_origin TEXT, first_number"
        " INTEGER, origin TEXT, number INTEGER, ref TEXT, craft TEXT, person TEXT, character TEXT,"
        " puppet TEXT, part TEXT, sequence TEXT, shot TEXT, take INTEGER, frames TEXT, share TEXT,"
        " day TEXT, stage TEXT"
    ),
    "words": "record INTEGER PRIMARY KEY, words TEXT NOT NULL",
    "corrections": "line INTEGER PRIMARY KEY, record INTEGER NOT NULL",
    "forks": "record INTEGER NOT NULL, fork TEXT NOT NULL",
    "touched": "kind TEXT, code TEXT, PRIMARY KEY (kind, code)",
    "cells": f"{', '.join(CELL)}, PRIMARY KEY (shot, take, at)",
    "claimed": "shot TEXT, take INTEGER, at INTEGER, character TEXT, frames TEXT,"
    " PRIMARY KEY (shot, take, at)",
    "poses": "shot TEXT, take INTEGER, person TEXT, day TEXT, numerator, denominator",
    "worked": (
        "shot TEXT, take INTEGER, person TEXT, week TEXT, purpose TEXT, minutes INTEGER, days"
        f" INTEGER, claimed INTEGER, poses, poses_den, den, {', '.join(MEASURED)},"
        " PRIMARY KEY (shot, take, person, week)"
    ),
    "reached": "shot TEXT, take INTEGER, at INTEGER, ranges TEXT, frames INTEGER, screen INTEGER,"
    " characters TEXT, people TEXT, PRIMARY KEY (shot, take, at)",
    "ways": "shot TEXT, take INTEGER, at INTEGER, via TEXT, thing TEXT, ranges TEXT,"
    " frames INTEGER, people TEXT, PRIMARY KEY (shot, take, at)",
    "animated": "person TEXT, shot TEXT, take INTEGER, craft TEXT, character TEXT, ranges TEXT,"
    " PRIMARY KEY (shot, take, person, craft, character)",
    "handled": "puppet TEXT, shot TEXT, take INTEGER, person TEXT, day TEXT, ranges TEXT",
    "cases": "scope TEXT, code TEXT, at INTEGER, kind TEXT, data TEXT,"
    " PRIMARY KEY (scope, code, at)",
    "film_cases": "of TEXT NOT NULL, kind TEXT NOT NULL, data TEXT NOT NULL",
    "changed": "what TEXT, code TEXT, renewal INTEGER, PRIMARY KEY (what, code)",
    "sites": "folder TEXT PRIMARY KEY, made_of TEXT NOT NULL, files TEXT NOT NULL",
    "pages": "folder TEXT, path TEXT, mark TEXT NOT NULL, size INTEGER, time INTEGER,"
    " PRIMARY KEY (folder, path)",
}
_WITHOUT_ROWID = (
    "cells", "claimed", "worked", "reached", "ways", "animated", "touched", "cases",
    "changed", "pages",
)  # fmt: skip
INDEXES = {
    "standing": (
        "person",
        "shot, puppet, craft, person",
        "character",
        "puppet, day",
        "part",
        "sequence",
        "craft, person, first_origin, origin, first_number, number, day",
        "day, person, stage",
        "number",
    ),
    "corrections": ("record",),
    "poses": ("shot",),
    "handled": ("shot",),
}
"""The indexes of each table, by their columns; each is called by the first. That of crafts holds
all that is read of who did what in which craft, that of days what weeks count, that of shots who
animated a puppet in a shot."""

COMPUTED = (
    "standing",
    "corrections",
    "forks",
    "words",
    "cells",
    "claimed",
    "poses",
    "worked",
    "reached",
    "ways",
    "animated",
    "handled",
    "cases",
)
"""The tables that the log alone makes."""

LOG = "production"
"""The name by which the log is attached: to be read alone."""


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Keep other programs of ours from making or removing the figures of a folder meanwhile."""
    if not _HAS_LOCKS:  # where a file that is open cannot be deleted either
        yield
        return
    at = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(at, fcntl.LOCK_EX)
        yield
    finally:
        os.close(at)


def _remove(folder: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        with suppress(OSError):
            (folder / f"{FIGURES_NAME}{ending}").unlink()


def forget(folder: Path) -> None:
    """Remove the figures of a production, with what the engine keeps beside the file."""
    with suppress(OSError), _alone_in(folder):
        _remove(folder)


def attach_log(driver: sqlite3.Connection, log: Path) -> None:
    """Attach the log, to be read alone; one whose folder may not be written is read as it is."""
    path = log.absolute()
    attach = f"ATTACH DATABASE ? AS {LOG}"
    for way in ("mode=ro", "mode=ro&immutable=1"):
        try:
            driver.execute(attach, (f"{path.as_uri()}?{way}",))
            driver.execute(f"PRAGMA {LOG}.schema_version").fetchone()
        except sqlite3.OperationalError:
            left_over = path.with_name(f"{path.name}-wal")
            if way != "mode=ro" or (left_over.exists() and left_over.stat().st_size):
                raise
            with suppress(sqlite3.OperationalError):
                driver.execute(f"DETACH DATABASE {LOG}")
        else:
            return


def _made_as(name: str) -> str:
    rowid = " WITHOUT ROWID" if name in _WITHOUT_ROWID else ""
    return f"{name} ({TABLES[name]}){rowid}"


def _made(driver: sqlite3.Connection) -> None:
    driver.execute("BEGIN IMMEDIATE")
    for name in TABLES:
        driver.execute(f"CREATE TABLE IF NOT EXISTS main.{_made_as(name)}")
    driver.execute("COMMIT")


def make_file(path: Path, log: Path) -> None:
    """Make the file, empty: whoever may not read the log may not read what was made of it.

    log: where its file is; where there is none, it is on a server, and what was made of it is read
    by this user alone.
    """
    mode = stat.S_IMODE(log.stat().st_mode) | stat.S_IWUSR if log.exists() else 0o600
    handle = os.open(path, os.O_CREAT | os.O_RDWR, 0o600)
    try:
        path.chmod(mode)
    finally:
        os.close(handle)


def open_db(folder: Path) -> sqlite3.Connection:
    """Open the figures of a production, on disk where that is allowed, with the log attached."""
    path = folder / FIGURES_NAME
    try:
        with _alone_in(folder):
            if not path.exists():
                _remove(folder)  # what is left of a file that somebody has deleted
                make_file(path, folder / LOG_NAME)
            driver = sqlite3.connect(
                f"{path.absolute().as_uri()}?mode=rwc",
                uri=True,
                isolation_level=None,
                timeout=WAIT_MILLISECONDS / 1000,
                check_same_thread=False,  # as the log's own file
            )
            try:
                if driver.execute("PRAGMA journal_mode=WAL").fetchone()[0] != "wal":
                    raise sqlite3.OperationalError("no WAL here")
                driver.execute("PRAGMA synchronous=NORMAL")
                there = driver.execute("SELECT count(*) FROM main.sqlite_master").fetchone()[0]
                if there == 0:
                    _made(driver)
                else:
                    driver.execute("SELECT value FROM main.state LIMIT 1").fetchone()
            except BaseException:
                driver.close()
                raise
    except (sqlite3.Error, OSError):
        return db_in_memory()
    return driver


def disk_refuses(error: BaseException) -> bool:
    """Tell whether the disk took no more of the figures: it is full, or fails."""
    code = getattr(error, "sqlite_errorcode", None) or 0
    return code & 0xFF in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR)


def db_in_memory() -> sqlite3.Connection:
    driver = sqlite3.connect(
        "file::memory:?mode=memory", uri=True, isolation_level=None, check_same_thread=False
    )
    _made(driver)
    return driver


def is_stranger(folder: Path) -> bool:
    """Tell whether there is a file of this name that is not ours to use: damaged, of others, or of
    an older program whose tables were others."""
    path = folder / FIGURES_NAME
    if not path.exists():
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as driver:
            made = {row[0] for row in driver.execute("SELECT sql FROM sqlite_master")}
            pages = driver.execute("PRAGMA page_count").fetchone()[0]
            size = driver.execute("PRAGMA page_size").fetchone()[0]
        left_over = path.with_name(f"{FIGURES_NAME}-wal")
        is_short = not left_over.exists() and path.stat().st_size < pages * size
    except (sqlite3.Error, OSError):
        return True
    return is_short or not {f"CREATE TABLE {_made_as(name)}" for name in TABLES} <= made
