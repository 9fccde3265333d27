"""The list of people, A to Z by sort name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from credits.billing.compile import people_owed
from credits.editions import Crew, Everyone, Office
from credits.model.facts import CreditWish, Person
from credits.model.words import counted, listed
from credits.names import initial
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource

MOST_CRAFTS = 3


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person and, in short, what they do. ``held``: why no credit prints."""

    person: Everyone[Link]
    does: Everyone[str]
    held: Office[str] = ""


@dataclass(frozen=True, slots=True)
class Letter:
    """A heading of the list and the people who file under it. ``anchor``: its place in the page."""

    text: Everyone[str]
    anchor: Everyone[str]
    people: Everyone[tuple[PersonRow, ...]]


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """The list. ``uncredited``: how many asked not to be named, in words, without their names."""

    count: Everyone[str]
    letters: Everyone[tuple[Letter, ...]]
    uncredited: Crew[str] = ""


def _headings(source: PageSource) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for section in source.results.credits.sections:
        for line in section.lines:
            found.setdefault(line.person, []).append(section.heading)
    return found


def _does(source: PageSource, person: Person, headings: dict[str, list[str]]) -> str:
    """Say what somebody does: the crafts; where the log has none, the departments.

    The public reads the heading instead: what the crew list says of somebody is the crew's.
    """
    ledger = source.ledger
    own = {entry.craft for entry in ledger.entries_by_person.get(person.code, ())}
    does = [craft.name for craft in ledger.crafts.values() if craft.code in own]
    if not does and source.crew:
        does = [job.department for job in ledger.engagements.get(person.code, ())]
    elif not does:
        does = headings.get(person.code, [])
    return listed(list(dict.fromkeys(does)), MOST_CRAFTS)


def _uncredited(source: PageSource) -> str:
    people = source.ledger.people
    count = sum(people[code].wish is CreditWish.UNCREDITED for code in people_owed(source.ledger))
    if source.office or not count:
        return ""
    return f"and {counted(count, 'person', 'people')} who asked to be uncredited"


def people_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``people/index.html``."""
    headings = _headings(source)
    held = {one.person: one.reason for one in source.results.credits.held}
    everybody = source.people_in_order()
    letters = []
    for place, (letter, own) in enumerate(
        groupby(everybody, key=lambda person: initial(person.files_under))
    ):
        rows = tuple(
            PersonRow(
                source.person(person.code) or Link(person.credit_name),
                _does(source, person, headings),
                held.get(person.code, ""),
            )
            for person in own
        )
        letters.append(Letter(letter, f"letter-{place + 1}", rows))
    count = counted(len(everybody), "person", "people")
    model = PeoplePage(count, tuple(letters), _uncredited(source))
    yield Page(links.PEOPLE, "people.html", "People", links.PEOPLE, model)
