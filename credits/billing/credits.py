"""The compiled end credits: sections, lines, who is not printed, and the reasons."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from credits.billing.plan import Layout
from credits.billing.threshold import Reached
from credits.model.facts import EntryNumber

# How the rule begins that speaks of somebody's contract.
CONTRACT_RULE = "A contract guarantees the"


@dataclass(frozen=True, slots=True)
class Because:
    """Why a person stands where they stand: the rule in words, the figures, the entries.

    ``threshold``: in words, what was asked for at least and what was reached; empty: nothing was.
    """

    rule: str
    figures: tuple[tuple[str, int | str], ...] = ()
    entries: tuple[EntryNumber, ...] = ()
    threshold: str = ""

    def rule_told(self, contract: bool) -> str:
        """The rule; without ``contract``, nothing of what a contract guarantees."""
        if contract or not self.rule.startswith(CONTRACT_RULE):
            return self.rule
        return "The production office can say why."


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the credits. ``confirmed``: the person has confirmed the spelling."""

    person: str
    name: str
    role: str | None
    characters: tuple[str, ...]
    confirmed: bool
    because: Because


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its lines, in order, and how they are set.

    ``columns``: 1 to 3, for names alone. ``text``: Markdown, for a section of fixed text, which has
    no lines. Neighbouring lines of one role or character are set under it once.
    """

    heading: str
    lines: tuple[Line, ...]
    layout: Layout = Layout.NAMES
    columns: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """A person whom the plan does not print, and the reason.

    ``heading``: for a line that is held of somebody who prints elsewhere.
    """

    person: str
    name: str
    reason: str
    because: Because
    heading: str = ""


class Outcome(StrEnum):
    """What became of a person whom a section considered."""

    PRINTED = "printed"
    BELOW = "below the threshold"
    ELSEWHERE = "printed elsewhere"
    UNCREDITED = "asked to be uncredited"


@dataclass(frozen=True, slots=True)
class Considered:
    """A section that considered a person, and what became of it.

    ``reached``: what was asked for and reached, where the section asks for something. ``to``: the
    heading that prints the person instead, or ``held`` of who is below the threshold.
    """

    person: str
    heading: str
    outcome: Outcome
    because: Because
    reached: Reached | None = None
    to: str = ""


@dataclass(frozen=True, slots=True)
class Credits:
    """The compiled end credits. Sections without a line and without text are left out.

    ``held``: everybody owed a credit who does not print. ``held_lines``: lines held of people who
    print elsewhere. ``considered``: every section that considered a person, in the plan's order.
    """

    plan: str
    sections: tuple[Section, ...]
    held: tuple[Held, ...]
    order_of_appearance: tuple[str, ...]
    held_lines: tuple[Held, ...] = ()
    considered: tuple[Considered, ...] = ()

    def lines_of(self, person: str) -> tuple[tuple[Section, Line], ...]:
        """Every line of one person, with its section."""
        return tuple(
            (section, line)
            for section in self.sections
            for line in section.lines
            if line.person == person
        )


@dataclass(frozen=True, slots=True)
class Why:
    """Everything that the credits decided of one person.

    ``lines``: what prints. ``not_here``: the sections that considered the person and do not print
    them, in the plan's order. ``held``: the person, when nothing prints; ``held_lines``: lines held
    although another prints. All of them empty: no credit is owed yet.
    """

    person: str
    lines: tuple[tuple[Section, Line], ...]
    not_here: tuple[Considered, ...]
    held: Held | None
    held_lines: tuple[Held, ...]


def why(credits: Credits, person: str) -> Why:
    """The decisions about a person, by the code that they are known by."""
    return Why(
        person,
        credits.lines_of(person),
        tuple(
            one
            for one in credits.considered
            if one.person == person and one.outcome is not Outcome.PRINTED
        ),
        next((held for held in credits.held if held.person == person), None),
        tuple(held for held in credits.held_lines if held.person == person),
    )


def not_here_words(one: Considered) -> str:
    """Why the section does not print the person, in a sentence without its reason's figures."""
    if one.outcome is Outcome.ELSEWHERE:
        return f"Named once in all: already under '{one.to}'."
    if one.outcome is Outcome.UNCREDITED:
        return "Asked to be uncredited."
    reached = f"{one.because.threshold} " if one.because.threshold else ""
    if one.to.startswith("held"):
        return f"{reached}{one.to.capitalize()}." if one.to != "held" else f"{reached}Held."
    return f"{reached}Goes on to '{one.to}'."
