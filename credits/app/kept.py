"""A production that stays open: its log read once for each state, for several threads."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import TypeVar

from credits.app.work.entries import cells_of, doubts_about, written_line
from credits.app.work.named import Coded, name_of
from credits.checks.answers import open_and_settled
from credits.checks.rule import Check
from credits.footage.day import DayOfWork, Workplace, day_of_work, workplace
from credits.model.facts import EntryNumber, Work
from credits.model.grown import replay_on
from credits.model.ledger import Entry, Ledger
from credits.model.lines import index_of
from credits.model.log import Batch, LogLine, Receipt, Verb, WrittenLog
from credits.model.replay import Implied, current_lines, records_of, replay
from credits.names import fold
from credits.store.log import Log, open_log
from credits.store.news import LogNews
from credits.store.reading import Position
from credits.store.settings import read_settings
from credits.text import fold_code

T = TypeVar("T")

FIELDS = (
    "craft", "person", "on", "shot", "take", "frames", "poses_on", "minutes", "share", "note",
)  # fmt: skip
"""The fields of a row at the desk, in the order in which they are typed."""

RARE_FIELDS = ("wait_minutes", "started_on", "private")
"""Fields that few rows have; they stand below the others where somebody asks for them."""


def words_for(facts: Iterable[Coded]) -> dict[str, str]:
    """Return for each code the word that is typed and shown: the name where it means one thing."""
    every = tuple(facts)
    names = {fact.code: name_of(fact) or "" for fact in every}
    folded = Counter(fold(name) for name in names.values())
    codes = {fold_code(fact.code): fact.code for fact in every}

    def is_own(code: str, name: str) -> bool:
        is_plain = bool(name.strip()) and "," not in name and folded[fold(name)] == 1
        return is_plain and bool(fold(name)) and codes.get(fold_code(name.strip()), code) == code

    return {code: name if is_own(code, name) else code for code, name in names.items()}


class DeskWords:
    """The words of one state of the tables: what a field shows for a code."""

    def __init__(self, written: WrittenLog) -> None:
        self.people = words_for(written.people)
        self.crafts = words_for(written.crafts)
        self.characters = self._characters(written)

    @staticmethod
    def _characters(written: WrittenLog) -> dict[str, str]:
        """Return the words for characters; a name that is the code of something else is none."""
        things: tuple[Coded, ...] = (*written.puppets, *written.parts)
        others = {fold_code(thing.code) for thing in things}
        words = words_for(written.characters)
        return {
            code: f"character {code}" if fold_code(code) in others else
            code if fold_code(word) in others else word
            for code, word in words.items()
        }  # fmt: skip

    def on(self, character: str | None, puppet: str | None, part: str | None) -> str:
        """Return what was worked on as the field ``on`` shows it."""
        whose = None if puppet or not character else self.characters.get(character, character)
        return ", ".join(word for word in (whose, puppet, part) if word)

    def fields(self, work: Work) -> dict[str, str]:
        """Return a piece of work as the fields of a row, the empty ones left out."""
        cells = cells_of(work)
        shown = {
            "craft": self.crafts.get(work.craft, work.craft),
            "person": self.people.get(work.person, work.person),
            "on": self.on(work.character, work.puppet, work.part),
            "shot": work.shot or work.sequence or "",
        }
        names = (*FIELDS, *RARE_FIELDS)
        every = {name: shown.get(name, cells.get(name, "")) for name in names}
        return {name: text for name, text in every.items() if text}


@dataclass(frozen=True, slots=True)
class VoidedEntry:
    """An entry that was voided: what it said last, and where that was done."""

    entry: Entry
    place: Workplace


class LogState:
    """One state of a log, and what is computed of it; each thing when it is first asked for."""

    def __init__(
        self, position: Position, written: WrittenLog, before: LogState | None = None
    ) -> None:
        self.position = position
        self.written = written
        self._days: dict[date, DayOfWork] = {}
        self._lock = RLock()
        # What the state before has computed is carried on where that is quicker; no more is kept.
        self._before: tuple[WrittenLog, Ledger] | None = None
        if before is not None:
            known = before._ledger
            self._before = before._before if known is None else (before.written, known)
        self._ledger: Ledger | None = None
        self._words: DeskWords | None = None
        if before is not None and replace(before.written, lines=()) == replace(written, lines=()):
            self._words = before._words

    @property
    def ledger(self) -> Ledger:
        """The ledger."""
        with self._lock:
            if self._ledger is None:
                if self._before is None:
                    self._ledger = replay(self.written)
                else:
                    written, known = self._before
                    self._ledger = replay_on(known, written, self.written)
                self._before = None
            return self._ledger

    @property
    def words(self) -> DeskWords:
        """The words that fields show for codes."""
        if self._words is None:
            self._words = DeskWords(self.written)
        return self._words

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
        standing = {entry.first for entry in self.ledger.entries} if self._chains else set()
        implied = Implied(self.written)
        found = []
        for number, lines in self._chains.items():
            said = [line for line in lines if line.work is not None]
            if number not in standing and said and said[-1].work and said[-1].work.day == on:
                entry = implied.entry(said[-1], said[0].number, said[0].ref)
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
        still_open = open_and_settled(doubts_about(self.ledger, entries), self.ledger)[0]
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
        self._news = LogNews(folder)

    def now(self) -> LogState:
        """Return the log as it is now. Raises what ``open_log`` and reading raise."""
        with self._lock:
            if self._state is not None and self._is_quiet(self._state):
                return self._state
            with open_log(self.folder) as log:
                return self._renewed(log)

    def _is_quiet(self, known: LogState) -> bool:
        """Tell whether a server says that nothing was written, and the settings are the same."""
        if not self._news.hears or self._news.wait(0):
            return False
        return read_settings(self.folder) == known.written.production

    def _renewed(self, log: Log) -> LogState:
        known = self._state
        before = None if known is None else (known.position, known.written)
        position, written = log.read_on(before)
        if known is None or position != known.position or written is not known.written:
            known = self._state = LogState(position, written, known)
        return known

    def write(
        self, make: Callable[[WrittenLog, str], tuple[Batch | None, T]]
    ) -> tuple[T, Receipt, LogState]:
        """Write what ``make`` makes of the log as it is; and the state after it.

        make: is asked with the log and the origin of its numbers, and may be asked again.
        """
        with self._lock, open_log(self.folder) as log:
            known = self._renewed(log)
            told, receipt = log.write_if_unmoved(
                lambda written: make(written, log.origin), (known.position, known.written)
            )
            return told, receipt, self._renewed(log)


def own_lines(written: WrittenLog, numbers: tuple[EntryNumber, ...]) -> Iterator[LogLine]:
    """Yield the lines of these numbers, one origin's, in the order in which they were written."""
    index = index_of(written.lines)
    return filter(None, map(index.line, sorted(numbers)))


def says_it_now(written: WrittenLog, line: LogLine) -> LogLine | None:
    """Find the line to correct where a line is to be taken back: the last word on its entry.

    None where somebody has made another thing of the entry since. A void that counts is its own
    last word.
    """
    if line.verb is Verb.VOID:
        return line
    holding = current_lines(index_of(written.lines).entry(line.number))[0]
    return next((holds for _, holds in holding if holds.work == line.work), None)
