"""Repairs that animators waited for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import NamedTuple

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger, StageWork


class OnPuppet(NamedTuple):
    """That a person animated a puppet in a shot; days: those that are known, as texts."""

    shot: str | None
    person: str
    puppet: str
    days: frozenset[str]


def on_puppets(on_stage: Iterable[StageWork]) -> list[OnPuppet]:
    """Return who animated which puppet in which shot on which days."""
    found: dict[tuple[str | None, str, str], set[str]] = defaultdict(set)
    text = cache(date.isoformat)
    for person, day, shot, _, puppet, _ in on_stage:
        if puppet is not None:
            days = found[shot, person, puppet]
            if day is not None:
                days.add(text(day))
    return [OnPuppet(*key, frozenset(days)) for key, days in found.items()]


_NO_DAYS: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A repair that somebody waited for.

    shot: the one that the repair names, else the only one in which the person animated the puppet
    that day; None where there are several. puppet: the copy that was mended. part: what was mended
    of it, where the repair names a part.
    """

    entry: EntryNumber
    day: date | None
    shot: str | None
    puppet: str
    part: str | None
    minutes: int


def mended_puppets(ledger: Ledger, entry: Entry) -> tuple[str, ...]:
    """Return the copies a repair is on: the named one, else those that wore the part that day."""
    if entry.puppet is not None:
        return (entry.puppet,)
    if entry.part is None or entry.day is None:
        return ()
    worn = ledger.fittings_of_part.get(entry.part, ())
    return tuple(dict.fromkeys(f.puppet for f in worn if f.holds_on(entry.day)))


def waits_by_person(
    ledger: Ledger, handlers: Iterable[OnPuppet] | None = None
) -> dict[str, tuple[Wait, ...]]:
    """Find the repairs that each animator waited for, each once for a person.

    Those are repairs with minutes of waiting on a puppet that the person animated, in a take of any
    purpose, in the repair's shot or on its date.

    handlers: as ``on_puppets`` of the whole log, where that is known already.
    """
    mended = [(repair, mended_puppets(ledger, repair)) for repair in ledger.waited]
    of_shot = {(puppet, repair.shot) for repair, own in mended if repair.shot for puppet in own}
    of_days: dict[str, set[str]] = defaultdict(set)
    for repair, own in mended:
        for puppet in own if repair.day else ():
            of_days[puppet].add(str(repair.day))
    in_shot: dict[tuple[str, str | None], set[str]] = defaultdict(set)
    on_day: dict[tuple[str, str], set[tuple[str, str | None]]] = defaultdict(set)
    if not of_shot and not of_days:
        handlers = ()
    for shot, person, puppet, days in on_puppets(ledger.on_stage) if handlers is None else handlers:
        if (puppet, shot) in of_shot:
            in_shot[puppet, shot].add(person)
        for day in of_days.get(puppet, _NO_DAYS) & days:
            on_day[puppet, day].add((person, shot))
    found: dict[str, dict[EntryNumber, Wait]] = defaultdict(dict)
    for repair, puppets in mended:
        for puppet in puppets:
            waiting: dict[str, set[str | None]] = defaultdict(set)
            if repair.shot is not None:
                for person in in_shot.get((puppet, repair.shot), ()):
                    waiting[person].add(repair.shot)
            if repair.day is not None:
                for person, shot in on_day.get((puppet, str(repair.day)), ()):
                    waiting[person].add(repair.shot or shot)
            for person, shots in waiting.items():
                wait = Wait(
                    entry=repair.number,
                    day=repair.day,
                    shot=shots.pop() if len(shots) == 1 else None,
                    puppet=puppet,
                    part=repair.part,
                    minutes=repair.work.wait_minutes or 0,
                )
                found[person].setdefault(repair.number, wait)
    return {person: tuple(own.values()) for person, own in found.items()}
