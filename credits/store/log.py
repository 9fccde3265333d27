"""The log of a production: open it, read it, write to it.

The schema is defined by SQLModel table classes, and SQLAlchemy compiles from them what is executed
here: the schema of a new log and every statement that writes (``schema.py``). The execution is
sqlite3's own. Measured: importing SQLModel costs 0.4 s, more than `credits log` may take for its
one line (5 ms here); 100,000 lines are written in 1.7 s of processor time, a third less than by
Core with its dictionaries; 125,000 are read into facts in 1 s, half of which is SQLite's.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType

from credits.errors import Finding, LogUnusable, NoProduction, Place
from credits.model.facts import Cut, Proof, ProofMark
from credits.model.log import Change, CutVersion, WrittenLog
from credits.store.connection import (
    BUSY_MILLISECONDS,
    LOG_NAME,
    connect,
    in_words,
    snapshot,
    to_wal,
)
from credits.store.history import read_changes, read_history
from credits.store.migrate import bring_up_to_date, is_current
from credits.store.pen import LogWriter
from credits.store.reading import read_cut, read_cut_versions, read_log, read_proof, read_proofs
from credits.store.settings import read_settings

Clock = Callable[[], datetime]


def _now() -> datetime:
    return datetime.now().astimezone()


def open_log(
    folder: Path, *, clock: Clock = _now, busy_milliseconds: int = BUSY_MILLISECONDS
) -> Log:
    """Open the log of the production in ``folder``; an older one is migrated, after a copy.

    ``clock`` gives the moment a line is logged, with its time zone. ``busy_milliseconds``: how
    long to wait for another program that writes. Raises NoProduction, LogUnusable.
    """
    path = folder / LOG_NAME
    with in_words(path):
        if not path.exists():
            hint = "Make one with `credits start`, or name another folder."
            raise NoProduction(Finding("holds no production.db", hint, value=str(folder)))
        connection = connect(path, busy_milliseconds)
        try:
            if not is_current(connection, path):
                bring_up_to_date(path, busy_milliseconds=busy_milliseconds)
            to_wal(connection)
            return Log(folder, connection, clock)
        except BaseException:
            connection.close()
            raise


class Log:
    """An open log. A context manager; close it when done. One log belongs to one thread."""

    def __init__(self, folder: Path, connection: sqlite3.Connection, clock: Clock) -> None:
        self.folder = folder
        self._connection = connection
        self._clock = clock
        row = connection.execute("SELECT origin FROM log").fetchone()
        if row is None:
            raise LogUnusable(Finding("does not say its own origin", "", Place(LOG_NAME)))
        self.origin: str = row[0]

    def __enter__(self) -> Log:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; closing twice is no harm."""
        with self._in_words():
            self._connection.close()

    def _in_words(self) -> AbstractContextManager[None]:
        return in_words(self.folder / LOG_NAME)

    def read(self) -> WrittenLog:
        """Everything written, as of one moment. Raises ProblemsFound for ``production.toml``."""
        production = read_settings(self.folder)
        with self._in_words(), snapshot(self._connection):
            return read_log(self._connection, production)

    @contextmanager
    def writing(self) -> Iterator[LogWriter]:
        """One transaction: everything written by the pen, or nothing when the block fails.

        LogUnusable when another program is writing all the while, or nothing may be written.
        """
        connection = self._connection
        with self._in_words():
            connection.execute("BEGIN IMMEDIATE")
        try:
            yield LogWriter(self.folder, connection, self.origin, self._clock)
        except BaseException:
            with self._in_words():
                connection.rollback()
            raise
        with self._in_words():
            try:
                connection.execute("COMMIT")
            except BaseException:
                connection.rollback()
                raise

    def cut_versions(self) -> tuple[CutVersion, ...]:
        """Every import of the cut, the first one first."""
        with self._in_words(), snapshot(self._connection):
            return read_cut_versions(self._connection)

    def cut(self, version: int) -> Cut:
        """One version of the cut. Raises WrongCall when there is none of this number."""
        with self._in_words(), snapshot(self._connection):
            return read_cut(self._connection, version)

    def history(self, table: str, code: str) -> tuple[Change, ...]:
        """How the rows of a code in a reference table changed, the first change first."""
        with self._in_words(), snapshot(self._connection):
            return read_history(self._connection, table, code)

    def changes_since(self, mark: ProofMark) -> tuple[Change, ...]:
        """How the reference tables changed since a proof was made, the first change first."""
        with self._in_words(), snapshot(self._connection):
            return read_changes(self._connection, mark.changes)

    def proofs(self) -> tuple[ProofMark, ...]:
        """What every proof says of itself, the first one first; what they froze is not read."""
        with self._in_words(), snapshot(self._connection):
            return read_proofs(self._connection)

    def proof(self, number: int) -> Proof:
        """One proof with what it froze. Raises WrongCall when there is none of this number."""
        with self._in_words(), snapshot(self._connection):
            return read_proof(self._connection, number)
