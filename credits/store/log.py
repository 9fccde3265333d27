"""The log of a production: open it, read it, write to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, select

from credits.errors import Finding, LogUnusable, Place
from credits.model.log import Batch, Receipt, WrittenLog
from credits.store import sqlite
from credits.store.migrate import bring_up_to_date, is_current
from credits.store.reading import LogReader
from credits.store.tables import LogRecord, table_of
from credits.store.writer import LogWriter

Clock = Callable[[], datetime]

T = TypeVar("T")


def _now() -> datetime:
    return datetime.now().astimezone()


def open_log(
    folder: Path, *, clock: Clock = _now, busy_milliseconds: int = sqlite.BUSY_MILLISECONDS
) -> Log:
    """Open the log of the production in ``folder``; an older one is migrated, after a copy.

    clock: gives the moment a line is logged, with its time zone. busy_milliseconds: how long to
    wait for another program that writes. Raises NoProduction, LogUnusable.
    """
    with sqlite.in_words(folder / sqlite.LOG_NAME):
        path = sqlite.log_in(folder, "Make one with `credits start`, or name another folder.")
        connection = sqlite.connect(path, busy_milliseconds)
        try:
            if not is_current(connection, path):
                bring_up_to_date(path, busy_milliseconds=busy_milliseconds)
            sqlite.to_wal(connection)
            return Log(folder, connection, clock)
        except BaseException:
            connection.close()
            raise


class Log(LogReader):
    """An open log. A context manager; close it when done. One log belongs to one thread.

    Read before you write, as ``write_if_unmoved`` does: nothing that can be read before is to be
    read while others wait.
    """

    def __init__(self, folder: Path, connection: Connection, clock: Clock) -> None:
        super().__init__(folder, connection)
        self._clock = clock
        with sqlite.snapshot(connection):
            origin = connection.scalar(select(table_of(LogRecord).c.origin))
        if origin is None:
            raise LogUnusable(Finding("does not say its own origin", "", Place(sqlite.LOG_NAME)))
        self.origin: str = origin

    def __enter__(self) -> Log:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; closing twice is no harm."""
        with self._in_words():
            self._connection.close()

    @contextmanager
    def writing(self) -> Iterator[LogWriter]:
        """Begin one transaction: everything the writer writes, or nothing when the block fails.

        LogUnusable when another program is writing all the while, or nothing may be written.
        """
        connection = self._connection
        try:
            with self._in_words():
                sqlite.begin(connection, writing=True)
            yield LogWriter(self.folder, connection, self.origin, self._clock)
            with self._in_words():
                connection.commit()
        except BaseException:
            with self._in_words():
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
