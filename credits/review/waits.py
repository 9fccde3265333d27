"""Repairs that animators waited for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from typing import NamedTuple, Protocol

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger, WaitedFor


class NearRepairs(Protocol):
    """Reads who animated puppets where and when somebody waited for their repair."""

    def near_repairs(
        self, of_shot: Collection[tuple[str, str]], of_day: Collection[tuple[str, date]]
    ) -> Iterable[Worked]:
        """Read the work on puppets, each named with a shot or with a day; there may be more."""


Worked = tuple[str, date | None, str | None, str | None]
"""Who animated, on which day, in which shot, which puppet."""


class Wait(NamedTuple):
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


def mended_puppets(ledger: Ledger, entry: WaitedFor | Entry) -> tuple[str, ...]:
    """Return the copies a repair is on: the named one, else those that wore the part that day."""
    if entry.puppet is not None:
        return (entry.puppet,)
    if entry.part is None or entry.day is None:
        return ()
    worn = ledger.fittings_of_part.get(entry.part, ())
    return tuple(dict.fromkeys(f.puppet for f in worn if f.holds_on(entry.day)))


def waits_by_person(ledger: Ledger, kept: NearRepairs | None = None) -> dict[str, tuple[Wait, ...]]:
    """Find the repairs that each animator waited for, each once for a person.

    Those are repairs with minutes of waiting on a puppet that the person animated, in a take of any
    purpose, in the repair's shot or on its date.

    kept: reads who animated what, where that is kept.
    """
    mended = [(repair, mended_puppets(ledger, repair)) for repair in ledger.waited]
    of_shot = {(puppet, repair.shot) for repair, own in mended if repair.shot for puppet in own}
    of_day = {(puppet, repair.day) for repair, own in mended if repair.day for puppet in own}
    in_shot: dict[tuple[str | None, str | None], set[str]] = defaultdict(set)
    on_day: dict[tuple[str | None, date | None], set[tuple[str, str | None]]] = defaultdict(set)
    worked: Iterable[Worked] = ()
    if kept is not None:
        worked = kept.near_repairs(of_shot, of_day)
    elif of_shot or of_day:
        worked = ((each.person, each.day, each.shot, each.puppet) for each in ledger.on_stage)
    for person, day, shot, puppet in worked:
        if (puppet, shot) in of_shot:
            in_shot[puppet, shot].add(person)
        if (puppet, day) in of_day:
            on_day[puppet, day].add((person, shot))
    found: dict[str, dict[EntryNumber, Wait]] = defaultdict(dict)
    for repair, puppets in mended:
        for puppet in puppets:
            waiting: dict[str, set[str | None]] = defaultdict(set)
            if repair.shot is not None:
                for person in in_shot.get((puppet, repair.shot), ()):
                    waiting[person].add(repair.shot)
            if repair.day is not None:
                for person, shot in on_day.get((puppet, repair.day), ()):
                    waiting[person].add(repair.shot or shot)
            for person, shots in waiting.items():
                wait = Wait(
                    entry=repair.number,
                    day=repair.day,
                    shot=shots.pop() if len(shots) == 1 else None,
                    puppet=puppet,
                    part=repair.part,
                    minutes=repair.minutes,
                )
                found[person].setdefault(repair.number, wait)
    return {person: tuple(own.values()) for person, own in found.items()}
