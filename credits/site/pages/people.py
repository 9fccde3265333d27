"""The lists of people and of crafts and departments, and a page for every craft."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import groupby

from credits.billing.compile import people_owed
from credits.cautions import is_of_materials
from credits.editions import Crew, Edition, Everyone, Office
from credits.model.facts import Craft, CreditWish, Kind, Person
from credits.model.ledger import CraftWork
from credits.model.words import counted, listed
from credits.names import initial, script
from credits.site import links
from credits.site.links import About, Link, Page
from credits.site.source import PageSource, grouped, plain
from credits.text import fold_words
from credits.units.table import Table, Unit, columns

PEOPLE_COLUMNS = (
    *columns(person="Person", characters="For"),
    *columns(Unit.DAY, Edition.CREW, days="When"),
    *columns(Unit.NUMBER, Edition.CREW, entries="Entries"),
    *columns(Unit.HOURS, Edition.OFFICE, places=1, nothing="", hours="Hours logged"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DepartmentBlock:
    """A department: its crafts; and, as the crew list is the crew's, its people and their jobs.

    crafts: each with its kind and how many do it. people: each with their jobs.
    """

    name: Everyone[str]
    crafts: Everyone[tuple[tuple[Link, str, str], ...]]
    people: Crew[tuple[tuple[Link, str], ...]] = ()


@dataclass(frozen=True, slots=True)
class CraftsPage:
    """All crafts by department; for the crew also the departments that have none."""

    departments: Everyone[tuple[DepartmentBlock, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class CraftPage:
    """One craft: its people."""

    name: Everyone[str]
    department: Everyone[str]
    kind: Everyone[str]
    people: Everyone[Table]
    dangerous: Everyone[bool]


_KIND_WORDS = {
    Kind.PERFORMANCE: "performance: it happens in shots",
    Kind.BUILD: "build: it happens on things, and reaches every frame those things are then in",
}


def is_dangerous(craft: Craft) -> bool:
    """Tell whether the craft works with materials that call for the caution."""
    return is_of_materials(craft.code, craft.department, craft.kind is Kind.BUILD)


def _departments(source: PageSource) -> Iterator[DepartmentBlock]:
    ledger = source.ledger
    did = grouped(ledger.done, lambda work: work.craft)
    names: dict[str, str] = {}
    crafts = grouped(ledger.crafts.values(), lambda craft: fold_words(craft.department))
    jobs: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for craft in ledger.crafts.values():
        names.setdefault(fold_words(craft.department), craft.department)
    for person, own in ledger.engagements.items():
        for engagement in own:
            key = fold_words(engagement.department)
            names.setdefault(key, engagement.department[:1].upper() + engagement.department[1:])
            jobs[key][person].append(engagement.job_title)
    for key, department in names.items():
        if not source.crew and key not in crafts:
            continue
        lines = []
        for craft in crafts.get(key, ()):
            count = len(source.names(work.person for work in did.get(craft.code, ())))
            words = counted(count, "person", "people") if count else "nobody yet"
            lines.append((source.craft(craft.code), craft.kind.value, words))
        # Beside "uncredited" a job title would say who it is.
        titles = tuple(
            (link, ", ".join(dict.fromkeys(jobs[key][person])) if link.href is not None else "")
            for person, link in source.named_people(jobs[key])
        )
        yield DepartmentBlock(name=department, crafts=tuple(lines), people=titles)


def _people(source: PageSource, work: Iterable[CraftWork]) -> Table:
    by_person = {own.person: own for own in work}
    rows = []
    for person, link in source.named_people(by_person):
        own = by_person[person]
        characters = plain(source.characters(own.characters))
        rows.append((link, characters, own.days or "undated", own.entries, own.minutes or None))
    return Table.of("Who did it", PEOPLE_COLUMNS, rows)


def _craft_page(source: PageSource, craft: Craft) -> CraftPage:
    return CraftPage(
        name=craft.name,
        department=craft.department,
        kind=_KIND_WORDS[craft.kind],
        people=_people(source, source.ledger.by_craft.get(craft.code, ())),
        dangerous=is_dangerous(craft),
    )


def crafts_pages(source: PageSource) -> Iterator[Page]:
    """Yield the list of crafts and departments, and one page for every craft."""
    title = "Crafts and departments"

    def overview() -> CraftsPage:
        return CraftsPage(tuple(_departments(source)))

    about = About(also=lambda: [(own.craft, own.person) for own in source.ledger.done])
    yield Page(links.CRAFTS, "crafts.html", title, links.CRAFTS, overview, about)
    for craft in source.ledger.crafts.values():
        path, make = links.craft_page(craft.code), partial(_craft_page, source, craft)
        about = About("craft", craft.code)
        yield Page(path, "craft.html", craft.name, links.CRAFTS, make, about)


MOST_CRAFTS = 3


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person and, in short, what they do. ``held``: why no credit prints."""

    person: Everyone[Link]
    does: Everyone[str]
    held: Office[str] = ""


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """The list.

    letters: a heading, its place in the page, and the people who file under it. scripts: the same
    headings and places by the script they are of, named where there are several.
    uncredited: how many asked not to be named, in words, without their names.
    """

    count: Everyone[str]
    letters: Everyone[tuple[tuple[str, str, tuple[PersonRow, ...]], ...]]
    scripts: Everyone[tuple[tuple[str, tuple[tuple[str, str], ...]], ...]]
    uncredited: Crew[str] = ""


