"""Checks of people: engagements and days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Self

from credits.checks.rule import Check, Known, days_of, numbers_of
from credits.model import words
from credits.model.facts import Engagement
from credits.model.ledger import Entry

LONGEST_DAY_MINUTES = 16 * 60


@dataclass(frozen=True, slots=True, kw_only=True)
class OfPerson(Check):
    """What is asked about one person."""

    about = "person"

    person: words.Named


def _uncovered(entries: Iterable[Entry], jobs: tuple[Engagement, ...]) -> list[Entry]:
    covered = cache(lambda day: any(job.covers(day) for job in jobs))
    return [entry for entry in entries if entry.day is not None and not covered(entry.day)]


def _period(starts_on: date | None, ends_on: date | None) -> str:
    ends = ("from", starts_on), ("until", ends_on)
    return " ".join(f"{word} {day}" for word, day in ends if day)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideEngagement(OfPerson):
    """Entries are dated outside every engagement of the person.

    periods: first and last day of each engagement. days: those of the entries.
    """

    scope = "person"

    periods: tuple[tuple[date | None, date | None], ...]
    days: tuple[date, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for person, jobs in ledger.engagements.items():
            found = _uncovered(ledger.entries_by_person.get(person, ()), jobs)
            if found:
                yield cls(
                    person=words.person(ledger, person),
                    entries=numbers_of(found),
                    periods=tuple(dict.fromkeys((job.starts_on, job.ends_on) for job in jobs)),
                    days=days_of(found),
                )

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} is engaged "
            f"{words.some_of(_period(*period) for period in self.periods)}, and has "
            f"{words.entry_count(self.entries)} outside that {words.days(self.days)} "
            f"({words.numbers(self.entries)}).",
            "Ask for the right dates; correct the engagements table and load it again, or the "
            f"entry: credits amend {self.entries[-1]} --finished-on DATE",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NoEngagement(OfPerson):
    """A person has entries and no engagement."""

    scope = "person"

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for person, own in ledger.entries_by_person.items():
            if not ledger.engagements.get(person):
                yield cls(person=words.person(ledger, person), entries=numbers_of(own))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has {words.entry_count(self.entries)} ({words.numbers(self.entries)}) "
            "and no engagement.",
            "Ask for the department and the job title, add them to the engagements table and load "
            f"it; or, if it was somebody else: credits amend {self.entries[0]} --person PERSON",
        )


def minutes_on_the_day(entry: Entry) -> int:
    """Return the minutes that are surely all on the entry's day; none of several days' are."""
    began = entry.started_on
    return entry.minutes or 0 if began is None or began == entry.day else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTooLong(OfPerson):
    """One person has more than 16 hours on one date.

    An entry that began on an earlier day than it was finished is left out: how its minutes were
    spread over the days is not known.
    """

    about = "person date=day"
    scope = "person"

    day: date
    minutes: int

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for person, own in ledger.entries_by_person.items():
            by_day: dict[date, list[tuple[Entry, int]]] = defaultdict(list)
            for entry in own:
                if entry.day is not None and (minutes := minutes_on_the_day(entry)):
                    by_day[entry.day].append((entry, minutes))
            for day, some in by_day.items():
                total = sum(minutes for _, minutes in some)
                if total > LONGEST_DAY_MINUTES:
                    entries = numbers_of(entry for entry, _ in some)
                    named = words.person(ledger, person)
                    yield cls(person=named, day=day, entries=entries, minutes=total)

    def in_words(self) -> tuple[str, str]:
        hours, left = divmod(self.minutes, 60)
        return (
            f"{self.person} has {hours} h {left:02} min on {self.day} in "
            f"{words.entry_count(self.entries)} ({words.numbers(self.entries)}).",
            "Ask how long the day was; correct the minutes or the date: credits amend "
            f"{self.entries[-1]} --minutes MINUTES",
        )
