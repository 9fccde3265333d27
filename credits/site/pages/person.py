"""People: a page each, and the list of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from credits.billing.compile import people_owed
from credits.billing.credits import Why, why
from credits.cautions import REVIEW_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES, Footage, work_time
from credits.footage.table import By, footage_column, footage_rows, footage_table
from credits.model.facts import CreditWish, Person
from credits.model.words import counted, listed
from credits.names import initial
from credits.site import links
from credits.site.entries import repairs_table
from credits.site.links import DataFile, Link, Page
from credits.site.pages.credits import (
    CreditLine,
    HeldCredit,
    credit_lines,
    held_credit,
    no_line,
    not_here,
    spelling,
)
from credits.site.pages.person_work import (
    OwnWork,
    PersonCraftRow,
    ReachView,
    Ways,
    built_table,
    craft_rows,
    jobs_table,
    own_work,
    reach_view,
    shots_file,
    shots_table,
)
from credits.site.source import PageSource
from credits.units.film_time import seconds
from credits.units.rounding import decimal_text
from credits.units.table import Column, Table, Unit

TOTAL_COLUMNS = (
    Column(key="measure", heading="Total"),
    Column(key="character", heading="Character frames", unit=Unit.FRAMES),
    Column(key="time", heading="As running time", unit=Unit.RUNNING),
    Column(key="feet", heading="As feet", unit=Unit.FEET),
    Column(key="shot", heading="Shot frames", unit=Unit.FRAMES),
)
MOST_CRAFTS = 3


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
    figures = [
        footage_column(f"{measure}_character", MEASURE_WORDS[measure].capitalize())
        for measure in measures
    ]
    rows = (
        ((source.character(row.key[0] or ""),), row.totals)
        for row in footage_rows(feet, source.ledger, (By.CHARACTER,))
    )
    key = (Column(key="character", heading="Character"),)
    caption = "Character frames in each measure"
    return footage_table(caption, key, figures, rows, source.ledger.production)


def _totals(source: PageSource, feet: Footage, measures: Sequence[str]) -> Table:
    total = feet.total
    rows = []
    for measure in measures:
        frames = total.character.of(measure)
        words = MEASURE_WORDS[measure].capitalize()
        rows.append((words, frames, frames, frames, total.by_shot.of(measure)))
    return Table.of("The total in each measure", TOTAL_COLUMNS, rows, source.scale)


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


def _public_page(source: PageSource, ways: Ways | None, person: Person, own: Why) -> PersonPage:
    entries = source.ledger.entries_by_person.get(person.code, ())
    return PersonPage(
        name=Link(person.credit_name),
        lines=credit_lines(own, source.office),
        crafts=craft_rows(source, entries),
        built=built_table(source, ways, person.code, entries),
    )


def _crew_page(
    source: PageSource,
    ways: Ways,
    person: Person,
    work: tuple[OwnWork, ...],
    file: DataFile | None,
) -> PersonPage:
    code = person.code
    own = why(source.results.credits, code)
    entries = source.ledger.entries_by_person.get(code, ())
    has_review = any(map(source.ledger.is_footage, entries))
    return replace(
        _public_page(source, ways, person, own),
        spelling=spelling(source.ledger, code) if person.wish is CreditWish.CREDITED else "",
        no_line=no_line(own, source.office),
        isni=_isni_text(person.isni),
        cut=source.has_cut,
        reach=reach_view(source, ways, code),
        shots=shots_table(source, work),
        csv=file.path if file is not None else "",
        footage=person_footage(source, code),
        repairs=repairs_table(source, entries, f"by {person.credit_name}").without("person"),
        jobs=jobs_table(source, code),
        review=Link("Review", links.review_page(code)) if has_review else None,
        uncredited=person.wish is CreditWish.UNCREDITED,
        held=held_credit(own.held) if own.held is not None else None,
        not_here=not_here(own),
        codes=source.ledger.codes_of(code),
        note=person.note or "",
    )


def person_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Yield a page for everybody this edition names, by sort name.

    For crew and office the CSV of their shots comes before it.
    """
    ways = Ways(source.results) if source.crew else None
    for person in source.people_in_order():
        if ways is None:
            own = why(source.results.credits, person.code)
            model = _public_page(source, None, person, own)
        else:
            work = own_work(source, person.code)
            file = shots_file(source, person.code, work)
            model = _crew_page(source, ways, person, work, file)
            if file is not None:
                yield file
        path = links.person_page(person.code)
        yield Page(path, "person.html", person.credit_name, links.PEOPLE, model)


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person and, in short, what they do. ``held``: why no credit prints."""

    person: Everyone[Link]
    does: Everyone[str]
    held: Office[str] = ""


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """The list.

    letters: a heading, its place in the page, and the people who file under it.
    uncredited: how many asked not to be named, in words, without their names.
    """

    count: Everyone[str]
    letters: Everyone[tuple[tuple[str, str, tuple[PersonRow, ...]], ...]]
    uncredited: Crew[str] = ""


def _does(source: PageSource, person: Person) -> str:
    """Say what somebody does: the crafts; where the log has none, the departments.

    The public reads the heading instead: what the crew list says of somebody is the crew's.
    """
    ledger = source.ledger
    own = source.by_craft(ledger.entries_by_person.get(person.code, ()))
    does = [ledger.crafts[code].name for code, _ in own]
    if not does and source.crew:
        does = [job.department for job in ledger.engagements.get(person.code, ())]
    elif not does:
        lines = source.results.credits.lines_of(person.code)
        does = [section.heading for section, _ in lines]
    return listed(list(dict.fromkeys(does)), MOST_CRAFTS)


def _uncredited(source: PageSource) -> str:
    people = source.ledger.people
    count = sum(people[code].wish is CreditWish.UNCREDITED for code in people_owed(source.ledger))
    if source.office or not count:
        return ""
    return f"and {counted(count, 'person', 'people')} who asked to be uncredited"


def people_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``people/index.html``: everybody, A to Z by sort name."""
    held = {one.person: one.reason for one in source.results.credits.held}
    everybody = source.people_in_order()
    letters = []
    by_letter = groupby(everybody, key=lambda person: initial(person.files_under))
    for place, (letter, own) in enumerate(by_letter, 1):
        rows = tuple(
            PersonRow(
                source.person(person.code) or Link(person.credit_name),
                _does(source, person),
                held.get(person.code, ""),
            )
            for person in own
        )
        letters.append((letter, f"letter-{place}", rows))
    count = counted(len(everybody), "person", "people")
    model = PeoplePage(count, tuple(letters), _uncredited(source))
    yield Page(links.PEOPLE, "people.html", "People", links.PEOPLE, model)
