"""A person's page: their credit, their work, their shots, how far their hands reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from credits.editions import Crew, Everyone, Office
from credits.model.facts import CreditWish, Person
from credits.model.ledger import Entry
from credits.names import direction
from credits.pages import links
from credits.pages.page import DataFile, Link, Page
from credits.pages.person_credit import (
    CreditIndex,
    CreditLine,
    HeldCredit,
    NotHereRow,
    credit_lines,
    held_credit,
    no_line,
    not_here_rows,
    spelling,
)
from credits.pages.person_film import FilmPlaces
from credits.pages.person_footage import PersonFootage, person_footage
from credits.pages.person_reach import ReachView, reach_view
from credits.pages.person_shots import OwnWork, ShotRow, own_work, shot_rows, shots_file
from credits.pages.person_ways import Ways
from credits.pages.person_work import (
    CraftRow,
    JobRow,
    RepairRow,
    ThingRow,
    Things,
    craft_rows,
    job_rows,
)
from credits.pages.source import PageSource


@dataclass(frozen=True, slots=True)
class PersonPage:
    """Everything a person's page shows. Legal name and e-mail are in no edition, so not here."""

    name: Everyone[Link]
    lines: Everyone[tuple[CreditLine, ...]]
    crafts: Everyone[tuple[CraftRow, ...]]
    built: Everyone[tuple[ThingRow, ...]]
    spelling: Crew[str] = ""
    no_line: Crew[str] = ""
    isni: Crew[str] = ""
    cut: Crew[bool] = False
    reach: Crew[ReachView | None] = None
    shots: Crew[tuple[ShotRow, ...]] = ()
    csv: Crew[str] = ""
    footage: Crew[PersonFootage | None] = None
    repairs: Crew[tuple[RepairRow, ...]] = ()
    jobs: Crew[tuple[JobRow, ...]] = ()
    review: Office[Link | None] = None
    uncredited: Office[bool] = False
    held: Office[HeldCredit | None] = None
    not_here: Office[tuple[NotHereRow, ...]] = ()
    codes: Office[tuple[str, ...]] = ()
    note: Office[str] = ""


def _isni_text(isni: str | None) -> str:
    """An ISNI as ISO 27729 writes it, in four groups of four."""
    plain = "".join((isni or "").split())
    return " ".join(plain[at : at + 4] for at in range(0, len(plain), 4))


class _Builder:
    """Builds every person's page; what they share is indexed once."""

    def __init__(self, source: PageSource) -> None:
        self._source = source
        self._credits = CreditIndex.of(source.results.credits)
        self._ways = Ways(source.results) if source.crew else None
        self._films = FilmPlaces(source)
        self._things = Things(source, self._ways)

    def _public(self, person: Person) -> PersonPage:
        entries = self._source.ledger.entries_by_person.get(person.code, ())
        return PersonPage(
            name=Link(person.credit_name, None, direction(person.credit_name)),
            lines=credit_lines(self._credits, person.code, self._source.office),
            crafts=craft_rows(self._source, entries),
            built=self._things.built(person.code, entries),
        )

    def _crew(self, person: Person, ways: Ways, work: tuple[OwnWork, ...], csv: str) -> PersonPage:
        source, code = self._source, person.code
        entries = source.ledger.entries_by_person.get(code, ())
        page = self._public(person)
        return PersonPage(
            name=page.name,
            lines=page.lines,
            crafts=page.crafts,
            built=page.built,
            spelling=spelling(source.ledger, code) if person.wish is CreditWish.CREDITED else "",
            no_line=no_line(source, self._credits, code),
            isni=_isni_text(person.isni),
            cut=source.results.use is not None,
            reach=reach_view(source, ways, self._films, code),
            shots=shot_rows(source, self._films, work),
            csv=csv,
            footage=person_footage(source, code),
            repairs=self._things.repairs(entries),
            jobs=job_rows(source, code),
            review=self._review(entries),
            uncredited=person.wish is CreditWish.UNCREDITED,
            held=held_credit(self._credits, code),
            not_here=not_here_rows(self._credits, code),
            codes=source.ledger.codes_of(code),
            note=person.note or "",
        )

    def _review(self, entries: Iterable[Entry]) -> Link | None:
        """The way to the review of somebody with footage work."""
        own = next((e for e in entries if self._source.ledger.is_footage(e)), None)
        return Link("Review", links.review_page(own.person)) if own is not None else None

    def files(self, person: Person) -> Iterator[Page | DataFile]:
        """The person's page, and for crew and office the CSV of their shots beside it."""
        if self._ways is None:
            model = self._public(person)
        else:
            work = own_work(self._source, person.code)
            file = shots_file(self._source, self._films, person.code, work)
            model = self._crew(person, self._ways, work, file.path if file is not None else "")
            if file is not None:
                yield file
        path = links.person_page(person.code)
        yield Page(path, "person.html", person.credit_name, links.PEOPLE, model)


def person_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """A page for everybody this edition names, by sort name."""
    builder = _Builder(source)
    for person in source.people_in_order():
        yield from builder.files(person)
