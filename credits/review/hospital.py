"""The puppet hospital: what waits for repair, what is in work, what is back, and how long it took.

What is known of a repair is what its entry says. A day on which it was finished: it is back. A day
on which it was begun and none on which it was finished: it is in work. Neither, and no minutes of
work: it was asked for when it was written down, and waits. Neither, and minutes: it was done on a
day that nobody wrote down. Days are counted with both their ends, up to the last day of the log.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Set
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from credits.model.ledger import Entry, Ledger
from credits.review.waits import mended_puppets

K = TypeVar("K")


class RepairState(StrEnum):
    """How far a repair is."""

    WAITS = "waits"
    IN_WORK = "in work"
    BACK = "back"
    UNDATED = "undated"


def state_of(repair: Entry) -> RepairState:
    """Tell how far a repair is, by what its entry says."""
    if repair.finished_on is not None:
        return RepairState.BACK
    if repair.started_on is not None:
        return RepairState.IN_WORK
    return RepairState.UNDATED if repair.minutes else RepairState.WAITS


OPEN = (RepairState.WAITS, RepairState.IN_WORK)


def is_open(repair: Entry) -> bool:
    """Tell whether a repair is asked for or begun, and not finished."""
    return state_of(repair) in OPEN


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """One repair.

    puppets: the copies that it is on; none where it names a part that no puppet wore. since: the
    first day of the time that is counted: that it was asked for while it waits, else that it was
    begun. until: the last one: that it was finished, else the last day of the log. days: how many
    that are, shoot_days: on how many of them the unit shot; both None where no time is known.
    """

    entry: Entry
    state: RepairState
    puppets: tuple[str, ...]
    character: str | None
    since: date | None
    until: date | None
    days: int | None
    shoot_days: int | None


def repair_crafts(ledger: Ledger) -> list[str]:
    """Return the codes of the crafts that repair."""
    return [craft.code for craft in ledger.crafts.values() if craft.repair]


def repair_entries(ledger: Ledger) -> list[Entry]:
    """Return the entries of every repair of the log, by number."""
    crafts = repair_crafts(ledger)
    people = {work.person for craft in crafts for work in ledger.by_craft.get(craft, ())}
    entries = (
        entry
        for person in people
        for entry in ledger.entries_by_person.get(person, ())
        if ledger.is_repair(entry)
    )
    return sorted(entries, key=lambda entry: entry.number)


def repairs(ledger: Ledger, shoot_days: Set[date]) -> tuple[Repair, ...]:
    """Return every repair of the log, by number. shoot_days: the days on which the unit shot."""
    return tuple(_repair(ledger, entry, shoot_days) for entry in repair_entries(ledger))


def _repair(ledger: Ledger, entry: Entry, shoot_days: Set[date]) -> Repair:
    state = state_of(entry)
    since, until = entry.started_on or entry.finished_on, entry.finished_on or ledger.last_day
    if state is RepairState.WAITS:
        since = entry.logged_on
    days = in_shoot = None
    # What was written down after the last day of the log has waited for no day of it.
    if state is not RepairState.UNDATED and since is not None and until is not None:
        first, last = since.toordinal(), until.toordinal()
        if first <= last:
            days = last - first + 1
            in_shoot = sum(since <= day <= until for day in shoot_days)
    puppets = mended_puppets(ledger, entry)
    character = entry.character
    if character is None and puppets:
        character = ledger.puppets[puppets[0]].character
    return Repair(
        entry=entry,
        state=state,
        puppets=puppets,
        character=character,
        since=since,
        until=until,
        days=days,
        shoot_days=in_shoot,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairSum:
    """Repairs of one puppet or character, each once.

    finished: how many of them are back; days, shoot_days: what these took, added up; longest: the
    days of the longest of them. back_on: the last day on which one was finished. minutes: of work;
    wait: how long a stage waited, in minutes.
    """

    repairs: int
    waiting: int
    in_work: int
    finished: int
    days: int
    shoot_days: int
    longest: int
    back_on: date | None
    minutes: int
    wait: int


def repair_sum(own: Iterable[Repair]) -> RepairSum:
    """Return the sum of some repairs."""
    every = tuple(own)
    back = [each for each in every if each.state is RepairState.BACK]
    states = [each.state for each in every]
    return RepairSum(
        repairs=len(every),
        waiting=states.count(RepairState.WAITS),
        in_work=states.count(RepairState.IN_WORK),
        finished=len(back),
        days=sum(each.days or 0 for each in back),
        shoot_days=sum(each.shoot_days or 0 for each in back),
        longest=max((each.days or 0 for each in back), default=0),
        back_on=max((e.entry.finished_on for e in back if e.entry.finished_on), default=None),
        minutes=sum(each.entry.work.minutes or 0 for each in every),
        wait=sum(each.entry.work.wait_minutes or 0 for each in every),
    )


def repairs_by(
    every: Iterable[Repair], keys: Callable[[Repair], Iterable[K]]
) -> dict[K, RepairSum]:
    """Sum repairs by their keys; a repair that has several counts with each."""
    found: dict[K, list[Repair]] = defaultdict(list)
    for repair in every:
        for key in keys(repair):
            found[key].append(repair)
    return {key: repair_sum(own) for key, own in found.items()}
