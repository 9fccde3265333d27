"""Opening SQLite, and saying in words what SQLite says in its own.

Every way into this room goes through ``in_words``: whatever sqlite3 raises leaves as LogUnusable.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from credits.errors import CreditsError, Finding, LogUnusable, Place

LOG_NAME = "production.db"
BUSY_MILLISECONDS = 5000

_BACKUP = "Put back a copy made with `credits backup`."
# What SQLite's message holds -> what is wrong, what would be right. The first that fits is said.
_WORDS: tuple[tuple[str, str, str], ...] = (
    ("file is not a database", "is not a log", f"Name the right folder. {_BACKUP}"),
    ("malformed", "is damaged", _BACKUP),
    ("disk i/o error", "cannot be read or written: the disk reports an error", _BACKUP),
    ("locked", "is being written by another program", "Try again when that program is done."),
    ("busy", "is being written by another program", "Try again when that program is done."),
    (
        "readonly",
        "may be read, but not written",
        "Ask for permission to write the file and its folder, or copy the folder elsewhere.",
    ),
    ("disk is full", "cannot be written: the disk is full", "Make room and try again."),
    (
        "unable to open",
        "cannot be opened",
        "See that it is a file that you may read, in a folder that you may read.",
    ),
    ("no such table", "is a database, but not a log", "Name the folder of a production."),
    ("no such column", "is a database, but not a log", "Name the folder of a production."),
    (
        "permission denied",
        "may not be opened by you",
        "Ask for permission to read and write the file and its folder.",
    ),
    ("append-only", "only grows: a line of the log is never changed or removed", ""),
)


def unusable(path: Path, error: Exception) -> LogUnusable:
    """The error in words: which file, what is wrong, what would be right."""
    said = (isinstance(error, OSError) and error.strerror) or str(error)
    for part, what, hint in _WORDS:
        if part in said.lower():
            return LogUnusable(Finding(what, hint, Place(path.name), None, str(path.parent)))
    return LogUnusable(Finding(f"cannot be used ({said})", "", Place(path.name)))


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """What SQLite or the disk raises inside leaves as LogUnusable; our own errors as they are."""
    try:
        yield
    except CreditsError:
        raise
    except (sqlite3.Error, OSError) as error:
        raise unusable(path, error) from error


def _connected(path: Path, query: str, busy_milliseconds: int) -> sqlite3.Connection:
    address = f"{path.absolute().as_uri()}?{query}"
    connection = sqlite3.connect(
        address, uri=True, isolation_level=None, timeout=busy_milliseconds / 1000
    )
    try:
        # Reads the first page: whether the file can be opened at all shows here.
        connection.execute("PRAGMA schema_version").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def connect(path: Path, busy_milliseconds: int = BUSY_MILLISECONDS) -> sqlite3.Connection:
    """A connection to an existing log, for reading and, where it is allowed, for writing.

    Transactions are begun and ended by us alone. ``synchronous=FULL``: a line that was
    acknowledged survives a power cut. Raises what sqlite3 raises; callers stand in ``in_words``.
    """
    try:
        connection = _connected(path, "mode=rw", busy_milliseconds)
    except sqlite3.OperationalError as error:
        # So SQLite says that it cannot keep its WAL beside the log.
        kept_out = ("unable to open", "readonly")
        if not any(words in str(error) for words in kept_out) or not path.is_file():
            raise
        return _for_reading(path, busy_milliseconds)
    try:
        connection.execute("PRAGMA foreign_keys=ON")
        connection.execute("PRAGMA synchronous=FULL")
    except BaseException:
        connection.close()
        raise
    return connection


def to_wal(connection: sqlite3.Connection) -> None:
    """WAL lets others read while one writes. A log that may not be written stays as it is.

    To be called when the file is known to be a log: a stranger's database is left alone.
    """
    if connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        return
    try:
        connection.execute("PRAGMA journal_mode=WAL")
    except sqlite3.OperationalError as error:
        if "readonly" not in str(error):
            raise


def _for_reading(path: Path, busy_milliseconds: int) -> sqlite3.Connection:
    """A log in a folder that may not be written: SQLite cannot keep its WAL there.

    Where no WAL is left over the file is whole, and nobody can be writing it: it is read as it is.
    """
    left_over = path.with_name(path.name + "-wal")
    if left_over.exists() and left_over.stat().st_size:
        connection = _connected(path, "mode=ro", busy_milliseconds)
    else:
        connection = _connected(path, "mode=ro&immutable=1", busy_milliseconds)
    connection.execute("PRAGMA query_only=ON")
    return connection


@contextmanager
def snapshot(connection: sqlite3.Connection) -> Iterator[None]:
    """One state of the log for everything read inside; nothing new inside a transaction."""
    if connection.in_transaction:
        yield
        return
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.rollback()
