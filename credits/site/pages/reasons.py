"""The page of reasons, for the office: by heading, by character, all that do not print, by name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial

from credits.billing.asked import by_character, not_printed
from credits.billing.credits import Considered, Credits, Held
from credits.billing.reasons import Reason, in_words
from credits.editions import Office
from credits.site import links
from credits.site.links import Link, Page
from credits.site.pages.credits import figures_text, reasons_of
from credits.site.source import PageSource
from credits.units.table import Column, Table, columns

PRINTED, NOT_OWED = "printed", "no credit is owed yet"
HEADING_COLUMNS = columns(
    heading="Heading",
    name="Name",
    role="Role",
    outcome="What became of it",
    why="Why",
    figures="Figures",
)
CHARACTER_COLUMNS = columns(character="Character", heading="Heading", names="Names")
OUT_COLUMNS = columns(
    person="Person", heading="Heading", reason="Reason", why="Why", figures="Figures"
)
NAME_COLUMNS = columns(name="Name", what="What it is", person="Person")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonsPage:
    """Why the credits read as they do, looked up in four ways."""

    plan: Office[str] = ""
    headings: Office[Table | None] = None
    characters: Office[Table | None] = None
    out: Office[Table | None] = None
    names: Office[Table | None] = None


Row = tuple[object, ...]


def _why(because: tuple[Reason, ...]) -> tuple[str, str]:
    """Return the rule with what was asked for, and the figures."""
    words = in_words(because)
    return f"{words.rule} {words.threshold}".strip(), figures_text(words.figures)


def _person(source: PageSource, code: str, name: str = "") -> Link:
    return Link(name or source.ledger.people[code].credit_name, reasons_of(code))


def _considered(one: Considered) -> tuple[str, str, str]:
    why, figures = _why(one.because)
    return one.outcome.value, f"{one.not_here} {why}".strip(), figures


def _headings(source: PageSource, credits: Credits) -> Iterator[Row]:
    """Every line under its heading, behind it whom the heading considered and does not print."""
    not_here: dict[str, list[Considered]] = {}
    for one in credits.not_here:
        not_here.setdefault(one.heading, []).append(one)
    for section in credits.sections:
        for line in section.lines:
            name = _person(source, line.person, line.name) if line.person else Link(line.name)
            yield (section.heading, name, line.role or "", PRINTED, *_why(line.because))
        for one in not_here.pop(section.heading, ()):
            yield section.heading, _person(source, one.person), "", *_considered(one)
    for heading, others in not_here.items():
        for one in others:
            yield heading, _person(source, one.person), "", *_considered(one)


def _characters(source: PageSource, credits: Credits) -> Iterator[Row]:
    """Who prints for each character under each heading, and who does not print at all."""
    for code, own in by_character(credits, source.ledger).items():
        found: dict[str, dict[Link, None]] = {}
        for section, line in own.lines:
            name = _person(source, line.person, line.name) if line.person else Link(line.name)
            found.setdefault(section.heading, {})[name] = None
        for heading, names in found.items():
            yield source.character(code), heading, tuple(names)
        if own.held:
            held = tuple(_person(source, one.person, one.name) for one in own.held)
            yield source.character(code), "(not printed)", held


def _held(source: PageSource, held: Held) -> Row:
    return _person(source, held.person), held.heading, held.reason, *_why(held.because)


def _out(source: PageSource, credits: Credits) -> Iterator[Row]:
    found = not_printed(credits, source.ledger)
    yield from (_held(source, held) for held in (*found.people, *found.lines))
    for one in found.left_out:
        why, figures = _why(one.because)
        yield _person(source, one.person), one.heading, one.not_here, why, figures
    for code in found.not_owed:
        yield _person(source, code), "", NOT_OWED, "", ""


def _names(source: PageSource, credits: Credits) -> Iterator[Row]:
    """Every name that somebody is or was known by, where it is not the credited one; but the legal
    name, which no page holds."""
    ledger, former = source.ledger, source.results.former_names
    printed: dict[str, dict[str, None]] = {}
    for _, line in credits.lines:
        if line.person and line.name != ledger.people[line.person].credit_name:
            printed.setdefault(line.person, {})[line.name] = None
    for code in sorted(ledger.people, key=source.name_order):
        one = ledger.one_person.get(code, code)
        person, link = ledger.people[code], _person(source, one)
        if one != code:
            yield person.credit_name, f"the same person, as {code}", link
        yield from ((name, "name in the credits", link) for name in printed.get(code, ()))
        yield from ((name, "former name", link) for name in former.get(code, ()))


def _reasons_page(source: PageSource) -> ReasonsPage:
    credits = source.results.credits

    def table(caption: str, shown: Iterable[Column], rows: Iterator[Row]) -> Table | None:
        return Table.of(caption, shown, rows) or None

    return ReasonsPage(
        plan=credits.plan,
        headings=table("Lines by heading", HEADING_COLUMNS, _headings(source, credits)),
        characters=table("Names by character", CHARACTER_COLUMNS, _characters(source, credits)),
        out=table("Everybody not printed", OUT_COLUMNS, _out(source, credits)),
        names=table("Other names", NAME_COLUMNS, _names(source, credits)),
    )


def reasons_pages(source: PageSource) -> Iterator[Page]:
    """Yield the one page of reasons."""
    make = partial(_reasons_page, source)
    yield Page(links.REASONS, "reasons.html", "Reasons of the credits", links.CREDITS, make)
