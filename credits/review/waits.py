"""Repairs that animators waited for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple, Protocol, TypeVar

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger, WaitedFor

K = TypeVar("K", bound=Hashable)


class NearRepairs(Protocol):
    """Reads who animated puppets where and when somebody waited for their repair."""

    def on_puppets(
        self, shots: Sequence[tuple[str, str]], days: Sequence[tuple[str, date]]
    ) -> tuple[Iterable[tuple[int, str]], Iterable[tuple[int, str, str | None]]]:
        """Read who animated puppets in shots, and who on days, also in which shot.

        shots, days: each with a puppet; what is read names them by their places.
        """


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


class Waiting(NamedTuple):
    """A repair, and who waited for it: by the copy that was mended and by person the shot, as
    ``Wait`` has it. Everybody stands there once."""

    repair: WaitedFor
    people: Mapping[str, dict[str, str | None]]


def waited_for(ledger: Ledger, kept: NearRepairs | None = None) -> list[Waiting]:
    """Find who waited for which repairs.

    Those are repairs with minutes of waiting on a puppet that the person animated, in a take of any
    purpose, in the repair's shot or on its date.

    kept: reads who animated what, where that is kept.
    """
    mended = [(repair, mended_puppets(ledger, repair)) for repair in ledger.waited]
    shots = _places((puppet, each.shot) for each, own in mended if each.shot for puppet in own)
    days = _places((puppet, each.day) for each, own in mended if each.day for puppet in own)
    in_shot: list[set[str]] = [set() for _ in shots]
    on_day: list[set[tuple[str, str | None]]] = [set() for _ in days]
    if kept is not None:
        of_shots, of_days = kept.on_puppets([*shots], [*days])
        for at, person in of_shots:
            in_shot[at].add(person)
        for at, person, shot in of_days:
            on_day[at].add((person, shot))
    elif mended:
        for person, day, shot, _, puppet, _ in ledger.on_stage:
            if puppet is not None:
                if shot is not None and (puppet, shot) in shots:
                    in_shot[shots[puppet, shot]].add(person)
                if day is not None and (puppet, day) in days:
                    on_day[days[puppet, day]].add((person, shot))
    found = []
    for repair, puppets in mended:
        people: dict[str, dict[str, str | None]] = {}
        for puppet in puppets:
            day, shot = repair.day, repair.shot
            waiting = _only_shots(on_day[days[puppet, day]]) if day is not None else {}
            if shot is not None:
                waiting = dict.fromkeys((*waiting, *in_shot[shots[puppet, shot]]), shot)
            for others in people.values():
                for person in others.keys() & waiting.keys():
                    del waiting[person]
            people[puppet] = waiting
        found.append(Waiting(repair, people))
    return found


def waits_by_person(
    waited: Iterable[Waiting], only: Collection[str] | None = None
) -> dict[str, tuple[Wait, ...]]:
    """Return the repairs that each animator waited for, each once for a person.

    only: of these people alone; None: of everybody.
    """
    found: dict[str, list[Wait]] = defaultdict(list)
    for (number, _, part, _, day, minutes), people in waited:
        for puppet, waiting in people.items():
            for person in waiting if only is None else waiting.keys() & only:
                wait = Wait(number, day, waiting[person], puppet, part, minutes)
                found[person].append(wait)
    return {person: tuple(own) for person, own in found.items()}


def _only_shots(worked: Iterable[tuple[str, str | None]]) -> dict[str, str | None]:
    """Return the shot of everybody who worked on one alone; of the others None.

    worked: people with a shot, each two once.
    """
    found: dict[str, str | None] = {}
    for person, shot in worked:
        found[person] = None if person in found else shot
    return found


def _places(named: Iterable[K]) -> dict[K, int]:
    """Number what is named, each once."""
    return {each: place for place, each in enumerate(dict.fromkeys(named))}
