"""Waits for repairs: which animators a repair kept waiting, and for how long (rule 3.7)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger

REPAIR = "repair"


@dataclass(frozen=True, slots=True)
class Wait:
    """A repair that somebody waited for.

    ``shot``: the one that the repair names, else the only one in which the person animated the
    puppet that day; None where there are several. ``puppet``: the copy that was mended; ``part``:
    what was mended of it, where the repair names a part.
    """

    entry: EntryNumber
    day: date | None
    shot: str | None
    puppet: str
    part: str | None
    minutes: int


def mended_puppets(ledger: Ledger, entry: Entry) -> tuple[str, ...]:
    """The copies that a repair is on: the one it names, else those that wore the part that day."""
    if entry.puppet is not None:
        return (entry.puppet,)
    if entry.part is None or entry.day is None:
        return ()
    worn = ledger.fittings_of_part.get(entry.part, ())
    return tuple(dict.fromkeys(f.puppet for f in worn if f.holds_on(entry.day)))


class _Animating:
    """Who was animating which puppet, in which shots and on which days, in takes of any purpose."""

    def __init__(self, ledger: Ledger) -> None:
        self.in_shot: dict[tuple[str, str], set[str]] = defaultdict(set)
        self.on_day: dict[tuple[str, date], dict[str, set[str | None]]] = defaultdict(dict)
        for entry in ledger.entries:
            if entry.puppet is None or not ledger.is_footage(entry):
                continue
            if entry.shot is not None:
                self.in_shot[entry.puppet, entry.shot].add(entry.person)
            if entry.day is not None:
                shots = self.on_day[entry.puppet, entry.day].setdefault(entry.person, set())
                shots.add(entry.shot)

    def waiting(self, puppet: str, repair: Entry) -> Iterator[tuple[str, str | None]]:
        """Who waited for a repair of the puppet, each with the shot that the wait belongs to."""
        that_day: dict[str, set[str | None]] = {}
        if repair.day is not None:
            that_day = self.on_day.get((puppet, repair.day), {})
        if repair.shot is not None:
            in_shot = self.in_shot.get((puppet, repair.shot), set())
            for person in sorted(in_shot | that_day.keys()):
                yield person, repair.shot
            return
        for person in sorted(that_day):
            shots = that_day[person]
            yield person, next(iter(shots)) if len(shots) == 1 else None


def waits_by_person(ledger: Ledger) -> dict[str, tuple[Wait, ...]]:
    """The repairs that each animator waited for: those with ``wait_minutes`` on a puppet that the
    person animated in the repair's shot, or on its date. Each counts once for a person."""
    animating = _Animating(ledger)
    found: dict[str, list[Wait]] = defaultdict(list)
    for entry in ledger.entries:
        minutes = entry.work.wait_minutes
        if entry.craft != REPAIR or not minutes:
            continue
        waited: set[str] = set()
        for puppet in mended_puppets(ledger, entry):
            for person, shot in animating.waiting(puppet, entry):
                if person not in waited:
                    waited.add(person)
                    wait = Wait(entry.number, entry.day, shot, puppet, entry.part, minutes)
                    found[person].append(wait)
    return {person: tuple(own) for person, own in found.items()}
