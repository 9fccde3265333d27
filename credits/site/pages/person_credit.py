"""A person's credit, as it stands: the lines and what is behind each, or why it is held."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.billing.credits import Held, Why, not_here_words
from credits.billing.reasons import ReasonFigure, in_words
from credits.editions import Crew, Everyone, Office
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.words import counted
from credits.site.links import Link
from credits.units.film_time import day_text
from credits.units.table import Column, Table

ONE_OF = {"entries": "entry", "engagements": "engagement"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditLine:
    """A line as it reads under its heading, and what is behind it."""

    heading: Everyone[str]
    name: Everyone[Link]
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


CONSIDERED_COLUMNS = (
    Column(key="heading", heading="Heading"),
    Column(key="outcome", heading="What became of it"),
    Column(key="why", heading="Why"),
    Column(key="figures", heading="Figures"),
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


def credit_lines(own: Why, office: bool) -> tuple[CreditLine, ...]:
    """Return every line of a person, in the order of the credits.

    office: with the rules of contracts.
    """
    rows = []
    for section, line in own.lines:
        crew, whole = in_words(line.because, office=False), in_words(line.because)
        rows.append(
            CreditLine(
                heading=section.heading,
                name=Link(line.name),
                role=line.role or "",
                rule=(whole if office else crew).rule,
                figures=figures_text(crew.figures),
                entries=entry_ranges(crew.entries),
                contract=figures_text(f for f in whole.figures if f not in crew.figures),
                threshold=whole.threshold,
            )
        )
    return tuple(rows)


def held_credit(held: Held) -> HeldCredit:
    """Return why a person is held."""
    words = in_words(held.because)
    return HeldCredit(
        reason=held.reason,
        rule=words.rule,
        threshold=words.threshold,
        figures=figures_text(words.figures),
        entries=entry_ranges(words.entries),
    )


def not_here(own: Why) -> Table:
    """Return the sections that considered a person and do not print them, in their order."""
    rows = []
    for one in own.not_here:
        figures = figures_text(in_words(one.because, office=False).figures)
        rows.append((one.heading, one.outcome.value, not_here_words(one), figures))
    return Table.of("Headings that considered this person", CONSIDERED_COLUMNS, rows)


def no_line(own: Why, office: bool) -> str:
    """Return what to say where nothing prints and no reason may be, or need be, given."""
    if own.lines:
        return ""
    if own.held is None:
        return "No credit is owed yet: the log has no work and the crew list no engagement."
    return "" if office else "No line prints yet. The production office can say why."


def spelling(ledger: Ledger, person: str) -> str:
    """Say whether the person has confirmed how the name is written, or another spelling of it."""
    last = ledger.confirmation(person)
    if last is not None and ledger.confirmed(person):
        return f"The spelling was confirmed on {day_text(last.confirmed_on)}."
    tell = "tell the production office if your name is not right."
    if last is not None and last.is_right:
        return f"Another spelling was confirmed, on {day_text(last.confirmed_on)}: {tell}"
    return f"The spelling is not yet confirmed: {tell}"
