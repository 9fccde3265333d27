"""Lines of the log found by the figures that are kept, for whoever writes single entries."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date
from functools import cached_property

from credits.figures.lookups import day_of
from credits.model.facts import EntryNumber, Work
from credits.model.lines import OF_ALL_SHEETS, IndexedLines
from credits.model.log import LogLine, WrittenLog
from credits.model.replay import Implied
from credits.store.beside.kept import FiguresFile


class KeptLines(IndexedLines):
    """The lines of a log whose figures are open, and stand where the log stands."""

    def __init__(self, file: FiguresFile) -> None:
        self._file = file

    @cached_property
    def all(self) -> tuple[LogLine, ...]:
        return tuple(self._file.read().lines)

    def entry(self, number: EntryNumber) -> tuple[LogLine, ...]:
        return self._file.chain(number)

    def with_ref(self, ref: str) -> tuple[LogLine, ...]:
        return self._file.chains_with_ref(ref, of_sheets=ref.startswith(OF_ALL_SHEETS))

    def on_the_same(self, work: Work, implied: Implied) -> tuple[LogLine, ...]:
        character, puppet, take = implied.target(
            work.craft,
            work.character,
            work.puppet,
            work.part,
            work.take,
            in_shot=work.shot is not None,
        )
        day = None if work.day is None else work.day.isoformat()
        # Looked up by the person alone (``+``: not by an index), who has the fewest entries.
        condition = (
            "s.person = ? AND +s.craft = ? AND +s.character IS ? AND +s.puppet IS ?"
            " AND +s.shot IS ? AND s.take IS ? AND +s.day IS ?"
        )
        person = implied.persons.get(work.person, work.person)
        same = (person, work.craft, character, puppet, work.shot, take, day)
        return tuple(line for line, *_ in self._file.entries(condition, same))

    def last_entry(self, origin: str) -> LogLine | None:
        number = self._file.last_standing(origin)
        return None if number is None else self.line(number)

    def last_number(self, origin: str) -> EntryNumber | None:
        return self._file.last_number(origin)

    def last_day_but(self, records: Collection[EntryNumber]) -> date | None:
        return day_of(self._file.last_day_but(records))


def written_log(file: FiguresFile) -> WrittenLog:
    """Return the log whose figures are open: its tables; its lines are found when asked for."""
    return replace(file.tables(), lines=KeptLines(file))
