"""A production that stays open: its log read once for each state, for several threads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import TypeVar

from credits.app.entries import doubts, written_line
from credits.checks.answers import open_and_settled
from credits.checks.rule import Check
from credits.footage.day import DayOfWork, Workplace, day_of_work, workplace
from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.model.log import Batch, LogLine, Receipt, Verb, WrittenLog
from credits.model.replay import Implied, current_lines, entries_with, records_of, replay
from credits.store import Position, open_log

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class VoidedEntry:
    """An entry that was voided: what it said last, and where that was done."""

    entry: Entry
    place: Workplace


class LogState:
    """One state of a log, and what is computed of it; each thing when it is first asked for."""

    def __init__(self, position: Position, written: WrittenLog) -> None:
        self.position = position
        self.written = written
        self._days: dict[date, DayOfWork] = {}

    @cached_property
    def ledger(self) -> Ledger:
        """The ledger."""
        return replay(self.written)

    @cached_property
    def _chains(self) -> dict[EntryNumber, list[LogLine]]:
        """Every entry that was ever corrected: its lines, by the number of its record."""
        records = records_of(self.written.lines)
        touched = set(records.values())
        chains: dict[EntryNumber, list[LogLine]] = defaultdict(list)
        for line in self.written.lines:
            record = records.get(line.number, line.number)
            if record in touched:
                chains[record].append(line)
        return chains

    def day(self, on: date) -> DayOfWork:
        """Return the day of work."""
        if on not in self._days:
            self._days[on] = day_of_work(self.ledger, on)
        return self._days[on]

    def voided(self, on: date) -> tuple[VoidedEntry, ...]:
        """Return the entries of a day that were voided, by number."""
        standing = {record.number for record, _ in current_lines(self.written.lines)[0]}
        implied = Implied(self.written)
        found = []
        for number, lines in self._chains.items():
            said = [line for line in lines if line.work is not None]
            if number not in standing and said and said[-1].work and said[-1].work.day == on:
                entry = implied.entry(said[0], said[-1])
                found.append(VoidedEntry(entry, workplace(self.ledger, entry)))
        return tuple(found)

    def old_lines(self, entry: Entry, *, is_voided: bool = False) -> tuple[str, ...]:
        """Return in words the lines of a corrected entry: what it said, who amended it, and why.

        is_voided: whether the entry was voided; what it said last is no longer shown elsewhere.
        """
        lines = self._chains.get(entry.first, ())
        shown = (line for line in lines if is_voided or line.number != entry.number)
        said = [written_line(line, self.ledger) for line in shown]
        why = next((line.why for line in lines if line.number == entry.number), None)
        if lines and not is_voided and why:
            said.append(f"{entry.number} amends it. Why: {why}")
        return tuple(said)

    def questions(self, on: date) -> dict[EntryNumber, tuple[Check, ...]]:
        """Return the open questions about the entries of a day, by the entry."""
        entries = self.day(on).entries
        if not entries:
            return {}
        still_open = open_and_settled(doubts(self.written, *entries), self.ledger)[0]
        found: dict[EntryNumber, list[Check]] = defaultdict(list)
        for check in still_open:
            for number in check.entries:
                found[number].append(check)
        return {number: tuple(checks) for number, checks in found.items()}


class KeptLog:
    """The log of a production, held in memory for as long as nobody writes.

    One lock: whoever asks sees a whole state, and never one that was overtaken by another program.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = RLock()
        self._state: LogState | None = None

    def now(self) -> LogState:
        """Return the log as it is now. Raises what ``open_log`` and reading raise."""
        with self._lock, open_log(self.folder) as log:
            known = self._state
            before = None if known is None else (known.position, known.written)
            position, written = log.read_on(before)
            if known is None or position != known.position or written is not known.written:
                known = self._state = LogState(position, written)
            return known

    def write(
        self, make: Callable[[WrittenLog, str], tuple[Batch | None, T]]
    ) -> tuple[T, Receipt, LogState]:
        """Write what ``make`` makes of the log as it is; and the state after it.

        make: is asked with the log and the origin of its numbers, and may be asked again.
        """
        with self._lock:
            known = self.now()
            with open_log(self.folder) as log:
                told, receipt = log.write_if_unmoved(
                    lambda written: make(written, log.origin), (known.position, known.written)
                )
            return told, receipt, self.now()


def own_lines(written: WrittenLog, numbers: tuple[EntryNumber, ...]) -> Iterator[LogLine]:
    """Yield the lines of these numbers, in the order in which they were written."""
    wanted = set(numbers)
    return (line for line in written.lines if line.number in wanted)


def says_it_now(written: WrittenLog, line: LogLine) -> LogLine | None:
    """Find the line to correct where a line is to be taken back: the last word on its entry.

    None where somebody has made another thing of the entry since. A void that counts is its own
    last word.
    """
    if line.verb is Verb.VOID:
        return line
    chain = entries_with(written, lambda other: other.number == line.number).lines
    holding = current_lines(chain)[0]
    return next((holds for _, holds in holding if holds.work == line.work), None)
