"""The fold from the log to the ledger: corrections followed, what is implied filled in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial
from operator import attrgetter
from typing import Any, Protocol, TypeVar

from credits.model import facts
from credits.model.lazy import Listed, MadeMapping, Read, Singly, made_of
from credits.model.ledger import (
    Entry,
    Fork,
    Ledger,
    StageWork,
    WaitedFor,
    craft_work,
    done_row,
    performs_in_shot,
    week_work,
    work_done,
)
from credits.model.log import LogLine, Tables, Verb, WrittenLog


def last_confirmations(
    log: WrittenLog, persons: Mapping[str, str]
) -> dict[str, facts.Confirmation]:
    """Return the last word on the spelling of each person's name: by its day, then as written.

    The date in the people table is a word on the name as it stood when the date came in; the store
    writes it down then. Where that was not written down, it is a word on the name as it stands.
    """
    words = list(log.confirmations)
    written = {(word.person, word.confirmed_on) for word in words}
    for person in log.people:
        day = person.name_confirmed_on
        if day is not None and (person.code, day) not in written:
            midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
            said = facts.NewConfirmation(person=person.code, name=person.credit_name)
            words.append(said.written(midnight))
    last: dict[str, facts.Confirmation] = {}
    for word in sorted(words, key=lambda word: word.confirmed_on):
        last[persons.get(word.person, word.person)] = word
    return last


class _Coded(Protocol):
    @property
    def code(self) -> str: ...


T = TypeVar("T")
F = TypeVar("F", bound=_Coded)
K = TypeVar("K", bound=Hashable)


def grouped(items: Iterable[T], key: Callable[[T], K | None]) -> dict[K, tuple[T, ...]]:
    """Return the items by key, in their order; items without a key are left out."""
    groups: dict[K, list[T]] = defaultdict(list)
    for item in items:
        name = key(item)
        if name is not None:
            groups[name].append(item)
    return {name: tuple(group) for name, group in groups.items()}


def one_person(people: Iterable[facts.Person]) -> dict[str, str]:
    """Return for each code that of the human being it stands for (``same_as`` to its end).

    Codes that name each other in a circle stand for the first of them in code order.
    """
    points_at = {p.code: p.same_as for p in people}
    out: dict[str, str] = {}
    for code in points_at:
        seen = [code]
        while (after := points_at[seen[-1]]) in points_at and after not in seen:
            seen.append(after)
        out[code] = min(seen[seen.index(after) :]) if after in seen else seen[-1]
    return out


def back_to_record(line: LogLine, lines: Mapping[facts.EntryNumber, LogLine]) -> Iterator[LogLine]:
    """Yield the line, the one that it corrects, and so on to the record.

    ``lines``: lines of the log by number; the walk ends at one that corrects none of them.
    """
    at: LogLine | None = line
    seen: set[facts.EntryNumber] = set()
    while at is not None and at.number not in seen:
        yield at
        seen.add(at.number)
        at = lines.get(at.corrects) if at.corrects is not None else None


def records_of(lines: Iterable[LogLine]) -> dict[facts.EntryNumber, facts.EntryNumber]:
    """Return for each correction the number of the record that it goes back to."""
    corrections = {line.number: line for line in lines if line.corrects is not None}
    return {
        number: [*back_to_record(line, corrections)][-1].corrects or number
        for number, line in corrections.items()
    }


def entries_with(log: WrittenLog, wanted: Callable[[LogLine], bool]) -> WrittenLog:
    """Return the log with only the entries that have a wanted line, with all their corrections."""
    records = records_of(log.lines)
    keep = {records.get(line.number, line.number) for line in log.lines if wanted(line)}
    lines = tuple(line for line in log.lines if records.get(line.number, line.number) in keep)
    return replace(log, lines=lines)


class _Chains:
    """Which line says each record now. Corrections form trees: a line corrects one other."""

    def __init__(self, lines: Iterable[LogLine]) -> None:
        self.corrections: dict[facts.EntryNumber, list[LogLine]] = defaultdict(list)
        for line in lines:
            if line.corrects is not None:
                self.corrections[line.corrects].append(line)
        self.forks: list[Fork] = []
        self._holds: dict[facts.EntryNumber, LogLine | None] = {}

    def _standing(self, line: LogLine) -> list[LogLine]:
        """The amendments of a line that were not voided themselves, the one that counts last."""
        found = [c for c in self.corrections.get(line.number, ()) if c.verb is Verb.AMEND]
        standing = [c for c in found if self._holds[c.number] is not None]
        return sorted(standing, key=lambda c: (c.logged_at, c.number))

    def _decide(self, line: LogLine) -> LogLine | None:
        corrections = self.corrections.get(line.number, ())
        if any(c.verb is Verb.VOID for c in corrections):
            return None
        standing = self._standing(line)
        if standing:
            return self._holds[standing[-1].number]
        return None if corrections else line

    def line_that_holds(self, record: LogLine) -> LogLine | None:
        """Return the line that says the record now; None when it is voided.

        Of amendments that do not know of each other the later ``logged_at`` counts (then the higher
        number), and one that was voided itself does not compete. A void always counts: what it
        names was never done.
        """
        if record.number not in self.corrections:
            return record
        tree = [record]
        for line in tree:
            tree.extend(self.corrections.get(line.number, ()))
        for line in reversed(tree):
            self._holds[line.number] = self._decide(line)
        self._find_forks(record)
        return self._holds[record.number]

    def _find_forks(self, record: LogLine) -> None:
        at: LogLine | None = record
        while at is not None:
            voids = [c for c in self.corrections.get(at.number, ()) if c.verb is Verb.VOID]
            standing = self._standing(at)
            if len(standing) > 1 or (voids and standing):
                holds = max(voids, key=lambda c: c.number) if voids else standing[-1]
                numbers = tuple(sorted(c.number for c in (*standing, *voids)))
                self.forks.append(Fork(at.number, numbers, holds.number))
            at = standing[-1] if standing and not voids else None


def current_lines(lines: Iterable[LogLine]) -> tuple[list[tuple[LogLine, LogLine]], list[Fork]]:
    """Return the lines that count, as (record, line that says it now), and the forks."""
    written = list(lines)
    chains = _Chains(written)
    current: list[tuple[LogLine, LogLine]] = []
    for line in written:
        if line.verb is Verb.RECORD:
            holds = chains.line_that_holds(line)
            if holds is not None:
                current.append((line, holds))
    current.sort(key=lambda pair: pair[0].number)
    return current, chains.forks


def by_code(table: Sequence[F]) -> Mapping[str, F]:
    """Return the facts of a table by their codes."""

    def make() -> dict[str, F]:
        return {fact.code: fact for fact in table}

    if not isinstance(table, Listed):
        return made_of(table, make)
    return Singly(table, make, lambda code: next(iter(table.having("code", code)), None))


def by_field(table: Sequence[T], field: str) -> Mapping[str, tuple[T, ...]]:
    """Return the facts of a table by what they name in a field."""

    def make() -> dict[str, tuple[T, ...]]:
        return grouped(table, attrgetter(field))

    if not isinstance(table, Listed):
        return made_of(table, make)
    return Singly(table, make, lambda code: table.having(field, code) or None)


def _takes(table: Sequence[facts.Take]) -> Mapping[tuple[str, int], facts.Take]:
    """Return takes by their shots and numbers."""

    def make() -> dict[tuple[str, int], facts.Take]:
        return {(take.shot, take.number): take for take in table}

    def find(key: tuple[str, int]) -> facts.Take | None:
        assert isinstance(table, Listed)
        return next((take for take in table.having("shot", key[0]) if take.number == key[1]), None)

    return Singly(table, make, find) if isinstance(table, Listed) else made_of(table, make)


def _joined(people: Sequence[facts.Person]) -> Mapping[str, str]:
    """Return the codes that stand for another one, and that other."""
    if not isinstance(people, Listed):
        return made_of(people, lambda: _others(one_person(people)))
    return MadeMapping(lambda: _others(one_person(people.having(SAME, None))))


def _others(persons: Mapping[str, str]) -> dict[str, str]:
    return {code: one for code, one in persons.items() if code != one}


def _persons(people: Sequence[facts.Person], joined: Mapping[str, str]) -> Mapping[str, str]:
    """Return for each code the one that it stands for, as ``one_person``."""

    def make() -> dict[str, str]:
        return one_person(people)

    if not isinstance(people, Listed):
        return made_of(people, make)
    of_code = by_code(people)
    return Singly(
        people, make, lambda code: joined.get(code) or (code if code in of_code else None)
    )


SAME = "same_as"
"""Of people: None there means everybody who is the same as another, and that other."""


class Implied:
    """What a piece of work implies, by the tables as they stand."""

    def __init__(self, log: Tables) -> None:
        self.crafts = by_code(log.crafts)
        self.puppets = by_code(log.puppets)
        self.parts = by_code(log.parts)
        self.shots = by_code(log.shots)
        self.joined = _joined(log.people)
        self.persons = _persons(log.people, self.joined)
        self._copies = by_field(log.puppets, "character")

    def only_puppet(self, character: str) -> str | None:
        """Return the only puppet of a character; None where there is none, or several."""
        copies = self._copies.get(character, ())
        return copies[0].code if len(copies) == 1 else None

    def character(self, work: facts.Work) -> str | None:
        """Return the character that work names, or that of the puppet or part it names."""
        if work.character is not None:
            return work.character
        if work.puppet is not None:
            return self.puppets[work.puppet].character
        return self.parts[work.part].character if work.part is not None else None

    def target(
        self,
        craft: str,
        character: str | None,
        puppet: str | None,
        part: str | None,
        take: int | None,
        *,
        in_shot: bool,
    ) -> tuple[str | None, str | None, int | None]:
        """Return character, puppet and take that work on these names or implies.

        in_shot: whether it names a shot.
        """
        kind = self.crafts[craft]
        if character is None:
            if puppet is not None:
                character = self.puppets[puppet].character
            elif part is not None:
                character = self.parts[part].character
        # A build on a character is a build on the character, however few copies it has: only work
        # in shots is done with a puppet in hand.
        if puppet is None and character is not None and kind.kind is facts.Kind.PERFORMANCE:
            puppet = self.only_puppet(character)
        if in_shot and take is None and kind.footage:
            take = 1
        return character, puppet, take

    def entry(self, line: LogLine, first: facts.EntryNumber, ref: str | None = None) -> Entry:
        """Make an entry from the line that says it now.

        first: the number of the record that it goes back to. ref: that of the record, which holds
        where the line has none.
        """
        work = line.work
        assert work is not None
        character, puppet, take = self.target(
            work.craft,
            work.character,
            work.puppet,
            work.part,
            work.take,
            in_shot=work.shot is not None,
        )
        frames = work.frames
        if work.shot is not None and frames is None:
            frames = self.shots[work.shot].frames
        return Entry(
            number=line.number,
            first=first,
            logged_at=line.logged_at,
            work=work,
            craft=work.craft,
            person=self.persons.get(work.person, work.person),
            character=character,
            puppet=puppet,
            part=work.part,
            sequence=work.sequence,
            shot=work.shot,
            take=take,
            frames=frames if work.shot is not None else None,
            day=work.day,
            stage=work.stage,
            ref=line.ref or ref,
            logged_by=line.logged_by,
            source=line.source,
        )


BY_WHAT = ("person", "shot", "character", "puppet", "part", "day")
"""What a ledger has its entries by."""


def written_undated(entry: Entry) -> date | None:
    """Return the day on which an entry without a day was written down; None for a dated one."""
    return entry.logged_at.date() if entry.day is None else None


LOOKED_UP: dict[str, Callable[[Entry], Hashable | None]] = {
    **{f"entries_by_{name}": attrgetter(name) for name in BY_WHAT},
    "undated_by_writing": written_undated,
}
"""Every field of a ledger that has groups of entries, and by what of an entry."""


def looked_at(entries: Sequence[Entry], crafts: Mapping[str, facts.Craft]) -> dict[str, Any]:
    """Return every field of a ledger that says a part of what entries do, made when asked for."""

    def on_stage() -> tuple[StageWork, ...]:
        names = attrgetter("person", "day", "shot", "take", "puppet", "work.minutes")
        return tuple([StageWork._make(names(e)) for e in entries if crafts[e.craft].footage])

    def waited() -> tuple[WaitedFor, ...]:
        return tuple(
            [
                WaitedFor(e.number, e.puppet, e.part, e.shot, e.day, e.work.wait_minutes)
                for e in entries
                if e.work.wait_minutes and crafts[e.craft].repair
            ]
        )

    done = Read(lambda: work_done(map(done_row, entries)))

    def performed() -> tuple[str, ...]:
        return tuple(sorted({e.person for e in entries if performs_in_shot(crafts, e)}))

    return {
        "done": done,
        "by_craft": MadeMapping(partial(craft_work, entries)),
        "by_week": MadeMapping(partial(week_work, entries)),
        "performed": Read(performed),
        "on_stage": Read(on_stage),
        "waited": Read(waited),
    }


def replay(log: WrittenLog) -> Ledger:
    """Return the ledger that the log makes. The order of unrelated lines does not matter."""
    implied = Implied(log)
    current, forks = current_lines(log.lines)
    entries = tuple(implied.entry(line, record.number, record.ref) for record, line in current)
    return ledger_of_entries(log, implied, entries, forks)


def ledger_of_entries(
    log: WrittenLog, implied: Implied, entries: tuple[Entry, ...], forks: Iterable[Fork]
) -> Ledger:
    """Return the ledger of entries, and of the tables of the log that they are in.

    entries: those that count, by number.
    """
    return ledger_of(
        log,
        implied,
        entries=entries,
        brief=entries,
        **looked_at(entries, implied.crafts),
        forks=tuple(sorted(forks, key=lambda fork: fork.line)),
        last_line=max((line.number for line in log.lines), default=None),
        last_day=max((entry.day for entry in entries if entry.day is not None), default=None),
        by_number={entry.number: entry for entry in entries},
        **{name: grouped(entries, key) for name, key in LOOKED_UP.items()},
    )


def _codes_by(table: Sequence[F], field: str) -> Mapping[str, tuple[str, ...]]:
    """Return the codes of the facts of a table by what these name in a field."""

    def codes(own: Iterable[F]) -> tuple[str, ...]:
        return tuple([fact.code for fact in own])

    def make() -> dict[str, tuple[str, ...]]:
        return {name: codes(own) for name, own in grouped(table, attrgetter(field)).items()}

    if not isinstance(table, Listed):
        return made_of(table, make)
    return Singly(table, make, lambda code: codes(table.having(field, code)) or None)


def _engagements(
    table: Sequence[facts.Engagement], implied: Implied
) -> Mapping[str, tuple[facts.Engagement, ...]]:
    """Return the engagements of each person, whichever of the codes they name."""

    def make() -> dict[str, tuple[facts.Engagement, ...]]:
        joined = implied.joined
        return grouped(table, lambda each: joined.get(each.person, each.person))

    def find(person: str) -> tuple[facts.Engagement, ...] | None:
        assert isinstance(table, Listed)
        if person in implied.joined:
            return None
        others = [code for code, one in implied.joined.items() if one == person]
        return table.having("person", (person, *others)) or None

    return Singly(table, make, find) if isinstance(table, Listed) else made_of(table, make)


def ledger_of(log: WrittenLog, implied: Implied, **entries: Any) -> Ledger:
    """Return the ledger of tables that were read.

    entries: the fields that the lines of the log make: the entries and everything by which they
    are looked up.
    """
    persons = implied.persons
    return Ledger(
        production=log.production,
        crafts=implied.crafts,
        people=by_code(log.people),
        engagements=_engagements(log.engagements, implied),
        characters=by_code(log.characters),
        puppets=implied.puppets,
        parts=implied.parts,
        fittings=log.fittings,
        replacements=log.replacements,
        sequences=by_code(log.sequences),
        shots=implied.shots,
        stages=by_code(log.stages),
        takes=_takes(log.takes),
        cut=log.cut,
        cut_versions=log.cut_versions,
        one_person=persons,
        puppets_of=_codes_by(log.puppets, "character"),
        fittings_of_puppet=by_field(log.fittings, "puppet"),
        fittings_of_part=by_field(log.fittings, "part"),
        replacements_by_shot=by_field(log.replacements, "shot"),
        shots_of=_codes_by(log.shots, "sequence"),
        takes_of=by_field(log.takes, "shot"),
        settlements=log.settlements,
        confirmations=made_of(log.people, lambda: last_confirmations(log, persons)),
        **entries,
    )
