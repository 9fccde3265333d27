"""Lines of a log found by what a single entry asks of them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import overload

from credits.model.facts import EntryNumber, Work
from credits.model.log import LogLine, Verb
from credits.model.replay import Implied, current_lines, records_of

OF_ALL_SHEETS = "="
"""What a ref begins with that is a key of the production; others are keys within their sheet."""


class LineIndex(ABC):
    """Finds lines of a log. However many there are, no more is looked at than is asked for."""

    @abstractmethod
    def entry(self, number: EntryNumber) -> tuple[LogLine, ...]:
        """Return the entry that a line belongs to: its record and all that corrects it.

        In the order in which they were written; empty: the log has no such line.
        """

    @abstractmethod
    def with_ref(self, ref: str) -> tuple[LogLine, ...]:
        """Return the entries that have a ref that was given by hand, each with all its lines."""

    @abstractmethod
    def on_the_same(self, work: Work, implied: Implied) -> tuple[LogLine, ...]:
        """Return the lines that say entries now, of the same person, craft and day, on the same.

        Perhaps some more; in the order of their records. implied: what work implies.
        """

    @abstractmethod
    def last_entry(self, origin: str) -> LogLine | None:
        """Return what says now the last entry of an origin that was not voided."""

    @abstractmethod
    def last_number(self, origin: str) -> EntryNumber | None:
        """Return the highest number of an origin."""

    @abstractmethod
    def last_day_but(self, records: Collection[EntryNumber]) -> date | None:
        """Return the last day of all entries but these. records: the numbers of their records."""

    def line(self, number: EntryNumber) -> LogLine | None:
        """Return the line of a number."""
        return next((line for line in self.entry(number) if line.number == number), None)

    def record(self, number: EntryNumber) -> EntryNumber:
        """Return the number of the record that a line goes back to."""
        lines = self.entry(number)
        return next((line.number for line in lines if line.verb is Verb.RECORD), number)


@dataclass(frozen=True)
class HeldLines(LineIndex):
    """Finds lines among those that are in memory."""

    lines: tuple[LogLine, ...]

    @cached_property
    def _records(self) -> dict[EntryNumber, EntryNumber]:
        return records_of(self.lines)

    def _entries(self, records: Collection[EntryNumber]) -> tuple[LogLine, ...]:
        of = self._records
        return tuple(line for line in self.lines if of.get(line.number, line.number) in records)

    def entry(self, number: EntryNumber) -> tuple[LogLine, ...]:
        lines = self._entries({self._records.get(number, number)})
        return lines if any(line.number == number for line in lines) else ()

    def with_ref(self, ref: str) -> tuple[LogLine, ...]:
        is_of_all = ref.startswith(OF_ALL_SHEETS)
        return self._entries(
            {
                self._records.get(line.number, line.number)
                for line in self.lines
                if line.ref == ref and (line.sheet is None or is_of_all)
            }
        )

    def on_the_same(self, work: Work, implied: Implied) -> tuple[LogLine, ...]:
        del implied

        def is_like(other: LogLine) -> bool:
            said = other.work
            return (
                said is not None
                and (said.person, said.craft) == (work.person, work.craft)
                and (said.day, said.shot) == (work.day, work.shot)
            )

        like = {self._records.get(line.number, line.number) for line in self.lines if is_like(line)}
        current, _ = current_lines(self._entries(like))
        return tuple(line for _, line in current if is_like(line))

    def last_entry(self, origin: str) -> LogLine | None:
        own = (pair for pair in current_lines(self.lines)[0] if pair[0].number.origin == origin)
        last = max(own, key=lambda pair: pair[0].number, default=None)
        return None if last is None else last[1]

    def last_number(self, origin: str) -> EntryNumber | None:
        own = (line.number for line in self.lines if line.number.origin == origin)
        return max(own, default=None)

    def last_day_but(self, records: Collection[EntryNumber]) -> date | None:
        current, _ = current_lines(self.lines)
        works = (line.work for record, line in current if record.number not in records)
        return max((work.day for work in works if work and work.day is not None), default=None)


class IndexedLines(Sequence[LogLine], LineIndex):
    """The lines of a log that are read when somebody looks at all of them, and found until then."""

    @property
    @abstractmethod
    def all(self) -> tuple[LogLine, ...]:
        """Return every line, in the order in which they were written."""

    @overload
    def __getitem__(self, at: int) -> LogLine: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[LogLine, ...]: ...
    def __getitem__(self, at: int | slice) -> LogLine | tuple[LogLine, ...]:
        return self.all[at]

    def __len__(self) -> int:
        return len(self.all)

    def __iter__(self) -> Iterator[LogLine]:
        return iter(self.all)


def index_of(lines: Sequence[LogLine]) -> LineIndex:
    """Return what finds lines among the lines of a log."""
    return lines if isinstance(lines, LineIndex) else HeldLines(tuple(lines))
