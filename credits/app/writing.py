"""Write into a log what was worked out from it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from credits.model.log import Batch, Receipt, WrittenLog
from credits.store import Log

T = TypeVar("T")

NOTHING_WRITTEN = Receipt()


def write_if_unmoved(
    log: Log, make: Callable[[WrittenLog], tuple[Batch | None, T]]
) -> tuple[T, Receipt]:
    """Read the log, and write what ``make`` makes of it if nobody has written in between.

    The log is locked for the writing alone. Where somebody has written, it is read again and
    ``make`` asked once more, now under the lock.

    make: gives the batch (None: nothing is to be written), and what the caller wants to know.
    An error that it raises leaves the log as it was.
    """
    position = log.position()
    batch, known = make(log.read())
    if batch is None:
        return known, NOTHING_WRITTEN
    with log.writing() as writer:
        if writer.position() != position:
            batch, known = make(writer.read())
        return known, NOTHING_WRITTEN if batch is None else writer.write(batch)
