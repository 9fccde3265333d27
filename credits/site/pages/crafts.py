"""Crafts and departments: who did what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from credits.cautions import MATERIAL_CRAFTS, MATERIAL_DEPARTMENTS, MATERIALS_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.model.facts import Craft, Kind
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.site.words import days_between
from credits.text import fold_words


@dataclass(frozen=True, slots=True)
class CraftLine:
    """A craft in the list."""

    craft: Everyone[Link]
    kind: Everyone[str]
    people: Everyone[str]


@dataclass(frozen=True, slots=True)
class DepartmentBlock:
    """A department: its crafts; and, as the crew list is the crew's, its people and their jobs."""

    name: Everyone[str]
    crafts: Everyone[tuple[CraftLine, ...]]
    people: Crew[tuple[Link, ...]] = ()
    jobs: Crew[tuple[str, ...]] = ()


@dataclass(frozen=True, slots=True)
class CraftsPage:
    """All crafts by department; for the crew also the departments that have none."""

    departments: Everyone[tuple[DepartmentBlock, ...]]


@dataclass(frozen=True, slots=True)
class CraftPerson:
    """Somebody who did the craft: for which characters, when."""

    person: Everyone[Link]
    characters: Everyone[tuple[Link, ...]]
    entries: Crew[int] = 0
    days: Crew[str] = ""
    days_sort: Crew[str] = ""
    hours: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CraftPage:
    """One craft: its people."""

    name: Everyone[str]
    department: Everyone[str]
    kind: Everyone[str]
    people: Everyone[tuple[CraftPerson, ...]]
    materials: Everyone[str]


_KIND_WORDS = {
    Kind.PERFORMANCE: "performance: it happens in shots",
    Kind.BUILD: "build: it happens on things, and reaches every frame those things are then in",
}


def materials_of(craft: Craft) -> str:
    """The material caution where the craft works with such materials, else nothing."""
    dangerous = craft.code in MATERIAL_CRAFTS or (
        craft.kind is Kind.BUILD and fold_words(craft.department) in MATERIAL_DEPARTMENTS
    )
    return MATERIALS_CAUTION if dangerous else ""


def _people_counted(number: int) -> str:
    """``nobody yet``, ``1 person``, ``12 people``."""
    return counted(number, "person", "people") if number else "nobody yet"


def _entries_by_craft(source: PageSource) -> dict[str, dict[str, list[Entry]]]:
    found: dict[str, dict[str, list[Entry]]] = defaultdict(lambda: defaultdict(list))
    for entry in source.ledger.entries:
        found[entry.craft][entry.person].append(entry)
    return found


def _named(source: PageSource, people: Iterable[str]) -> list[tuple[str, Link]]:
    ordered = sorted(set(people), key=source.name_order)
    links_of = ((person, source.person(person)) for person in ordered)
    return [(person, link) for person, link in links_of if link is not None]


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
        people = _named(source, jobs[key])
        lines = tuple(
            CraftLine(
                source.craft(craft.code),
                craft.kind.value,
                _people_counted(len(_named(source, by_craft.get(craft.code, ())))),
            )
            for craft in crafts[key]
        )
        # Beside "uncredited" a job title would say who it is.
        titles = tuple(
            ", ".join(dict.fromkeys(jobs[key][person])) if link.href is not None else ""
            for person, link in people
        )
        yield DepartmentBlock(department, lines, tuple(link for _, link in people), titles)


def _hours(entries: Iterable[Entry]) -> str:
    minutes = sum(entry.work.minutes or 0 for entry in entries)
    return f"{minutes // 60}:{minutes % 60:02d}" if minutes else ""


def _craft_people(source: PageSource, people: dict[str, list[Entry]]) -> Iterator[CraftPerson]:
    places = {code: at for at, code in enumerate(source.ledger.characters)}
    for person, link in _named(source, people):
        entries = people[person]
        characters = sorted({e.character for e in entries if e.character}, key=places.__getitem__)
        days = [entry.day for entry in entries if entry.day is not None]
        yield CraftPerson(
            link,
            tuple(source.character(code) for code in characters),
            len(entries),
            days_between(min(days), max(days)) if days else "undated",
            min(days).isoformat() if days else "",
            _hours(entries),
        )


def crafts_pages(source: PageSource) -> Iterator[Page]:
    """The list of crafts and departments, and one page for every craft."""
    by_craft = _entries_by_craft(source)
    model = CraftsPage(tuple(_departments(source, by_craft)))
    yield Page(links.CRAFTS, "crafts.html", "Crafts and departments", links.CRAFTS, model)
    for craft in source.ledger.crafts.values():
        people = tuple(_craft_people(source, by_craft.get(craft.code, {})))
        page = CraftPage(
            craft.name, craft.department, _KIND_WORDS[craft.kind], people, materials_of(craft)
        )
        yield Page(links.craft_page(craft.code), "craft.html", craft.name, links.CRAFTS, page)
