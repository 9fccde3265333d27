"""Checks of people: engagements, names and days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Self

from credits.billing.compile import people_owed
from credits.checks.rule import Check, Known, Severity
from credits.model import words
from credits.model.facts import Engagement, Subjects
from credits.model.ledger import Entry
from credits.names import alike

LONGEST_DAY_MINUTES = 16 * 60


@dataclass(frozen=True, slots=True, kw_only=True)
class _OfPerson(Check):
    """What is asked about one person."""

    person: words.Named

    @property
    def subjects(self) -> Subjects:
        return (("person", self.person.code),)


def _uncovered(entries: Iterable[Entry], jobs: tuple[Engagement, ...]) -> list[tuple[date, Entry]]:
    covered: dict[date, bool] = {}
    out = []
    for entry in entries:
        day = entry.day
        if day is None:
            continue
        if day not in covered:
            covered[day] = any(job.covers(day) for job in jobs)
        if not covered[day]:
            out.append((day, entry))
    return out


def _period(starts_on: date | None, ends_on: date | None) -> str:
    begin = f"from {starts_on}" if starts_on else ""
    end = f"until {ends_on}" if ends_on else ""
    return " ".join(part for part in (begin, end) if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideEngagement(_OfPerson):
    """Entries dated outside every engagement of the person.

    periods: first and last day of each engagement. days: those of the entries.
    """

    kind = "outside-engagement"
    description = "Entries are dated outside every engagement of the person."

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
                    entries=tuple(entry.number for _, entry in found),
                    periods=tuple(dict.fromkeys((job.starts_on, job.ends_on) for job in jobs)),
                    days=tuple(day for day, _ in found),
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
class NoEngagement(_OfPerson):
    """A person with entries and no engagement."""

    kind = "no-engagement"
    description = "A person has entries and no engagement."

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for person, own in ledger.entries_by_person.items():
            if not ledger.engagements.get(person):
                entries = tuple(entry.number for entry in own)
                yield cls(person=words.person(ledger, person), entries=entries)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has {words.entry_count(self.entries)} ({words.numbers(self.entries)}) "
            "and no engagement.",
            "Ask for the department and the job title, add them to the engagements table and load "
            f"it; or, if it was somebody else: credits amend {self.entries[0]} --person PERSON",
        )


def _minutes(entry: Entry) -> int:
    """The minutes that are surely all on the entry's day; those of several days are spread."""
    began = entry.work.started_on
    return entry.work.minutes or 0 if began is None or began == entry.day else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTooLong(_OfPerson):
    """More than 16 hours of one person on one date.

    An entry that began on an earlier day than it was finished is left out: how its minutes were
    spread over the days is not known.
    """

    kind = "day-too-long"
    description = "One person has more than 16 hours on one date."

    day: date
    minutes: int

    @property
    def subjects(self) -> Subjects:
        return ("person", self.person.code), ("date", self.day.isoformat())

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        sums: dict[tuple[str, date], int] = defaultdict(int)
        for entry in ledger.entries:
            if entry.day is not None:
                sums[entry.person, entry.day] += _minutes(entry)
        for (person, day), minutes in sums.items():
            if minutes <= LONGEST_DAY_MINUTES:
                continue
            own = ledger.entries_by_person[person]
            entries = tuple(entry.number for entry in own if entry.day == day and _minutes(entry))
            named = words.person(ledger, person)
            yield cls(person=named, day=day, entries=entries, minutes=minutes)

    def in_words(self) -> tuple[str, str]:
        hours, left = divmod(self.minutes, 60)
        return (
            f"{self.person} has {hours} h {left:02} min on {self.day} in "
            f"{words.entry_count(self.entries)} ({words.numbers(self.entries)}).",
            "Ask how long the day was; correct the minutes or the date: credits amend "
            f"{self.entries[-1]} --minutes MINUTES",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut(_OfPerson):
    """A person with a current entry or an engagement who is neither printed nor held.

    engagements: how many. plan: the credit plan by its name.
    """

    kind = "left-out"
    description = "Somebody with an entry or an engagement is neither printed nor held."
    severity: Severity = Severity.WRONG

    engagements: int
    plan: str

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        found = {line.person for section in known.credits.sections for line in section.lines}
        found |= {held.person for held in known.credits.held}
        for person in people_owed(ledger):
            if person not in found:
                own = ledger.entries_by_person.get(person, ())
                yield cls(
                    person=words.person(ledger, person),
                    entries=tuple(entry.number for entry in own),
                    engagements=len(ledger.engagements.get(person, ())),
                    plan=known.credits.plan,
                )

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has {words.entry_count(self.entries)} and "
            f"{words.counted(self.engagements, 'engagement')}, and the end credits by the "
            f"{self.plan} neither print nor hold this person.",
            "Add a section that takes their craft or department to credit-plan.toml, compile "
            f"again with credits roll, and read: credits why {words.typed(self.person.code)}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NamesAlike(_OfPerson):
    """Two people with entries or engagements whose credit names are nearly the same.

    Codes that are one person already are not asked about: each person is looked at once.
    """

    kind = "names-alike"
    description = "Two people have nearly the same credit name."

    other: words.Named

    @property
    def subjects(self) -> Subjects:
        return ("person", self.person.code), ("person", self.other.code)

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        people = [(code, ledger.people[code].credit_name) for code in people_owed(ledger)]
        for one, other, _ in alike(people):
            yield cls(person=words.person(ledger, one), other=words.person(ledger, other))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} and {self.other} have nearly the same credit name.",
            "Ask whether they are one person; if so: credits same "
            f"{words.typed(self.person.code)} {words.typed(self.other.code)}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NameUnconfirmed(_OfPerson):
    """Somebody whom the credits print and whose spelling was never confirmed, or not this one.

    headings: those that the person is printed under. asked_about: the spelling that the last answer
    was about, given on answered_on; None: there was no answer. was_right: whether it was confirmed.
    """

    kind = "name-unconfirmed"
    description = (
        "Somebody would be credited whose name, as it is spelled now, nobody has confirmed."
    )

    headings: tuple[str, ...]
    asked_about: str | None
    answered_on: date | None
    was_right: bool

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        headings: dict[str, dict[str, None]] = defaultdict(dict)
        for section in known.credits.sections:
            for line in section.lines:
                if not line.confirmed:
                    headings[line.person][section.heading] = None
        for person, own in headings.items():
            last = known.ledger.confirmation(person)
            yield cls(
                person=words.person(known.ledger, person),
                headings=tuple(own),
                asked_about=last.name if last else None,
                answered_on=last.confirmed_on if last else None,
                was_right=last is not None and last.is_right,
            )

    def in_words(self) -> tuple[str, str]:
        under = words.some_of(words.in_sentence(heading) for heading in self.headings)
        name = words.in_sentence(self.asked_about or "")
        if self.asked_about is None:
            last = "nobody has confirmed the spelling"
        elif self.was_right:
            last = f"what was confirmed on {self.answered_on} is the spelling '{name}'"
        else:
            last = f"the answer of {self.answered_on} was that '{name}' is not confirmed"
        return (
            f"{self.person} would be printed under {under}, and {last}.",
            "Send a proof and ask how the name is to appear: credits confirm PERSON, with --as "
            "NAME for another spelling.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SortNameMissing(_OfPerson):
    """A person with entries or engagements, a name of several words and no sort name."""

    kind = "sort-name-missing"
    description = "A person whose credit name has several words has no sort name."

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for code in people_owed(known.ledger):
            person = known.ledger.people[code]
            if not person.sort_name and len(person.credit_name.split()) > 1:
                yield cls(person=words.person(known.ledger, code))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has no sort name, and files under the whole name as it is written.",
            "Ask under which part the name files; then set sort_name in the people table "
            "(that part first, a comma, the rest) and load it again.",
        )
