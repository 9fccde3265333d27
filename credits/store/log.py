"""The log of a production: open it, read it, write to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TypeVar

from sqlalchemy import Connection, select

from credits.errors import Finding, LogUnusable, NoProduction, Place
from credits.model.facts import Cut, Proof, ProofMark
from credits.model.log import Batch, Change, CutVersion, Receipt, WrittenLog
from credits.store.migrate import bring_up_to_date, is_current
from credits.store.reading import (
    Position,
    read_changes,
    read_cut,
    read_cut_versions,
    read_history,
    read_log,
    read_position,
    read_proof,
    read_proofs,
)
from credits.store.settings import read_settings
from credits.store.sqlite import (
    BUSY_MILLISECONDS,
    LOG_NAME,
    begin,
    connect,
    in_words,
    snapshot,
    to_wal,
)
from credits.store.tables import LogRecord, table_of
from credits.store.writer import LogWriter

Clock = Callable[[], datetime]

T = TypeVar("T")


def _now() -> datetime:
    return datetime.now().astimezone()


def open_log(
    folder: Path, *, clock: Clock = _now, busy_milliseconds: int = BUSY_MILLISECONDS
) -> Log:
    """Open the log of the production in ``folder``; an older one is migrated, after a copy.

    clock: gives the moment a line is logged, with its time zone. busy_milliseconds: how long to
    wait for another program that writes. Raises NoProduction, LogUnusable.
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
    """An open log. A context manager; close it when done. One log belongs to one thread.

    Read before you write: nothing that can be read before is to be read while others wait. Note
    the position, read, compute; then write, where the writer's position is still the same::

        position = log.position()
        batch = planned(log.read())
        with log.writing() as writer:
            if writer.position() != position:
                batch = planned(writer.read())
            writer.write(batch)
    """

    def __init__(self, folder: Path, connection: Connection, clock: Clock) -> None:
        self.folder = folder
        self._connection = connection
        self._clock = clock
        with snapshot(connection):
            origin = connection.scalar(select(table_of(LogRecord).c.origin))
        if origin is None:
            raise LogUnusable(Finding("does not say its own origin", "", Place(LOG_NAME)))
        self.origin: str = origin

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

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._in_words(), snapshot(self._connection):
            yield self._connection

    def position(self) -> Position:
        """Say how far the log goes now; two positions are the same or they are not.

        Ask before reading: what is written in between then makes the positions differ.
        """
        with self._reading() as connection:
            return read_position(connection)

    def read(self) -> WrittenLog:
        """Read everything written, as of one moment. ProblemsFound for ``production.toml``."""
        production = read_settings(self.folder)
        with self._reading() as connection:
            return read_log(connection, production)

    @contextmanager
    def writing(self) -> Iterator[LogWriter]:
        """Begin one transaction: everything the writer writes, or nothing when the block fails.

        LogUnusable when another program is writing all the while, or nothing may be written.
        """
        connection = self._connection
        with self._in_words():
            try:
                begin(connection, writing=True)
            except BaseException:
                connection.rollback()
                raise
        try:
            yield LogWriter(self.folder, connection, self.origin, self._clock)
        except BaseException:
            with self._in_words():
                connection.rollback()
            raise
        with self._in_words():
            try:
                connection.commit()
            except BaseException:
                connection.rollback()
                raise

    def write_if_unmoved(
        self, make: Callable[[WrittenLog], tuple[Batch | None, T]]
    ) -> tuple[T, Receipt]:
        """Read the log, and write what ``make`` makes of it if nobody has written in between.

        The log is locked for the writing alone. Where somebody has written, it is read again and
        ``make`` asked once more, now under the lock.

        make: gives the batch (None: nothing is to be written), and what the caller wants to know.
        An error that it raises leaves the log as it was.
        """
        position = self.position()
        batch, known = make(self.read())
        if batch is None:
            return known, Receipt()
        with self.writing() as writer:
            if writer.position() != position:
                batch, known = make(writer.read())
            return known, Receipt() if batch is None else writer.write(batch)

    def cut_versions(self) -> tuple[CutVersion, ...]:
        """Read every import of the cut, the first one first."""
        with self._reading() as connection:
            return read_cut_versions(connection)

    def cut(self, version: int) -> Cut:
        """Read one version of the cut. WrongCall when there is none of this number."""
        with self._reading() as connection:
            return read_cut(connection, version)

    def history(self, table: str, code: str) -> tuple[Change, ...]:
        """Read how the rows of a code in a reference table changed, the first change first."""
        with self._reading() as connection:
            return read_history(connection, table, code)

    def changes_since(self, mark: ProofMark) -> tuple[Change, ...]:
        """Read how the reference tables changed since a proof was made, the first change first."""
        with self._reading() as connection:
            return read_changes(connection, mark.changes)

    def proofs(self) -> tuple[ProofMark, ...]:
        """Read what every proof says of itself, the first one first, without what it froze."""
        with self._reading() as connection:
            return read_proofs(connection)

    def proof(self, number: int) -> Proof:
        """Read one proof with what it froze. WrongCall when there is none of this number."""
        with self._reading() as connection:
            return read_proof(connection, number)
