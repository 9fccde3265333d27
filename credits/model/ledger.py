"""The ledger: the facts of a production with the look-ups that the computations ask."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction
from typing import NamedTuple, Protocol

from credits.model import facts
from credits.model.facts import EntryNumber
from credits.model.lazy import LookedInPart
from credits.model.log import CutVersion
from credits.units.film_time import iso_week
from credits.units.frames import Frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the current view of the log, with everything that follows from it filled in.

    ``number`` is the line that says it now, ``first`` the line it goes back to. ``person`` is one
    code for one human being. ``character`` and ``puppet`` are what the work names or implies;
    ``frames`` is None when the entry is on no shot; ``take`` None: every take of the shot.
    """

    number: EntryNumber
    first: EntryNumber
    logged_at: datetime
    work: facts.Work
    craft: str
    person: str
    character: str | None
    puppet: str | None
    part: str | None
    sequence: str | None
    shot: str | None
    take: int | None
    frames: Frames | None
    day: date | None
    stage: str | None
    ref: str | None = None
    logged_by: str | None = None
    source: str | None = None

    @property
    def share(self) -> Fraction | None:
        """Return the share of the frames that the entry asks for; None: 1."""
        return self.work.share

    @property
    def said_take(self) -> int | None:
        """Return the take that the entry names; what it implies is not looked at."""
        return self.work.take

    @property
    def said_puppet(self) -> str | None:
        """Return the puppet that the entry names; what it implies is not looked at."""
        return self.work.puppet

    @property
    def minutes(self) -> int | None:
        """Return the minutes that the entry logs."""
        return self.work.minutes

    @property
    def started_on(self) -> date | None:
        """Return the day on which the work was begun."""
        return self.work.started_on

    @property
    def finished_on(self) -> date | None:
        """Return the day on which the work was finished."""
        return self.work.finished_on

    @property
    def logged_on(self) -> date:
        """Return the day on which the line was logged that says the entry now."""
        return self.logged_at.date()


class BriefEntry(Protocol):
    """What of an entry the figures are made of: who did what on what, when, and in which frames."""

    @property
    def number(self) -> EntryNumber: ...
    @property
    def first(self) -> EntryNumber: ...
    @property
    def craft(self) -> str: ...
    @property
    def person(self) -> str: ...
    @property
    def character(self) -> str | None: ...
    @property
    def puppet(self) -> str | None: ...
    @property
    def part(self) -> str | None: ...
    @property
    def sequence(self) -> str | None: ...
    @property
    def shot(self) -> str | None: ...
    @property
    def take(self) -> int | None: ...
    @property
    def day(self) -> date | None: ...
    @property
    def stage(self) -> str | None: ...
    @property
    def frames(self) -> Frames | None: ...
    @property
    def share(self) -> Fraction | None: ...


DoneRow = tuple[str, int, str, int, str, str, str | None, str | None]
"""Of an entry: the origin and number of its record and of the line that says it now, its craft,
person and character, and its day as a text."""


def done_row(entry: BriefEntry) -> DoneRow:
    """Return of an entry who did what on which character, and when."""
    day = None if entry.day is None else entry.day.isoformat()
    return (*entry.first, *entry.number, entry.craft, entry.person, entry.character, day)


class DoneInBrief(NamedTuple):
    """What some entries say together: the lowest number of a record and of a line that says one of
    them now, how many they are, and their first and last day."""

    first: tuple[str, int]
    lowest: tuple[str, int]
    entries: int
    first_day: str | None
    last_day: str | None

    @classmethod
    def of(cls, rows: Sequence[DoneRow]) -> DoneInBrief:
        """Look at entries, one at least, by the numbers of their records."""
        days = [row[7] for row in rows if row[7] is not None]
        first_and_last = (min(days), max(days)) if days else (None, None)
        return cls(rows[0][:2], min([row[2:4] for row in rows]), len(rows), *first_and_last)


@dataclass(frozen=True, slots=True)
class WorkDone:
    """What one person did in one craft, entry by entry.

    brief: what the entries say together, for whoever need not look at each. is_part: they are on
    one character (or on none) alone, and there may be others.
    """

    craft: str
    person: str
    brief: DoneInBrief
    rows: Sequence[DoneRow]
    is_part: bool = False

    @property
    def first(self) -> tuple[str, int]:
        """Return the lowest number of a record."""
        return self.brief.first

    @property
    def lowest(self) -> tuple[str, int]:
        """Return the lowest number of a line that says an entry now."""
        return self.brief.lowest

    @property
    def days(self) -> set[str]:
        """Return the days of the entries that have one, as texts."""
        return {row[7] for row in self.rows if row[7] is not None}

    @property
    def characters(self) -> set[str]:
        """Return the characters that the work was on."""
        return {row[6] for row in self.rows if row[6] is not None}

    @property
    def by_character(self) -> dict[str | None, WorkDone]:
        """Return the work on each character, and on none, in the order in which it was begun."""
        parts: dict[str | None, list[DoneRow]] = defaultdict(list)
        for row in self.rows:
            parts[row[6]].append(row)
        return {
            character: WorkDone(self.craft, self.person, DoneInBrief.of(own), tuple(own), True)
            for character, own in parts.items()
        }


