"""Crafts and departments: who did what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from credits.cautions import MATERIAL_CRAFTS, MATERIAL_DEPARTMENTS, MATERIALS_CAUTION
from credits.editions import Crew, Edition, Everyone
from credits.model.facts import Craft, Kind
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource, worked_days
from credits.text import fold_words
from credits.units.table import Column, Table, Unit

PEOPLE_COLUMNS = (
    Column(key="person", heading="Person"),
    Column(key="characters", heading="For"),
    Column(key="days", heading="When", unit=Unit.DAY, edition=Edition.CREW),
    Column(key="entries", heading="Entries", unit=Unit.NUMBER, edition=Edition.CREW),
    Column(
        key="hours",
        heading="Hours logged",
        unit=Unit.HOURS,
        edition=Edition.OFFICE,
        places=1,
        nothing="",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DepartmentBlock:
    """A department: its crafts; and, as the crew list is the crew's, its people and their jobs.

    crafts: each with its kind and how many do it.
    """

    name: Everyone[str]
    crafts: Everyone[tuple[tuple[Link, str, str], ...]]
    people: Crew[tuple[Link, ...]] = ()
    jobs: Crew[tuple[str, ...]] = ()


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
    materials: Everyone[str]


_KIND_WORDS = {
    Kind.PERFORMANCE: "performance: it happens in shots",
    Kind.BUILD: "build: it happens on things, and reaches every frame those things are then in",
}


def materials_of(craft: Craft) -> str:
    """Return the material caution where the craft works with such materials, else nothing."""
    dangerous = craft.code in MATERIAL_CRAFTS or (
        craft.kind is Kind.BUILD and fold_words(craft.department) in MATERIAL_DEPARTMENTS
    )
    return MATERIALS_CAUTION if dangerous else ""


def _people_counted(number: int) -> str:
    """Write ``nobody yet``, ``1 person``, ``12 people``."""
    return counted(number, "person", "people") if number else "nobody yet"


def _entries_by_craft(source: PageSource) -> dict[str, dict[str, list[Entry]]]:
    found: dict[str, dict[str, list[Entry]]] = defaultdict(lambda: defaultdict(list))
    for entry in source.ledger.entries:
        found[entry.craft][entry.person].append(entry)
    return found


def _departments(
    source: PageSource, by_craft: dict[str, dict[str, list[Entry]]]
) -> Iterator[DepartmentBlock]:
    ledger = source.ledger
    names: dict[str, str] = {}
    crafts: dict[str, list[Craft]] = defaultdict(list)
    jobs: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for craft in ledger.crafts.values():
        names.setdefault(fold_words(craft.department), craft.department)
        crafts[fold_words(craft.department)].append(craft)
    for person, own in ledger.engagements.items():
        for engagement in own:
            key = fold_words(engagement.department)
            names.setdefault(key, engagement.department[:1].upper() + engagement.department[1:])
            jobs[key][person].append(engagement.job_title)
    for key, department in names.items():
        if not source.crew and key not in crafts:
            continue
        people = source.named_people(jobs[key])
        lines = tuple(
            (
                source.craft(craft.code),
                craft.kind.value,
                _people_counted(len(source.names(by_craft.get(craft.code, ())))),
            )
            for craft in crafts[key]
        )
        # Beside "uncredited" a job title would say who it is.
        titles = tuple(
            ", ".join(dict.fromkeys(jobs[key][person])) if link.href is not None else ""
            for person, link in people
        )
        yield DepartmentBlock(
            name=department,
            crafts=lines,
            people=tuple(link for _, link in people),
            jobs=titles,
        )


def _people(source: PageSource, by_person: Mapping[str, list[Entry]]) -> Table:
    """Return who did a craft: for which characters, when."""
    rows = []
    for person, link in source.named_people(by_person):
        entries = by_person[person]
        rows.append(
            (
                link,
                source.characters(entry.character for entry in entries),
                worked_days(entries) or "undated",
                len(entries),
                sum(entry.work.minutes or 0 for entry in entries) or None,
            )
        )
    return Table.of("Who did it", PEOPLE_COLUMNS, rows)


def crafts_pages(source: PageSource) -> Iterator[Page]:
    """Yield the list of crafts and departments, and one page for every craft."""
    by_craft = _entries_by_craft(source)
    model = CraftsPage(tuple(_departments(source, by_craft)))
    yield Page(links.CRAFTS, "crafts.html", "Crafts and departments", links.CRAFTS, model)
    for craft in source.ledger.crafts.values():
        page = CraftPage(
            name=craft.name,
            department=craft.department,
            kind=_KIND_WORDS[craft.kind],
            people=_people(source, by_craft.get(craft.code, {})),
            materials=materials_of(craft),
        )
        yield Page(links.craft_page(craft.code), "craft.html", craft.name, links.CRAFTS, page)
