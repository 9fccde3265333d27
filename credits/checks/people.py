"""Checks of people: engagements, names and days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date

from credits.billing.compile import people_owed
from credits.checks.rule import Case, Known
from credits.model import words
from credits.model.facts import Engagement
from credits.model.ledger import Entry, Ledger
from credits.names import alike

LONGEST_DAY_MINUTES = 16 * 60


def _period(engagement: Engagement) -> str:
    begin = f"from {engagement.starts_on}" if engagement.starts_on else ""
    end = f"until {engagement.ends_on}" if engagement.ends_on else ""
    return " ".join(part for part in (begin, end) if part)


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


def outside_engagement(known: Known) -> Iterator[Case]:
    """Entries dated outside every engagement of the person, by person."""
    ledger = known.ledger
    for person, jobs in ledger.engagements.items():
        found = _uncovered(ledger.entries_by_person.get(person, ()), jobs)
        if not found:
            continue
        entries = tuple(entry.number for _, entry in found)
        yield Case(
            (("person", person),),
            f"{words.person(ledger, person)} is engaged "
            f"{words.listed(dict.fromkeys(_period(job) for job in jobs))}, and has "
            f"{words.counted(len(found), 'entry', 'entries')} outside that "
            f"{words.days(day for day, _ in found)} ({words.numbers(entries)}).",
            "Ask for the right dates; correct the engagements table and load it again, or the "
            f"entry: credits amend {entries[-1]} --finished-on DATE",
            entries,
        )


def no_engagement(known: Known) -> Iterator[Case]:
    """People with entries and no engagement."""
    ledger = known.ledger
    for person, own in ledger.entries_by_person.items():
        if ledger.engagements.get(person):
            continue
        entries = tuple(entry.number for entry in own)
        yield Case(
            (("person", person),),
            f"{words.person(ledger, person)} has "
            f"{words.counted(len(own), 'entry', 'entries')} ({words.numbers(entries)}) and no "
            "engagement.",
            "Ask for the department and the job title, add them to the engagements table and "
            f"load it; or, if it was somebody else: credits amend {entries[0]} --person PERSON",
            entries,
        )


def _minutes(entry: Entry) -> int:
    """The minutes that are surely all on the entry's day; those of several days are spread."""
    began = entry.work.started_on
    return entry.work.minutes or 0 if began is None or began == entry.day else 0


def days_too_long(known: Known) -> Iterator[Case]:
    """More than 16 hours of one person on one date.

    An entry that began on an earlier day than it was finished is left out: how its minutes were
    spread over the days is not known.
    """
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
        hours, left = divmod(minutes, 60)
        yield Case(
            (("person", person), ("date", day.isoformat())),
            f"{words.person(ledger, person)} has {hours} h {left:02} min on {day} in "
            f"{words.counted(len(entries), 'entry', 'entries')} ({words.numbers(entries)}).",
            "Ask how long the day was; correct the minutes or the date: credits amend "
            f"{entries[-1]} --minutes MINUTES",
            entries,
        )


def left_out(known: Known) -> Iterator[Case]:
    """People with a current entry or an engagement who are neither printed nor held."""
    ledger = known.ledger
    printed = {line.person for section in known.credits.sections for line in section.lines}
    found = printed | {held.person for held in known.credits.held}
    for person in people_owed(ledger):
        if person in found:
            continue
        own = ledger.entries_by_person.get(person, ())
        jobs = ledger.engagements.get(person, ())
        yield Case(
            (("person", person),),
            f"{words.person(ledger, person)} has "
            f"{words.counted(len(own), 'entry', 'entries')} and "
            f"{words.counted(len(jobs), 'engagement')}, and the end credits by the "
            f"{known.credits.plan} neither print nor hold this person.",
            "Add a section that takes their craft or department to credit-plan.toml, compile "
            f"again with credits roll, and read: credits why {words.typed(person)}",
            tuple(entry.number for entry in own),
        )


def names_alike(known: Known) -> Iterator[Case]:
    """Two people with entries or engagements whose credit names are nearly the same.

    Codes that are one person already are not asked about: each person is looked at once.
    """
    ledger = known.ledger
    people = [(code, ledger.people[code].credit_name) for code in people_owed(ledger)]
    for one, other, _ in alike(people):
        yield Case(
            (("person", one), ("person", other)),
            f"{words.person(ledger, one)} and {words.person(ledger, other)} have nearly the same "
            "credit name.",
            f"Ask whether they are one person; if so: credits same {words.typed(one)} "
            f"{words.typed(other)}",
        )


def names_unconfirmed(known: Known) -> Iterator[Case]:
    """Everybody the credits print whose spelling was never confirmed, once each."""
    headings: dict[str, dict[str, None]] = defaultdict(dict)
    for section in known.credits.sections:
        for line in section.lines:
            if not line.confirmed:
                headings[line.person][section.heading] = None
    for person, own in headings.items():
        under = words.listed(words.one_line(heading) for heading in own)
        yield Case(
            (("person", person),),
            f"{words.person(known.ledger, person)} would be printed under {under}, and "
            f"{_last_word(known.ledger, person)}.",
            "Send a proof and ask how the name is to appear: credits confirm PERSON, with --as "
            "NAME for another spelling.",
        )


def _last_word(ledger: Ledger, person: str) -> str:
    """What is known of the spelling: nothing, another spelling, or that this one is not right."""
    last = ledger.confirmation(person)
    if last is None:
        return "nobody has confirmed the spelling"
    name = words.one_line(last.name)
    if last.is_right:
        return f"what was confirmed on {last.confirmed_on} is the spelling '{name}'"
    return f"the answer of {last.confirmed_on} was that '{name}' is not confirmed"


def sort_names_missing(known: Known) -> Iterator[Case]:
    """People with entries or engagements, a name of several words and no sort name."""
    ledger = known.ledger
    for code in people_owed(ledger):
        who = ledger.people[code]
        if who.sort_name or len(who.credit_name.split()) < 2:
            continue
        yield Case(
            (("person", code),),
            f"{words.person(ledger, code)} has no sort name, and files under the whole name as it "
            "is written.",
            "Ask under which part the name files; then set sort_name in the people table "
            "(that part first, a comma, the rest) and load it again.",
        )