def work_done(rows: Iterable[DoneRow]) -> tuple[WorkDone, ...]:
    """Return what everybody did, by craft, in the order in which it was first done.

    rows: of all entries, by the numbers of their records.
    """
    groups: dict[tuple[str, str], list[DoneRow]] = defaultdict(list)
    for row in rows:
        groups[row[4:6]].append(row)
    return tuple([WorkDone(*key, DoneInBrief.of(own), tuple(own)) for key, own in groups.items()])


class CraftWork(NamedTuple):
    """What one person did in a craft: for which characters, how many entries, the minutes logged,
    the day on which it was begun and the last one (None: it is undated)."""

    person: str
    characters: frozenset[str]
    entries: int
    minutes: int
    days: tuple[date, date] | None


def craft_work(entries: Iterable[Entry]) -> dict[str, tuple[CraftWork, ...]]:
    """Return who did each craft, by person code."""
    found: dict[str, dict[str, list[Entry]]] = {}
    for entry in entries:
        found.setdefault(entry.craft, {}).setdefault(entry.person, []).append(entry)
    return {
        craft: tuple([_craft_work(person, people[person]) for person in sorted(people)])
        for craft, people in found.items()
    }


def _craft_work(person: str, own: Sequence[Entry]) -> CraftWork:
    days = [(entry.work.started_on or entry.day, entry.day) for entry in own if entry.day]
    return CraftWork(
        person=person,
        characters=frozenset(entry.character for entry in own if entry.character is not None),
        entries=len(own),
        minutes=sum(entry.work.minutes or 0 for entry in own),
        days=(min(a for a, _ in days), max(b for _, b in days)) if days else None,
    )


class WeekWork(NamedTuple):
    """How many people worked in a week, how many entries say so, and on how many stages."""

    people: int
    entries: int
    stages: int


def week_work(entries: Iterable[Entry]) -> dict[str, WeekWork]:
    """Return what was done in each ISO week of the entries' days; undated: under the empty word."""
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        week = "" if entry.day is None else iso_week(entry.day)
        found.setdefault(week, []).append(entry)
    return {
        week: WeekWork(
            people=len({entry.person for entry in own}),
            entries=len(own),
            stages=len({entry.stage for entry in own if entry.stage is not None}),
        )
        for week, own in found.items()
    }


def performs_in_shot(crafts: Mapping[str, facts.Craft], entry: BriefEntry) -> bool:
    """Tell whether an entry says which frames of a shot somebody performed in, but by animating."""
    return performs(crafts[entry.craft]) and entry.shot is not None and bool(entry.frames)


def performs(craft: facts.Craft) -> bool:
    """Tell whether a craft performs, otherwise than frame by frame."""
    return craft.kind is facts.Kind.PERFORMANCE and not craft.footage


def performs_only(craft: facts.Craft) -> bool:
    """Tell whether a craft performs, frame by frame or otherwise, and never repairs."""
    return craft.kind is facts.Kind.PERFORMANCE and not craft.repair


class StageWork(NamedTuple):
    """What of an entry of a craft with footage stage days are made of."""

    person: str
    day: date | None
    shot: str | None
    take: int | None
    puppet: str | None
    minutes: int | None


class WaitedFor(NamedTuple):
    """A repair that somebody waited for: what was repaired, where and when, and the minutes."""

    number: EntryNumber
    puppet: str | None
    part: str | None
    shot: str | None
    day: date | None
    minutes: int


