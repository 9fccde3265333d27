"""A person's credit, as it stands: the lines and what is behind each, or why it is held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from credits.billing.credits import (
    Considered,
    Credits,
    Held,
    Line,
    Outcome,
    Section,
    not_here_words,
)
from credits.billing.reasons import ReasonFigure, in_words
from credits.editions import Crew, Everyone, Office
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.words import counted
from credits.names import direction
from credits.site.source import PageSource
from credits.units.film_time import day_text
from credits.units.table import Column, Table

ONE_OF = {"entries": "entry", "engagements": "engagement"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditLine:
    """A line as it reads under its heading, and what is behind it."""

    heading: Everyone[str]
    name: Everyone[str]
    direction: Everyone[str]
    role: Everyone[str]
    rule: Crew[str] = ""
    figures: Crew[str] = ""
    entries: Crew[str] = ""
    contract: Office[str] = ""
    threshold: Office[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldCredit:
    """Why nothing prints for somebody, and what is behind that."""

    reason: Office[str] = ""
    rule: Office[str] = ""
    threshold: Office[str] = ""
    figures: Office[str] = ""
    entries: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CreditIndex:
    """The lines and the held, by person: made once for a site."""

    lines: Mapping[str, tuple[tuple[Section, Line], ...]]
    held: Mapping[str, Held]
    not_here: Mapping[str, tuple[Considered, ...]]

    @classmethod
    def of(cls, credits: Credits) -> CreditIndex:
        """Return the index of the compiled credits."""
        lines: dict[str, list[tuple[Section, Line]]] = {}
        for section in credits.sections:
            for line in section.lines:
                lines.setdefault(line.person, []).append((section, line))
        held = {one.person: one for one in credits.held}
        not_here: dict[str, list[Considered]] = {}
        for one in credits.considered:
            if one.outcome is not Outcome.PRINTED:
                not_here.setdefault(one.person, []).append(one)
        return cls(
            {person: tuple(own) for person, own in lines.items()},
            held,
            {person: tuple(own) for person, own in not_here.items()},
        )


def entry_ranges(numbers: Iterable[EntryNumber]) -> str:
    """Write entry numbers in short: ``A-1, A-3 to A-7, B-2``."""
    runs: list[tuple[EntryNumber, EntryNumber]] = []
    for number in sorted(numbers):
        if runs and runs[-1][1] == (number.origin, number.number - 1):
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in runs)


def figure_text(name: str, value: int | str) -> str:
    """Write a figure of a reason as it is read: ``12 entries``, ``first day 3 March 2026``."""
    if isinstance(value, int):
        one = ONE_OF.get(name)
        return counted(value, one, name) if one is not None else f"{name} {value:,}"
    try:
        return f"{name} {day_text(date.fromisoformat(value))}"
    except ValueError:
        return f"{name} {value}"


def figures_text(figures: Iterable[ReasonFigure]) -> str:
    """Write the figures of a reason in a row."""
    return ", ".join(figure_text(name, value) for name, value in figures)


def credit_lines(index: CreditIndex, person: str, office: bool) -> tuple[CreditLine, ...]:
    """Return every line of the person, in the order of the credits.

    office: with the rules of contracts.
    """
    rows = []
    for section, line in index.lines.get(person, ()):
        crew, whole = in_words(line.because, office=False), in_words(line.because)
        rows.append(
            CreditLine(
                heading=section.heading,
                name=line.name,
                direction=direction(line.name),
                role=line.role or "",
                rule=(whole if office else crew).rule,
                figures=figures_text(crew.figures),
                entries=entry_ranges(crew.entries),
                contract=figures_text(f for f in whole.figures if f not in crew.figures),
                threshold=whole.threshold,
            )
        )
    return tuple(rows)


def held_credit(index: CreditIndex, person: str) -> HeldCredit | None:
    """Return why the person is held; None: prints, or no credit is owed yet."""
    held = index.held.get(person)
    if held is None:
        return None
    words = in_words(held.because)
    return HeldCredit(
        reason=held.reason,
        rule=words.rule,
        threshold=words.threshold,
        figures=figures_text(words.figures),
        entries=entry_ranges(words.entries),
    )


def not_here(index: CreditIndex, person: str) -> Table:
    """Return the sections that considered the person and do not print them, in their order."""
    return Table(
        caption="Headings that considered this person",
        columns=(
            Column(key="heading", heading="Heading"),
            Column(key="outcome", heading="What became of it"),
            Column(key="why", heading="Why"),
            Column(key="figures", heading="Figures"),
        ),
        rows=tuple(
            (
                one.heading,
                one.outcome.value,
                not_here_words(one),
                figures_text(in_words(one.because, office=False).figures),
            )
            for one in index.not_here.get(person, ())
        ),
    )


def no_line(source: PageSource, index: CreditIndex, person: str) -> str:
    """Return what to say where nothing prints and no reason may be, or need be, given."""
    if person in index.lines:
        return ""
    if person not in index.held:
        return "No credit is owed yet: the log has no work and the crew list no engagement."
    if source.office:
        return ""
    return "No line prints yet. The production office can say why."


def spelling(ledger: Ledger, person: str) -> str:
    """Say whether the person has confirmed how the name is written, or another spelling of it."""
    last = ledger.confirmation(person)
    if last is not None and ledger.confirmed(person):
        return f"The spelling was confirmed on {day_text(last.confirmed_on)}."
    tell = "tell the production office if your name is not right."
    if last is not None and last.is_right:
        return f"Another spelling was confirmed, on {day_text(last.confirmed_on)}: {tell}"
    return f"The spelling is not yet confirmed: {tell}"
