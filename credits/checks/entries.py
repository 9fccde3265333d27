"""Checks of what a single entry says: its take, its day, its minutes, its shot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Self

from credits.checks.people import LONGEST_DAY_MINUTES, OfPerson, minutes_on_the_day
from credits.checks.rule import Check, Known, numbers_of
from credits.model import words
from credits.model.facts import EntryNumber, Purpose
from credits.model.ledger import Entry

WHOLE_DAY_MINUTES = 24 * 60


def _nearest_take(typed: int, takes: tuple[int, ...]) -> int:
    """Return the take that was most likely meant: 2 for 22, else the one next to it."""
    return min(takes, key=lambda take: (str(take) not in str(typed), abs(take - typed), take))


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeUnknown(Check):
    """An entry names a take that the takes table does not have, while it has others of the shot.

    takes: those that it has. nearest: the one that was most likely meant.
    """

    about = "shot take"
    scope = "shot"

    shot: str
    take: int
    takes: tuple[int, ...]
    nearest: int

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        found: dict[tuple[str, int], list[Entry]] = defaultdict(list)
        for shot in ledger.takes_of:
            for entry in ledger.entries_by_shot.get(shot, ()):
                take = entry.said_take
                if take is not None and (shot, take) not in ledger.takes:
                    found[shot, take].append(entry)
        for (code, number), own in found.items():
            takes = tuple(sorted(take.number for take in ledger.takes_of[code]))
            nearest = _nearest_take(number, takes)
            entries = numbers_of(own)
            yield cls(shot=code, take=number, takes=takes, nearest=nearest, entries=entries)

    def in_words(self) -> tuple[str, str]:
        verb = "names" if len(self.entries) == 1 else "name"
        takes = "take" if len(self.takes) == 1 else "takes"
        return (
            f"{words.begin(words.entry_count(self.entries))} ({words.numbers(self.entries)}) "
            f"{verb} {words.take(self.shot, self.take)}, and the takes table has {takes} "
            f"{words.some_of(map(str, self.takes))}.",
            f"If take {self.nearest} was meant: credits amend {self.entries[-1]} --take "
            f"{self.nearest}; if there was a take {self.take}, add it to the takes table and load "
            "it again.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeMissing(Check):
    """Animation names no take, and it is not clear which: several, a block or a rehearsal.

    An entry without a take counts for take 1. takes: number and purpose of those of the shot.
    """

    about = "shot"
    scope = "shot"

    shot: str
    takes: tuple[tuple[int, Purpose], ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for shot, takes in ledger.takes_of.items():
            said = tuple(sorted((take.number, take.purpose) for take in takes))
            if said == ((1, Purpose.SHOOT),):
                continue
            own = ledger.entries_by_shot.get(shot, ())
            found = [e for e in own if e.said_take is None and ledger.is_footage(e)]
            if found:
                yield cls(shot=shot, takes=said, entries=numbers_of(found))

    def in_words(self) -> tuple[str, str]:
        takes = (f"{number} ({purpose})" for number, purpose in self.takes)
        shoots = [number for number, purpose in self.takes if purpose is Purpose.SHOOT]
        verb = "names" if len(self.entries) == 1 else "name"
        count = words.begin(words.entry_count(self.entries))
        return (
            f"{count} ({words.numbers(self.entries)}) in shot {self.shot} {verb} no take, and the "
            f"shot has {'take' if len(self.takes) == 1 else 'takes'} {words.some_of(takes)}.",
            f"Ask which take it was, then: credits amend {self.entries[-1]} --take "
            f"{shoots[0] if shoots else self.takes[0][0]}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageWithoutShot(OfPerson):
    """Somebody has animation that names no shot, so that no frames are claimed."""

    about = "person craft"
    scope = "person"

    craft: str

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for person, own in ledger.entries_by_person.items():
            found: dict[str, list[Entry]] = defaultdict(list)
            for entry in own:
                if entry.shot is None and ledger.is_footage(entry):
                    found[entry.craft].append(entry)
            for craft, some in found.items():
                entries = numbers_of(some)
                yield cls(person=words.person(ledger, person), craft=craft, entries=entries)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has {words.entry_count(self.entries)} of {self.craft} "
            f"({words.numbers(self.entries)}) without a shot, so that no frames are claimed.",
            f"Ask which shot it was, then: credits amend {self.entries[-1]} --shot SHOT",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DayInTheFuture(Check):
    """An entry is dated later than the day on which it was logged.

    One day is allowed: where the work was done it may have been tomorrow already.
    logged_on: the day on which the first of them was logged.
    """

    about = "date=day"
    scope = "day"

    day: date
    logged_on: date

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        found: dict[date, list[Entry]] = defaultdict(list)
        for entry in known.ledger.entries:
            # The sum is made for the few that it may be asked of.
            day, logged_on = entry.day, entry.logged_on
            if day is not None and day > logged_on and day - logged_on > timedelta(days=1):
                found[day].append(entry)
        for day, own in found.items():
            logged_on = min(entry.logged_on for entry in own)
            yield cls(day=day, logged_on=logged_on, entries=numbers_of(own))

    def in_words(self) -> tuple[str, str]:
        verb = "is" if len(self.entries) == 1 else "are"
        count = words.begin(words.entry_count(self.entries))
        return (
            f"{count} ({words.numbers(self.entries)}) {verb} dated {self.day}, and logged on "
            f"{self.logged_on}, before that day.",
            "Ask for the right day (is it the right year?), then: credits amend "
            f"{self.entries[-1]} --finished-on DATE",
        )


def _days(entry: Entry) -> int:
    """The days that an entry may be spread over; one where it does not say."""
    began, ended = entry.started_on, entry.finished_on
    return 1 if began is None or ended is None else (ended - began).days + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LongerThanADay(Check):
    """An entry has more minutes than its days can hold.

    A day holds 24 hours, and no more than two days of work as the production counts them; an entry
    of several days as many of these. What is asked of the person's day already is not asked of the
    entry again. days: those of the entry. day_minutes: the production's.
    """

    about = "entry"
    scope = "person"

    entry: EntryNumber
    person: words.Named
    minutes: int
    days: int
    day_minutes: int

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        day_minutes = ledger.production.day_minutes
        most = min(WHOLE_DAY_MINUTES, 2 * day_minutes)
        for person, own in ledger.entries_by_person.items():
            for entry in own:
                minutes = entry.minutes or 0
                days = _days(entry) if minutes > most else 1
                is_asked = entry.day and minutes_on_the_day(entry) > LONGEST_DAY_MINUTES
                if minutes > days * most and not is_asked:
                    yield cls(
                        entry=entry.number,
                        entries=(entry.number,),
                        person=words.person(ledger, person),
                        minutes=minutes,
                        days=days,
                        day_minutes=day_minutes,
                    )

    def in_words(self) -> tuple[str, str]:
        hours, left = divmod(self.minutes, 60)
        over = "one day" if self.days == 1 else f"{self.days} days"
        return (
            f"{self.entry} has {hours} h {left:02} min of {self.person} for {over}; a day of the "
            f"production has {words.counted(self.day_minutes, 'minute')}.",
            "Ask how long it took; if it took several days, add the day on which it was begun: "
            f"credits amend {self.entry} --minutes MINUTES --started-on DATE",
        )
