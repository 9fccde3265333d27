"""A ledger carried on with the lines that were written behind it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from operator import attrgetter
from typing import Any, NamedTuple

from credits.model.facts import EntryNumber
from credits.model.lazy import Changed, Read
from credits.model.ledger import Entry, Fork, Ledger, WorkDone, done_row, work_done
from credits.model.lines import index_of
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import LOOKED_UP, Implied, current_lines, grouped, looked_at, replay


class Turn(NamedTuple):
    """What new lines make of the entries that they record or correct.

    records: the numbers of these entries. gone: as they stood before; come: as they stand now.
    lines: the numbers of all their lines. forks: those that are among them now.
    last: the highest number of the new lines; None: there are none.
    """

    records: frozenset[EntryNumber]
    gone: tuple[Entry, ...]
    come: tuple[Entry, ...]
    lines: frozenset[EntryNumber]
    forks: tuple[Fork, ...]
    last: EntryNumber | None


def turned(log: WrittenLog, new: Sequence[LogLine]) -> Turn:
    """Find what new lines make of the entries. log: as it was before them."""
    implied, index = Implied(log), index_of(log.lines)
    before: dict[EntryNumber, LogLine] = {}
    after: dict[EntryNumber, LogLine] = {}
    for line in new:
        if line.corrects is not None and line.corrects not in after:
            own = {each.number: each for each in index.entry(line.corrects)}
            before |= own
            after = own | after
        after[line.number] = line
    was, _ = current_lines(before.values())
    now, forks = current_lines(after.values())
    return Turn(
        frozenset(line.number for line in after.values() if line.verb is Verb.RECORD),
        tuple(implied.entry(line, record.number, record.ref) for record, line in was),
        tuple(implied.entry(line, record.number, record.ref) for record, line in now),
        frozenset(after),
        tuple(forks),
        max((line.number for line in new), default=None),
    )


def ledger_with(ledger: Ledger, log: WrittenLog, turn: Turn) -> Ledger:
    """Return the ledger with lines more: that of ``replay``, in a time that follows the lines.

    log: what the ledger was made of. turn: what the lines make of its entries.
    Where the ledger reads its entries when they are asked for, so does the one that is returned.
    """
    if turn.last is None:
        return ledger

    def with_it(entries: Iterable[Any], come: Iterable[Entry]) -> tuple[Any, ...]:
        kept = (entry for entry in entries if entry.first not in turn.records)
        return tuple(sorted((*kept, *come), key=attrgetter("first")))

    def every(entries: Sequence[Any]) -> Sequence[Any]:
        if isinstance(entries, tuple):
            return with_it(entries, turn.come)
        return Read(lambda: with_it(entries, turn.come))

    def by(name: str) -> Mapping[Any, tuple[Any, ...]]:
        known: Mapping[Any, tuple[Any, ...]] = getattr(ledger, name)
        come = grouped(turn.come, LOOKED_UP[name])
        keys = (*come, *grouped(turn.gone, LOOKED_UP[name]))
        changed = Changed(
            known, keys, lambda key, own: with_it(own or (), come.get(key, ())) or None
        )
        if not isinstance(known, dict):
            return changed
        # In the order in which the entries come, as ``replay`` has them.
        return dict(sorted(changed.items(), key=lambda own: own[1][0].first))

    def by_number() -> Mapping[EntryNumber, Any]:
        if isinstance(ledger.by_number, dict):
            return {entry.number: entry for entry in entries}
        come = {entry.number: entry for entry in turn.come}
        keys = (*come, *(entry.number for entry in turn.gone))
        return Changed(ledger.by_number, keys, lambda number, _: come.get(number))

    def done() -> tuple[WorkDone, ...]:
        every = chain.from_iterable(each.rows for each in ledger.done)
        kept = (row for row in every if row[:2] not in turn.records)
        return work_done(sorted((*kept, *map(done_row, turn.come))))

    entries = every(ledger.entries)
    looked_up: dict[str, Any] = {
        **looked_at(entries, ledger.crafts),
        "done": Read(done),
        **{name: by(name) for name in LOOKED_UP},
    }
    days = [entry.day for entry in turn.come if entry.day is not None]
    last_day = ledger.last_day
    if last_day in {entry.day for entry in turn.gone}:
        last_day = index_of(log.lines).last_day_but(turn.records)
    others = (fork for fork in ledger.forks if fork.line not in turn.lines)
    return replace(
        ledger,
        entries=entries,
        brief=entries if ledger.brief is ledger.entries else every(ledger.brief),
        forks=tuple(sorted((*others, *turn.forks), key=lambda fork: fork.line)),
        by_number=by_number(),
        last_line=max(turn.last, ledger.last_line or turn.last),
        last_day=max((*days, *((last_day,) if last_day is not None else ())), default=None),
        **looked_up,
    )


def ledger_of_some(ledger: Ledger, entries: Iterable[Entry]) -> Ledger:
    """Return the ledger with these entries alone, and all the rest as it is."""
    own = tuple(sorted(entries, key=attrgetter("first")))
    by: dict[str, Any] = {name: grouped(own, key) for name, key in LOOKED_UP.items()}
    by |= looked_at(own, ledger.crafts)
    by_number = {entry.number: entry for entry in own}
    return replace(ledger, entries=own, brief=own, by_number=by_number, **by)


def replay_on(ledger: Ledger, before: WrittenLog, log: WrittenLog) -> Ledger:
    """Return the ledger of a log that has grown since ``ledger`` was made of it.

    The same as ``replay``, in a time that follows what is new where that is lines alone.
    before: the log as it was; the lines of ``log`` begin with its lines.
    """
    if replace(before, lines=()) != replace(log, lines=()):
        return replay(log)
    return ledger_with(ledger, before, turned(before, log.lines[len(before.lines) :]))


def entry_of(log: WrittenLog, number: EntryNumber) -> Entry | None:
    """Return the entry that the line says or corrects, as it now stands; None when voided."""
    current, _ = current_lines(index_of(log.lines).entry(number))
    implied = Implied(log)
    return next((implied.entry(line, first.number, first.ref) for first, line in current), None)
