"""The day as a session: what its short lines mean, what was written in it, what is still missing.

The log stays open; of it is read what a line needs, as it is then.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import NamedTuple

from credits.app.work.entries import (
    Logged,
    Plan,
    PlannedLine,
    amending,
    cells_of,
    find_entry,
    new_entries,
    voiding,
    write_planned,
)
from credits.app.work.line import (
    COLUMN_WORDS,
    KINDS,
    THINGS,
    WHERE,
    LineReader,
    Word,
    character_reader,
    filled,
)
from credits.app.work.named import day_named, fact_named, name_of, text_meant
from credits.app.work.opened import EntryLog
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.footage.day import WorkplaceDay, day_of_work, lacking, underway
from credits.model.facts import EntryNumber, Kind
from credits.model.ledger import Entry, Ledger
from credits.model.lines import index_of
from credits.model.log import REFERENCE_TABLES, NewLine, Verb, WrittenLog
from credits.model.words import counted
from credits.store.log import Log
from credits.text import fold_code

UNDONE = "undone in the session"
COMMANDS = ("undo", "void", "amend", "list", "stage", "day")
INHERITED = (
    "craft", "character", "puppet", "part", "sequence", "shot", "take", "poses_on", "stage",
)  # fmt: skip
"""What a line has as the line before had it, where it says nothing else."""

Cells = Mapping[str, str]


class StillMissing(NamedTuple):
    """What a place lacks on the day: entries with the columns they lack, people with nothing."""

    place: str
    entries: tuple[tuple[Entry, tuple[str, ...]], ...]
    idle: tuple[str, ...]


def as_before(
    said: Cells,
    before: Sequence[Cells],
    character_of: Callable[[Cells], str | None],
    in_shots: Collection[str],
) -> dict[str, str]:
    """Return the cells of a line with what it does not say taken from the lines before it.

    before: what the person was on, the latest first. The first that contradicts nothing is taken,
    else the first of the same craft; where a line names another craft, nothing is.
    in_shots: the crafts that go on in a shot; of the others a shot says nothing about the next.
    """

    def agrees(each: Cells) -> bool:
        if any(said.get(c) for c in THINGS) and character_of(said) != character_of(each):
            return False
        return all(_same(said, each, column) for column in INHERITED)

    of_craft = [each for each in before if _same(said, each, "craft")]
    chosen = next(filter(agrees, of_craft), of_craft[0] if of_craft else {})
    goes_on = chosen.get("craft") in in_shots
    kept = (c for c in INHERITED if c in chosen and (goes_on or c not in WHERE))
    return filled(said, {column: chosen[column] for column in kept}, character_of)


def _same(said: Cells, other: Cells, column: str) -> bool:
    own, its = said.get(column), other.get(column)
    return not own or not its or fold_code(own) == fold_code(its)


class DaySession:
    """One sitting at an open log: a day, perhaps a stage, and the lines that were written."""

    def __init__(self, log: Log, on: date, stage: str | None = None) -> None:
        self.log = log
        self.on = on
        self.stage = stage
        self.written: list[tuple[Logged, ...]] = []
        # Entries that were voided and are there again, by the number of their record.
        self._said_again: dict[EntryNumber, EntryNumber] = {}
        self._entries = EntryLog(log)
        self._now = self._entries.now()
        self._reader = self._new_reader()
        self._look_back()

    def now(self) -> WrittenLog:
        """Return the log as it is now; its lines are found when they are asked for."""
        before = self._now.written
        self._now = self._entries.now()
        now = self._now.written
        if any(getattr(now, name) is not getattr(before, name) for name in REFERENCE_TABLES):
            self._reader = self._new_reader()
        return now

    def ledger(self) -> Ledger:
        """Return the ledger as it is now; its entries are looked up when they are asked for."""
        self.now()
        return self._now.ledger

    def _new_reader(self) -> LineReader:
        written = self._now.written
        self._character_of = character_reader(written)
        self._in_shots = {c.code for c in written.crafts if c.kind is Kind.PERFORMANCE}
        return LineReader(written, date.today())

    def be_on(self, day: str) -> None:
        """Go to another day. Raises WrongCall."""
        self.on = day_named(day, "day")
        self._look_back()

    def be_at(self, stage: str) -> None:
        """Go to another stage; ``none``: to wherever each person was. Raises WrongCall."""
        wanted = stage.strip()
        if wanted.lower() in ("", "none"):
            self.stage = None
        else:
            self.stage = fact_named("stages", wanted, self.now().stages).code
        self._look_back()

    # --- Lines of work

    def cells(self, words: Sequence[Word]) -> dict[str, str]:
        """Return the cells that a line means, with everything that it does not say.

        Raises WrongCall where it says too little, or a word means nothing or several things.
        """
        self.now()
        said = self._reader.read(words, is_shot_known=True)
        if not said.get("person"):
            raise WrongCall(Finding("the line says not who did it", "Write: ana 31-60 8h."))
        before = next(filter(None, map(self._before, said["person"].split(","))), [])
        cells = as_before(said, before, self._character_of, self._in_shots)
        if not said.get("stage"):
            self._shot_of_the_stage(cells)
        self._frames_of_the_line_before(cells)
        if not cells.get("craft"):
            hint = "Write it once: animation ana wick 010-020 1-30 8h."
            raise WrongCall(Finding("the line says no craft, and no line before does", hint))
        if self.stage is not None and "stage" not in said:
            cells["stage"] = self.stage
        if not {"finished_on", "started_on"} & said.keys():
            cells["finished_on"] = self.on.isoformat()
        return cells

    def _shot_of_the_stage(self, cells: dict[str, str]) -> None:
        """Let a performance that names no shot be in the one that the stage was last said to be in.

        Somebody who comes to the stage on that day works on what is there.
        """
        is_free = self.stage is not None and not any(cells.get(column) for column in WHERE[:3])
        if not is_free or cells.get("craft") not in self._in_shots:
            return
        today = [entry.work for place in self._places for entry in place.entries]
        own = (each.line.work for group in self.written for each in group if each.line)
        works = [work for work in (*today, *own) if work and work.shot is not None]
        if works and works[-1].stage == self.stage and works[-1].day == self.on:
            said = cells_of(works[-1])
            cells |= {column: said[column] for column in ("shot", "take") if column in said}

    def _frames_of_the_line_before(self, cells: dict[str, str]) -> None:
        """Let another character in the same shot be in the frames of the person's line before.

        Who animates several characters at once does so frame by frame.
        """
        works = (each.line.work for group in self.written for each in group if each.line)
        own = [work for work in works if work and work.person == cells.get("person")]
        if not own or own[-1].day != self.on or "frames" in cells:
            return
        before = cells_of(own[-1])
        is_there = all(before.get(c) == cells.get(c) for c in ("craft", "shot", "take"))
        is_other = self._character_of(cells) != self._character_of(before)
        if is_there and is_other and "frames" in before:
            cells["frames"] = before["frames"]

    def _before(self, person: str) -> list[Cells]:
        """Return what a person was on, the latest first: in the session, the day, the days before.

        person: a code, or a name where it was named as ``person NAME``.
        """
        code = fact_named("people", person, self._now.written.people).code
        own = [
            cells_of(logged.line.work)
            for group in reversed(self.written)
            for logged in reversed(group)
            if logged.line and logged.line.work and logged.line.work.person == code
        ]
        return [*own, *(cells for who, cells in self._underway if who == code)]

    def _look_back(self) -> None:
        """Note what everybody at the place was on, the latest first."""
        ledger = self.ledger()
        self._places = tuple(self._here(ledger))
        today = [entry for place in self._places for entry in place.entries]
        found: list[tuple[str, Cells]] = [(e.person, cells_of(e.work)) for e in reversed(today)]
        for place in self._places:
            for row in underway(ledger, place):
                cells = {c: str(v) for c in INHERITED if (v := getattr(row, c, None)) is not None}
                if place.place.stage is not None:
                    cells["stage"] = place.place.stage
                found.append((row.person, cells))
        self._underway = found

    def _here(self, ledger: Ledger) -> Iterator[WorkplaceDay]:
        for place in day_of_work(ledger, self.on).places:
            if self.stage in (None, place.place.stage):
                yield place

    def log_line(self, words: Sequence[Word]) -> tuple[Logged, ...]:
        """Write the entries that a line says, one for each person. Raises WrongCall."""
        cells = self.cells(words)
        return self._write(lambda written, _: new_entries(cells, written, date.today()))

    def _write(self, plan: Plan) -> tuple[Logged, ...]:
        logged = write_planned(self._entries, plan)
        if any(each.line is not None for each in logged):
            self.written.append(logged)
        return logged

    # --- Corrections

    def amend(self, words: Sequence[Word]) -> tuple[Logged, ...]:
        """Amend the entries that the first words name as the others say. Raises WrongCall."""
        numbers, rest = self._numbers(words)
        self.now()
        changes = self._reader.read(rest, is_shot_known=True)
        if not changes:
            raise WrongCall(Finding("nothing to change", "Write: amend A-3 frames 1-24."))
        return self._write(amending(numbers, changes, None))

    def void(self, words: Sequence[Word]) -> tuple[Logged, ...]:
        """Void the entries that the first words name; the others are the reason."""
        numbers, rest = self._numbers(words)
        why = text_meant(" ".join(word.text for word in rest), "why")
        if not why:
            raise WrongCall(Finding("a void needs a reason", "Write: void A-3 logged twice."))
        return self._write(voiding(numbers, why))

    def _numbers(self, words: Sequence[Word]) -> tuple[list[str], Sequence[Word]]:
        """Part the numbers of entries at the beginning from the words behind them."""
        if not words:
            raise WrongCall(Finding("names no entry", f"Write for example {self.log.origin}-3."))
        own = re.compile(rf"{re.escape(self.log.origin)}-\d+", re.IGNORECASE)
        count = 1
        while count < len(words) and own.fullmatch(words[count].text):
            count += 1
        return [word.text for word in words[:count]], words[count:]

    def undo(self) -> tuple[Logged, ...]:
        """Take the own last line back: what it wrote is voided, what it amended is as before.

        Raises WrongCall where nothing is left, ProblemsFound where somebody has amended it since.
        """
        if not self.written:
            raise WrongCall(Finding("nothing of this session is left to undo"))
        group = [each for each in self.written[-1] if each.line is not None]

        def undoing(written: WrittenLog, origin: str) -> list[PlannedLine]:
            return [self._undone(each, written, origin) for each in group]

        logged = write_planned(self._entries, undoing)
        self.written.pop()
        index = index_of(self._now.written.lines)
        for done, undone in zip(group, logged, strict=True):
            if done.line and done.line.verb is Verb.VOID and done.holds is not None:
                voided = done.holds.number
                self._said_again[index.record(voided)] = undone.number
        return logged

    def _undone(self, done: Logged, written: WrittenLog, origin: str) -> PlannedLine:
        assert done.line is not None
        before = done.holds.work if done.holds is not None else None
        if done.line.verb is Verb.VOID:
            return PlannedLine(NewLine(verb=Verb.RECORD, work=before))
        number = index_of(written.lines).record(done.number)
        while number in self._said_again:
            number = self._said_again[number]
        holds = find_entry(str(number), written, origin)[1]
        if holds.work != done.line.work:
            what = f"was amended since, by {holds.number}"
            raise ProblemsFound(Finding(what, "Amend or void that one.", value=str(done.number)))
        undone = NewLine(verb=Verb.VOID, corrects=holds.number, why=UNDONE)
        if done.line.verb is Verb.AMEND:
            undone = replace(undone, verb=Verb.AMEND, work=before)
        return PlannedLine(undone, holds, holds.number)

    # --- What there is

    def entries(self) -> list[Entry]:
        """Return the entries of the day at the place, by number."""
        places = self._here(self.ledger())
        found = [entry for place in places for entry in place.entries]
        return sorted(found, key=lambda entry: entry.number)

    def numbers(self) -> list[EntryNumber]:
        """Return the numbers that this session wrote and did not undo."""
        return [each.number for group in self.written for each in group if each.line is not None]

    def missing(self) -> list[StillMissing]:
        """Return what is still missing on the day, at the stage or wherever it wrote."""
        ledger = self.ledger()
        own = set(self.numbers())
        found = []
        for place in self._here(ledger):
            if self.stage is None and own.isdisjoint(entry.number for entry in place.entries):
                continue
            lacks = ((entry, lacking(ledger, entry)) for entry in place.entries)
            entries = tuple((entry, columns) for entry, columns in lacks if columns)
            idle = tuple(ledger.people[person].credit_name for person in place.idle)
            if entries or idle:
                found.append(StillMissing(place.place.name, entries, idle))
        return found

    def completions(self, text: str) -> list[str]:
        """Return the words that a half-typed word may become: codes, else codes by their names."""
        wanted = text.casefold()
        facts = [fact for table in KINDS.values() for fact in getattr(self._now.written, table)]
        words = [*(fact.code for fact in facts), *COLUMN_WORDS, *COMMANDS]
        found = [word for word in words if word.casefold().startswith(wanted)]
        if not found and text:
            named = (
                fact.code
                for fact in facts
                if any(word.startswith(wanted) for word in (name_of(fact) or "").casefold().split())
            )
            found = list(dict.fromkeys(named))
            return found if len(found) == 1 else []
        return list(dict.fromkeys(found))


def in_words(numbers: Sequence[EntryNumber]) -> str:
    """Say which entries were written: ``3 entries: A-8 to A-10``."""
    if not numbers:
        return "Nothing was written."
    said = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    return f"Written: {counted(len(numbers), 'line')}, {said}."