def does(source: PageSource, person: Person) -> str:
    """Say what somebody does: the crafts; where the log has none, the departments.

    The public reads the heading instead: what the crew list says of somebody is the crew's.
    """
    ledger = source.ledger
    said = [ledger.crafts[code].name for code in source.crafts_of.get(person.code, ())]
    if not said and source.crew:
        said = [job.department for job in ledger.engagements.get(person.code, ())]
    elif not said:
        said = [section.heading for section in source.credits_of(person.code).sections]
    return listed(list(dict.fromkeys(said)), MOST_CRAFTS)


def _uncredited(source: PageSource) -> str:
    people = source.ledger.people
    count = sum(people[code].wish is CreditWish.UNCREDITED for code in people_owed(source.ledger))
    if source.office or not count:
        return ""
    return f"and {counted(count, 'person', 'people')} who asked to be uncredited"


def _people_page(source: PageSource) -> PeoplePage:
    held = {one.person: one.reason for one in source.results.credits.held}
    everybody = source.people_in_order()
    letters = []
    alphabet = source.ledger.production.alphabet
    by_letter = groupby(everybody, key=lambda person: initial(person.files_under, alphabet))
    for place, (letter, own) in enumerate(by_letter, 1):
        rows = tuple(
            PersonRow(
                source.person(person.code) or Link(person.credit_name),
                does(source, person),
                held.get(person.code, ""),
            )
            for person in own
        )
        letters.append((letter, f"letter-{place}", rows))
    count = counted(len(everybody), "person", "people")
    places = [(letter, anchor) for letter, anchor, _ in letters]
    by_script = grouped(places, lambda place: script(place[0]))
    scripts = tuple(
        ((name or "Others") if len(by_script) > 1 else "", tuple(own))
        for name, own in by_script.items()
    )
    return PeoplePage(count, tuple(letters), scripts, _uncredited(source))


def people_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``people/index.html``: everybody, A to Z by sort name."""

    def also() -> object:
        credits = source.results.credits
        headings = [(s.heading, one.person) for s, one in credits.lines] if not source.crew else ()
        held = [(one.person, one.reason) for one in credits.held]
        return source.crafts_of, headings, held, people_owed(source.ledger)

    make, about = partial(_people_page, source), About(also=also)
    yield Page(links.PEOPLE, "people.html", "People", links.PEOPLE, make, about)
