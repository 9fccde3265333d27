"""A person's page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from credits.cautions import REVIEW_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES
from credits.footage.table import By, footage_column, footage_rows, footage_table
from credits.footage.time import work_time
from credits.model.facts import CreditWish, Person
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.names import direction
from credits.site import links
from credits.site.page import DataFile, Link, Page
from credits.site.pages.person_credit import (
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
from credits.site.pages.person_reach import FilmPlaces, ReachView, Ways, reach_view
from credits.site.pages.person_work import (
    JobRow,
    OwnWork,
    PersonCraftRow,
    PersonRepairRow,
    PersonShotRow,
    PersonThingRow,
    Things,
    craft_rows,
    job_rows,
    own_work,
    shot_rows,
    shots_file,
)
from credits.site.source import PageSource
from credits.units.film_time import clock, feet_text, seconds
from credits.units.rounding import decimal_text, half_up
from credits.units.table import Column, PrintedCell


@dataclass(frozen=True, slots=True)
class PersonFootageLine:
    """A row of figures, one for each measure. ``name`` leads to the character's page."""

    name: Crew[Link | None] = None
    figures: Crew[tuple[str, ...]] = ()


@dataclass(frozen=True, slots=True)
class PersonFootage:
    """Character frames by character, the totals in every dress, and time and pace."""

    heads: Crew[tuple[str, ...]] = ()
    rows: Crew[tuple[PersonFootageLine, ...]] = ()
    totals: Crew[tuple[PersonFootageLine, ...]] = ()
    office: Office[tuple[tuple[str, str], ...]] = ()
    caution: Office[str] = ""


def _office(source: PageSource, person: str) -> tuple[tuple[str, str], ...]:
    """Minutes, days, pace and re-shot share (rule 3.7), each with its name."""
    results = source.results
    time = work_time(source.ledger, source.ledger.entries_by_person.get(person, ()))
    total = results.footage_by_person[person].total.by_shot
    days = len(time.shoot_days)
    figures = [
        ("minutes logged", f"{time.minutes:,}"),
        ("stage days", counted(len(time.stage_days), "day")),
        ("of them block, rehearsal", f"{len(time.block_days):,}, {len(time.rehearsal_days):,}"),
    ]
    if days:
        pace = seconds(total.kept, source.ledger.production.rate) / days
        figures.append(("pace", f"{decimal_text(pace, 1)} s a shoot day"))
    if total.shot:
        again = 100 - Fraction(100 * total.kept) / total.shot
        figures.append(("re-shot share", f"{decimal_text(again, 1)} %"))
    return tuple(figures)


def person_footage(source: PageSource, person: str) -> PersonFootage | None:
    """The footage of a person; None where they claimed no frame."""
    feet = source.results.footage_by_person.get(person)
    if feet is None:
        return None
    ledger = source.ledger
    measures = MEASURES if feet.cut is not None else MEASURES[:3]
    production, total = ledger.production, feet.total
    columns = [footage_column(f"{measure}_character", measure) for measure in measures]
    found = [
        ((source.character(row.key[0] or ""),), row.totals)
        for row in footage_rows(feet, ledger, (By.CHARACTER,))
    ]
    name = Column(key="character", heading="Character")
    shown = footage_table("Footage by character", (name,), columns, found, production).printed()

    def line(head: Link, cells: Sequence[PrintedCell]) -> PersonFootageLine:
        return PersonFootageLine(head, tuple(cell.text for cell in cells[1:]))

    rows = tuple(line(row[0].text, row) for row in shown.rows)
    frames = [total.character.of(measure) for measure in measures]
    by_shot = tuple(f"{half_up(total.by_shot.of(measure)):,}" for measure in measures)
    running = tuple(clock(figure, production.rate) for figure in frames)
    film = tuple(feet_text(figure, production.gauge) for figure in frames)
    totals = (
        line(Link("character frames"), shown.total),
        PersonFootageLine(Link("as running time"), running),
        PersonFootageLine(Link("as feet"), film),
        PersonFootageLine(Link("shot frames"), by_shot),
    )
    heads = tuple(MEASURE_WORDS[measure].capitalize() for measure in measures)
    return PersonFootage(heads, rows, totals, _office(source, person), REVIEW_CAUTION)


@dataclass(frozen=True, slots=True)
class PersonPage:
    """Everything a person's page shows. Legal name and e-mail are in no edition, so not here."""

    name: Everyone[Link]
    lines: Everyone[tuple[CreditLine, ...]]
    crafts: Everyone[tuple[PersonCraftRow, ...]]
    built: Everyone[tuple[PersonThingRow, ...]]
    spelling: Crew[str] = ""
    no_line: Crew[str] = ""
    isni: Crew[str] = ""
    cut: Crew[bool] = False
    reach: Crew[ReachView | None] = None
    shots: Crew[tuple[PersonShotRow, ...]] = ()
    csv: Crew[str] = ""
    footage: Crew[PersonFootage | None] = None
    repairs: Crew[tuple[PersonRepairRow, ...]] = ()
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


class _PersonPages:
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
    builder = _PersonPages(source)
    for person in source.people_in_order():
        yield from builder.files(person)
