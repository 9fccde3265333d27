"""A person's page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from credits.cautions import REVIEW_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES, Footage, work_time
from credits.footage.table import By, footage_column, footage_rows, footage_table
from credits.model.facts import CreditWish, Person
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.names import direction
from credits.site import links
from credits.site.entries import repairs_table
from credits.site.page import DataFile, Link, Page
from credits.site.pages.person_credit import (
    CreditIndex,
    CreditLine,
    HeldCredit,
    credit_lines,
    held_credit,
    no_line,
    not_here,
    spelling,
)
from credits.site.pages.person_reach import FilmPlaces, ReachView, Ways, reach_view
from credits.site.pages.person_work import (
    OwnWork,
    PersonCraftRow,
    Things,
    craft_rows,
    jobs_table,
    own_work,
    shots_file,
    shots_table,
)
from credits.site.source import PageSource
from credits.units.film_time import seconds
from credits.units.rounding import decimal_text
from credits.units.table import Column, Table, Unit


@dataclass(frozen=True, slots=True)
class PersonFootage:
    """Character frames by character, the totals in each measure, and time and pace."""

    characters: Crew[Table | None] = None
    totals: Crew[Table | None] = None
    office: Office[tuple[tuple[str, str], ...]] = ()
    caution: Office[str] = ""


def _office(source: PageSource, person: str) -> tuple[tuple[str, str], ...]:
    """Return minutes, days, pace and re-shot share, each with its name."""
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


def _by_character(source: PageSource, feet: Footage, measures: Sequence[str]) -> Table:
    return footage_table(
        "Character frames in each measure",
        (Column(key="character", heading="Character"),),
        [
            footage_column(f"{measure}_character", MEASURE_WORDS[measure].capitalize())
            for measure in measures
        ],
        (
            ((source.character(row.key[0] or ""),), row.totals)
            for row in footage_rows(feet, source.ledger, (By.CHARACTER,))
        ),
        source.ledger.production,
        label="character frames",
    )


def _totals(source: PageSource, feet: Footage, measures: Sequence[str]) -> Table:
    total = feet.total
    rows = []
    for measure in measures:
        frames = total.character.of(measure)
        rows.append(
            (MEASURE_WORDS[measure].capitalize(), frames, frames, frames, total.by_shot.of(measure))
        )
    return Table(
        caption="The total in each measure",
        columns=(
            Column(key="measure", heading="Total"),
            Column(key="character", heading="Character frames", unit=Unit.FRAMES),
            Column(key="time", heading="As running time", unit=Unit.RUNNING),
            Column(key="feet", heading="As feet", unit=Unit.FEET),
            Column(key="shot", heading="Shot frames", unit=Unit.FRAMES),
        ),
        rows=tuple(rows),
        scale=source.scale,
    )


def person_footage(source: PageSource, person: str) -> PersonFootage | None:
    """Return the footage of a person; None where they claimed no frame."""
    feet = source.results.footage_by_person.get(person)
    if feet is None:
        return None
    measures = MEASURES if feet.cut is not None else MEASURES[:3]
    return PersonFootage(
        _by_character(source, feet, measures),
        _totals(source, feet, measures),
        _office(source, person),
        REVIEW_CAUTION,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPage:
    """Everything a person's page shows. Legal name and e-mail are in no edition, so not here."""

    name: Everyone[Link]
    lines: Everyone[tuple[CreditLine, ...]]
    crafts: Everyone[tuple[PersonCraftRow, ...]]
    built: Everyone[Table]
    spelling: Crew[str] = ""
    no_line: Crew[str] = ""
    isni: Crew[str] = ""
    cut: Crew[bool] = False
    reach: Crew[ReachView | None] = None
    shots: Crew[Table | None] = None
    csv: Crew[str] = ""
    footage: Crew[PersonFootage | None] = None
    repairs: Crew[Table | None] = None
    jobs: Crew[Table | None] = None
    review: Office[Link | None] = None
    uncredited: Office[bool] = False
    held: Office[HeldCredit | None] = None
    not_here: Office[Table | None] = None
    codes: Office[tuple[str, ...]] = ()
    note: Office[str] = ""


def _isni_text(isni: str | None) -> str:
    """Write an ISNI as ISO 27729 writes it, in four groups of four."""
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
        return replace(
            self._public(person),
            spelling=spelling(source.ledger, code) if person.wish is CreditWish.CREDITED else "",
            no_line=no_line(source, self._credits, code),
            isni=_isni_text(person.isni),
            cut=source.results.use is not None,
            reach=reach_view(source, ways, self._films, code),
            shots=shots_table(source, self._films, work),
            csv=csv,
            footage=person_footage(source, code),
            repairs=repairs_table(source, entries, f"by {person.credit_name}").without("person"),
            jobs=jobs_table(source, code),
            review=self._review(entries),
            uncredited=person.wish is CreditWish.UNCREDITED,
            held=held_credit(self._credits, code),
            not_here=not_here(self._credits, code),
            codes=source.ledger.codes_of(code),
            note=person.note or "",
        )

    def _review(self, entries: Iterable[Entry]) -> Link | None:
        """Return the way to the review of somebody with footage work."""
        own = next((e for e in entries if self._source.ledger.is_footage(e)), None)
        return Link("Review", links.review_page(own.person)) if own is not None else None

    def files(self, person: Person) -> Iterator[Page | DataFile]:
        """Yield the person's page, and for crew and office the CSV of their shots beside it."""
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
    """Yield a page for everybody this edition names, by sort name."""
    builder = _PersonPages(source)
    for person in source.people_in_order():
        yield from builder.files(person)