@dataclass(frozen=True, slots=True)
class Fork:
    """Two or more corrections of one line that do not know of each other; ``holds`` counts."""

    line: EntryNumber
    corrections: tuple[EntryNumber, ...]
    holds: EntryNumber


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The production as it stands. Mappings keep the order of the tables; entries by number.

    What is made of the tables may be read only when somebody looks at it, too.
    ``entries`` and what they are looked up by may be read only when they are asked for; ``brief``
    are all of them, with no more than a brief entry has; ``done`` is what of them counts for a
    credit, ``on_stage`` what days of crafts with footage are made of, ``waited`` the repairs that
    somebody waited for. ``by_number``: by the number of the line that says them now.
    ``undated_by_writing``: those without a day, by the day on which they were written down.
    ``confirmations``: the last word on each person's name, by the code that they are known by.
    """

    production: facts.Production
    crafts: Mapping[str, facts.Craft]
    people: Mapping[str, facts.Person]
    engagements: Mapping[str, tuple[facts.Engagement, ...]]
    characters: Mapping[str, facts.Character]
    puppets: Mapping[str, facts.Puppet]
    parts: Mapping[str, facts.Part]
    fittings: Sequence[facts.Fitting]
    replacements: Sequence[facts.Replacement]
    sequences: Mapping[str, facts.Sequence]
    shots: Mapping[str, facts.Shot]
    stages: Mapping[str, facts.Stage]
    takes: Mapping[tuple[str, int], facts.Take]
    entries: Sequence[Entry]
    brief: Sequence[BriefEntry]
    done: Sequence[WorkDone]
    by_craft: Mapping[str, tuple[CraftWork, ...]]
    by_week: Mapping[str, WeekWork]
    performed: Collection[str]
    on_stage: Sequence[StageWork]
    waited: Sequence[WaitedFor]
    forks: tuple[Fork, ...]
    cut: facts.Cut | None
    cut_versions: Sequence[CutVersion]
    one_person: Mapping[str, str]
    last_line: EntryNumber | None
    last_day: date | None
    entries_by_person: Mapping[str, tuple[Entry, ...]]
    entries_by_shot: Mapping[str, tuple[Entry, ...]]
    entries_by_character: Mapping[str, tuple[Entry, ...]]
    entries_by_puppet: Mapping[str, tuple[Entry, ...]]
    entries_by_part: Mapping[str, tuple[Entry, ...]]
    entries_by_day: Mapping[date, tuple[Entry, ...]]
    undated_by_writing: Mapping[date, tuple[Entry, ...]]
    by_number: Mapping[EntryNumber, Entry]
    puppets_of: Mapping[str, tuple[str, ...]]
    fittings_of_puppet: Mapping[str, tuple[facts.Fitting, ...]]
    fittings_of_part: Mapping[str, tuple[facts.Fitting, ...]]
    replacements_by_shot: Mapping[str, tuple[facts.Replacement, ...]]
    shots_of: Mapping[str, tuple[str, ...]]
    takes_of: Mapping[str, tuple[facts.Take, ...]]
    settlements: Sequence[facts.Settlement] = ()
    confirmations: Mapping[str, facts.Confirmation] = field(default_factory=dict)

    def person(self, code: str) -> facts.Person:
        """Return the one person that a code stands for. Raises KeyError for an unknown code."""
        return self.people[self.one_person.get(code, code)]

    def confirmation(self, code: str) -> facts.Confirmation | None:
        """Return the last word on the spelling of a person's name; None: nobody ever gave one."""
        return self.confirmations.get(self.one_person.get(code, code))

    def confirmed(self, code: str) -> bool:
        """Tell whether the person's name, as it is spelled now, is confirmed.

        A name that was changed after it was confirmed is not.
        """
        last = self.confirmation(code)
        return last is not None and last.is_right and last.name == self.person(code).credit_name

    def codes_of(self, person: str) -> tuple[str, ...]:
        """Return all codes that are this person, the one that is used first."""
        others = sorted(c for c, one in self.one_person.items() if one == person and c != person)
        return (person, *others)

    def entries_beside_shots(self, what: str) -> Mapping[str, tuple[Entry, ...]]:
        """Return the entries by a character, puppet or part that they name.

        Performances in a shot may be left out: they are most of a log, and whoever looks for what
        was built or for a voice is spared to read them.
        """
        own: Mapping[str, tuple[Entry, ...]] = getattr(self, f"entries_by_{what}")
        return own.part if isinstance(own, LookedInPart) else own

    def entries_on(self, what: str) -> Mapping[str, tuple[Entry, ...]]:
        """Return the entries by a character, puppet or part that they are on: it was built, or it
        was performed in no shot.

        Entries that name it for something more particular, and performances in a shot, may be left
        out: most entries name a character because they are on a puppet of it.
        """
        own: Mapping[str, tuple[Entry, ...]] = getattr(self, f"entries_by_{what}")
        return own.core if isinstance(own, LookedInPart) else own

    def is_footage(self, entry: BriefEntry) -> bool:
        """Tell whether the entry's craft claims frames."""
        return self.crafts[entry.craft].footage

    def is_repair(self, entry: BriefEntry) -> bool:
        """Tell whether the entry's craft is a repair: it makes whole what was made before."""
        return self.crafts[entry.craft].repair

    def purpose(self, entry: BriefEntry) -> facts.Purpose:
        """Return what the take of an entry is for; work that names no take counts as a shoot."""
        return self.purpose_in(entry.shot, entry.take)

    def purpose_in(self, shot: str | None, take: int | None) -> facts.Purpose:
        """Return what a take is for, as ``purpose`` does."""
        if shot is None or take is None:
            return facts.Purpose.SHOOT
        return self.take(shot, take).purpose

    def take(self, shot: str, number: int) -> facts.Take:
        """Return the take; one that was never entered in the takes table is an open shoot take."""
        return self.takes.get((shot, number)) or facts.Take(shot=shot, number=number)
