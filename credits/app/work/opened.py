"""The log as it is written to: what single entries look at, and the figures renewed afterwards."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TypeVar

from credits.figures.lines import written_log
from credits.figures.lookups import kept_ledger, ledger_in_brief
from credits.figures.opened import opened, renewed
from credits.figures.renewal import Depth
from credits.model.ledger import Ledger
from credits.model.log import Batch, Receipt, WrittenLog
from credits.store.beside.kept import FiguresFile
from credits.store.log import Log
from credits.store.reading import Position

T = TypeVar("T")

FEW_SHOTS = 4
"""Whoever logs an entry does not wait for the footage of more shots than these."""


class LogNow:
    """A log at one moment, of which no more is read than somebody looks at.

    position: how far it goes. written: its tables, and its lines to be found by their index.
    """

    def __init__(self, file: FiguresFile) -> None:
        self.file = file
        self.position = file.position()
        self.written = written_log(file)

    @cached_property
    def ledger(self) -> Ledger:
        """The ledger."""
        return kept_ledger(self.file)

    @cached_property
    def in_brief(self) -> Ledger:
        """The ledger with entries in brief, of which many are read quickly."""
        return ledger_in_brief(self.file)


class EntryLog:
    """An open log to which single entries are written: what each needs of it is looked up.

    The cost of an entry follows what is near it, however long the log is.
    """

    def __init__(self, log: Log) -> None:
        self.log = log
        self._known: LogNow | None = None

    @property
    def origin(self) -> str:
        """The origin of the numbers of what is written."""
        return self.log.origin

    def now(self) -> LogNow:
        """Return the log as it is now; what is known and is the same still is not read again."""
        known = self._known
        if known is not None and known.position == self.log.position():
            written = written_log(known.file)
            if written.production == known.written.production:
                return known
        file = opened(self.log.folder, Depth.ENTRIES)
        if known is not None:
            file.knows(known.file)
        self._known = LogNow(file)
        return self._known

    def write(
        self, make: Callable[[WrittenLog], tuple[Batch | None, T]], *, write: bool = True
    ) -> tuple[T, Receipt, LogNow]:
        """Write what ``make`` makes of the log, as ``Log.write_if_unmoved`` does.

        Also returns the log as it was before; the figures are renewed for whoever asks next.
        """
        before = [self.now()]

        def read() -> tuple[Position, WrittenLog]:
            before[:] = [self.now()]
            return before[0].position, before[0].written

        told, receipt = self.log.write_if_unmoved(make, read=read, write=write)
        if write and receipt.numbers:
            folder, known = self.log.folder, before[0].file
            renewed(folder, Depth.FOOTAGE, FEW_SHOTS, read=known)
        return told, receipt, before[0]
