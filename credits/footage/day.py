"""One day of work: what each stage and workshop has logged, what it was on, who has nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from credits.model.facts import ShotStatus
from credits.model.ledger import Entry, Ledger

LOOKED_BACK = 14
"""Days: what a stage or a person was on longer ago says nothing about today."""


class Workplace(NamedTuple):
    """A stage by its code; or, where work names no stage, the workshop of a department."""

    stage: str | None = None
    department: str | None = None

    @property
    def name(self) -> str:
        """Return the code of the stage, or the department."""
        return self.stage or self.department or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkplaceDay:
    """One place on one day.

    ``entries``: those of the day. ``before``: those of the last day that the place had any, at
    most LOOKED_BACK days earlier; ``before_on`` is that day, None where there is none.
    ``idle``: people who are engaged, belong here by what they last did, else by their department,
    and have no entry of the day anywhere.
    """

    place: Workplace
    entries: tuple[Entry, ...]
    before: tuple[Entry, ...]
    before_on: date | None
    idle: tuple[str, ...]

    @property
    def not_yet(self) -> tuple[Entry, ...]:
        """Return what the place was on before and has nothing of on the day.

        That is, no entry of the same craft by the same person on the same character (or puppet or
        part, where it is on no character): another shot or copy is the same work going on.
        """
        today = {_job(entry) for entry in self.entries}
        return tuple(entry for entry in self.before if _job(entry) not in today)


def _job(entry: Entry) -> tuple[str, str, str | None]:
    return entry.craft, entry.person, entry.character or entry.puppet or entry.part


@dataclass(frozen=True, slots=True)
class DayOfWork:
    """A day: its places (stages first, each kind in the order of its table), and the entries
    without a day that were written down on it."""

    on: date
    places: tuple[WorkplaceDay, ...]
    undated: tuple[Entry, ...]

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Return the day's entries, place by place."""
        return tuple(entry for place in self.places for entry in place.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class Underway:
    """What somebody was on when a place last worked, as a row of today's sheet begins.

    ``next_frame``: of a craft that claims frames, the first frame after the last one claimed of
    the character in the take. Where the shot is finished or has no frame left, shot, take and
    next frame are None: the person is there, on what is not known.
    """

    craft: str
    person: str
    character: str | None = None
    puppet: str | None = None
    part: str | None = None
    shot: str | None = None
    take: int | None = None
    next_frame: int | None = None
    poses_on: int | None = None


def workplace(ledger: Ledger, entry: Entry) -> Workplace:
    """Return where an entry's work was done: its stage, else its craft's department."""
    if entry.stage is not None:
        return Workplace(stage=entry.stage)
    return Workplace(department=ledger.crafts[entry.craft].department)


def workplaces(ledger: Ledger) -> tuple[Workplace, ...]:
    """Return every stage and every workshop of the production, in the order of the tables."""
    departments = dict.fromkeys(craft.department for craft in ledger.crafts.values())
    return (
        *(Workplace(stage=stage) for stage in ledger.stages),
        *(Workplace(department=department) for department in departments),
    )


def lacking(ledger: Ledger, entry: Entry) -> tuple[str, ...]:
    """Return the columns that a complete entry would have and this one has not.

    Frames are asked of crafts that claim them, minutes and a day of every entry.
    """
    work = entry.work
    missing = {
        "frames": ledger.is_footage(entry) and work.frames is None,
        "minutes": work.minutes is None,
        "finished_on": work.day is None,
    }
    return tuple(column for column, is_missing in missing.items() if is_missing)


def day_of_work(ledger: Ledger, on: date) -> DayOfWork:
    """Return the day at every place that has entries of it, had some lately, or has idle people."""
    since = date.fromordinal(max(on.toordinal() - LOOKED_BACK, 1))
    today: dict[Workplace, list[Entry]] = defaultdict(list)
    earlier: dict[Workplace, list[Entry]] = defaultdict(list)
    last_place: dict[str, Workplace] = {}
    for entry in ledger.entries_by_day.get(on, ()):
        today[workplace(ledger, entry)].append(entry)
    for day in map(date.fromordinal, range(since.toordinal(), on.toordinal())):
        for entry in ledger.entries_by_day.get(day, ()):
            place = workplace(ledger, entry)
            earlier[place].append(entry)
            last_place[entry.person] = place
    idle = _idle(ledger, on, today.values(), last_place)
    places = []
    for place in dict.fromkeys((*workplaces(ledger), *today, *earlier, *idle)):
        before_on = max((e.day for e in earlier[place] if e.day is not None), default=None)
        found = WorkplaceDay(
            place=place,
            entries=tuple(today[place]),
            before=tuple(entry for entry in earlier[place] if entry.day == before_on),
            before_on=before_on,
            idle=tuple(idle.get(place, ())),
        )
        if found.entries or found.before or found.idle:
            places.append(found)
    return DayOfWork(on, tuple(places), ledger.undated_by_writing.get(on, ()))


def _idle(
    ledger: Ledger,
    on: date,
    today: Iterable[Iterable[Entry]],
    last_place: Mapping[str, Workplace],
) -> dict[Workplace, list[str]]:
    """Find who is engaged on the day and has no entry of it, by where they belong."""
    at_work = {entry.person for entries in today for entry in entries}
    out: dict[Workplace, list[str]] = defaultdict(list)
    spelled = {place.name.casefold(): place for place in workplaces(ledger) if place.department}
    for code, engagements in ledger.engagements.items():
        person = ledger.one_person.get(code, code)
        engaged = next((e.department for e in engagements if e.covers(on)), None)
        if engaged is None or person in at_work:
            continue
        at_work.add(person)
        own = spelled.get(engaged.casefold(), Workplace(department=engaged))
        out[last_place.get(person, own)].append(person)
    return out


def underway(ledger: Ledger, place: WorkplaceDay) -> tuple[Underway, ...]:
    """Return what the place was on, each thing once: how a sheet for its day begins."""
    rows: dict[Underway, None] = {}
    for entry in place.before:
        shot = ledger.shots.get(entry.shot or "")
        is_over = shot is not None and shot.status in (ShotStatus.DONE, ShotStatus.OMITTED)
        following = None
        if shot is not None and not is_over and ledger.is_footage(entry):
            following = 1 + _last_claimed(ledger, entry)
            is_over = following > shot.length
        row = Underway(
            craft=entry.craft,
            person=entry.person,
            character=entry.character,
            puppet=entry.puppet,
            part=entry.part,
            shot=None if is_over else entry.shot,
            take=None if is_over else entry.take,
            next_frame=None if is_over else following,
            poses_on=entry.work.poses_on,
        )
        rows[row] = None
    return tuple(rows)


def _last_claimed(ledger: Ledger, entry: Entry) -> int:
    """Return the last frame that anybody claims of the entry's character in its take; else 0."""
    same = (
        other
        for other in ledger.entries_by_shot.get(entry.shot or "", ())
        if (other.take, other.character) == (entry.take, entry.character)
        and ledger.is_footage(other)
    )
    return max((other.frames.last for other in same if other.frames), default=0)
