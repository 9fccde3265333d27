"""The end credits as they stand: sections, held people, order of appearance, and the roll."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.cautions import CREDITS_CAUTION
from credits.compute.credits import Credits, Section
from credits.compute.roll_lines import WITH_ROLES
from credits.editions import Crew, Everyone, Office
from credits.names import direction
from credits.pages import links
from credits.pages.credits_proof import ProofView, proof_view
from credits.pages.credits_roll import RollView, roll_view
from credits.pages.page import Link, Page
from credits.pages.person_credit import figures_of
from credits.pages.source import PageSource
from credits.pages.words import counted
from credits.units.film_time import clock

NO_PROOF = "No proof has been frozen yet: these lines are compiled from the log as it stands."


@dataclass(frozen=True, slots=True)
class CreditRow:
    """A line: the name leads to its reasons. ``opens``: the first with its role."""

    name: Everyone[Link]
    role: Everyone[str]
    role_direction: Everyone[str]
    opens: Everyone[bool]
    unconfirmed: Crew[bool] = False


@dataclass(frozen=True, slots=True)
class SectionView:
    """A heading and its lines: with roles on the gutter, or names alone in columns; or a text."""

    heading: Everyone[str]
    anchor: Everyone[str]
    with_roles: Everyone[bool]
    in_columns: Everyone[bool]
    text: Everyone[str]
    lines: Everyone[tuple[CreditRow, ...]]


@dataclass(frozen=True, slots=True)
class Appearance:
    """A character in order of appearance. ``at``: where in the film it is first seen."""

    character: Everyone[Link]
    at: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class HeldRow:
    """Somebody whom the plan does not print, and why; or a line of somebody who prints elsewhere,
    under ``heading``."""

    person: Office[Link | None] = None
    heading: Office[str] = ""
    reason: Office[str] = ""
    rule: Office[str] = ""
    threshold: Office[str] = ""
    figures: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CreditsPage:
    """Everything the page of the end credits shows."""

    caution: Everyone[str]
    proof: Everyone[str]
    plan: Everyone[str]
    line_count: Everyone[str]
    people_count: Everyone[str]
    sections: Everyone[tuple[SectionView, ...]]
    appearance: Everyone[tuple[Appearance, ...]]
    roll: Everyone[RollView | None]
    unconfirmed: Crew[str] = ""
    held_count: Office[str] = ""
    held: Office[tuple[HeldRow, ...]] = ()
    last_proof: Everyone[ProofView | None] = None


def reasons_of(code: str) -> str:
    """Where the reasons of a person's lines stand."""
    return f"{links.person_page(code)}#credit"


def _section(section: Section, place: int) -> SectionView:
    rows = []
    before = None
    for line in section.lines:
        name = Link(line.name, reasons_of(line.person), direction(line.name))
        role = line.role or ""
        opens = role != before
        rows.append(CreditRow(name, role, direction(role), opens, not line.confirmed))
        before = role
    return SectionView(
        section.heading,
        f"section-{place}",
        section.layout in WITH_ROLES,
        section.columns > 1,
        section.text,
        tuple(rows),
    )


def _held(source: PageSource) -> tuple[HeldRow, ...]:
    credits = source.results.credits
    return tuple(
        HeldRow(
            Link(held.name, reasons_of(held.person), direction(held.name)),
            held.heading,
            held.reason,
            held.because.rule,
            held.because.threshold,
            figures_of(held.because),
        )
        for held in (*credits.held, *credits.held_lines)
    )


def _held_count(credits: Credits) -> str:
    """``2 people, 3 lines of others``; empty where nobody is held."""
    people = counted(len(credits.held), "person", "people") if credits.held else ""
    lines = counted(len(credits.held_lines), "line") if credits.held_lines else ""
    return ", ".join(text for text in (people, f"{lines} of others" if lines else "") if text)


def _appearance(source: PageSource) -> tuple[Appearance, ...]:
    rate = source.ledger.production.rate
    return tuple(
        Appearance(source.character(code), clock(frame - 1, rate))
        for code, frame in source.results.first_seen
    )


def credits_pages(source: PageSource) -> Iterator[Page]:
    """``credits.html``."""
    credits = source.results.credits
    lines = [line for section in credits.sections for line in section.lines]
    last_proof = proof_view(source)
    unconfirmed = {line.person for line in lines if not line.confirmed}
    model = CreditsPage(
        caution=CREDITS_CAUTION,
        proof="" if last_proof is not None else NO_PROOF,
        plan=credits.plan,
        line_count=f"{len(lines):,}",
        people_count=f"{len({line.person for line in lines}):,}",
        sections=tuple(_section(s, place) for place, s in enumerate(credits.sections, 1)),
        appearance=_appearance(source),
        roll=roll_view(credits, source.ledger.production.rate),
        unconfirmed=counted(len(unconfirmed), "name") if unconfirmed else "",
        held_count=_held_count(credits),
        held=_held(source),
        last_proof=last_proof,
    )
    yield Page(links.CREDITS, "credits.html", "End credits", links.CREDITS, model)
