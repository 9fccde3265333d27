"""The log of a production: open it, read it, write to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from credits.errors import Finding, LogUnusable, Place
from credits.model.facts import EntryNumber
from credits.model.log import Batch, Receipt, WrittenLog
from credits.store.engines.driver import Driver
from credits.store.file import BUSY_MILLISECONDS, LOG_NAME
from credits.store.opened import opened_current
from credits.store.reading import LogReader, Position, last_number
from credits.store.writer import LogWriter, writing

Clock = Callable[[], datetime]
LONG_WORK = 200
"""Lines that it takes long to work out: while it is done others are not kept from writing."""
MOST_OVERTAKEN = 3


class _OvertakenError(Exception):
    """Somebody has written while what is to be written was worked out."""


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
    driver = opened_current(folder, busy_milliseconds)
    try:
        return Log(folder, driver, clock)
    except BaseException:
        driver.close()
        raise


class Log(LogReader):
    """An open log. A context manager; close it when done. One log belongs to one thread.

    Read before you write, as ``write_if_unmoved`` does: nothing that can be read before is to be
    read while others wait.
    """

    def __init__(self, folder: Path, driver: Driver, clock: Clock) -> None:
        super().__init__(folder, driver)
        self._clock = clock
        with self._reading():
            row = driver.execute("SELECT origin FROM log").fetchone()
        if row is None:
            raise LogUnusable(Finding("does not say its own origin", "", Place(LOG_NAME)))
        self.origin: str = row[0]
        self.has_written = False
        """Whether anything was written through it for good."""

    def __enter__(self) -> Log:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; closing twice is no harm."""
        with self._in_words():
            self.driver.close()

    @contextmanager
    def writing(self) -> Iterator[LogWriter]:
        """Begin one transaction: everything the writer writes, or nothing when the block fails.

        LogUnusable when another program is writing all the while, or nothing may be written.
        """
        with writing(self.folder, self.driver, self.origin, self._clock) as writer:
            yield writer
        self.has_written = self.has_written or bool(writer.receipts)

    def write_if_unmoved(
        self,
        make: Callable[[WrittenLog], tuple[Batch | None, T]],
        known: tuple[Position, WrittenLog] | None = None,
        *,
        read: Callable[[], tuple[Position, WrittenLog]] | None = None,
        write: bool = True,
    ) -> tuple[T, Receipt]:
        """Read the log, and write what ``make`` makes of it if nobody has written in between.

        The log is locked for the writing alone. Where somebody has written, it is read again and
        ``make`` asked once more, now under the lock; where that is long work, others are let in
        meanwhile, MOST_OVERTAKEN times at most.

        make: gives the batch (None: nothing is to be written), and what the caller wants to know.
        An error that it raises leaves the log as it was. known: as for ``read_on``. read: reads
        the log in another way, which may leave out what ``make`` does not look at. write: False:
        nothing is written, and the receipt has the numbers that its lines would have.
        """
        position, written = self.read_on(known) if read is None else read()
        batch, told = make(written)
        if batch is None:
            return told, Receipt()
        if not write:
            return told, Receipt(numbers=self._next_numbers(len(batch.lines)))
        overtaken = 0
        while True:
            with suppress(_OvertakenError), self.writing() as writer:
                if writer.position() != position:
                    if len(batch.lines) > LONG_WORK and overtaken < MOST_OVERTAKEN:
                        raise _OvertakenError
                    again = writer.read_on((position, written)) if read is None else read()
                    batch, told = make(again[1])
                return told, Receipt() if batch is None else writer.write(batch)
            overtaken += 1
            position, written = self.read_on((position, written)) if read is None else read()
            batch, told = make(written)
            if batch is None:
                return told, Receipt()

    def _next_numbers(self, count: int) -> tuple[EntryNumber, ...]:
        with self._reading() as driver:
            last = last_number(driver, self.origin)
        return tuple(EntryNumber(self.origin, last + 1 + at) for at in range(count))
