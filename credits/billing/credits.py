"""The compiled end credits: sections, lines, who is not printed, and the reasons."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from credits.billing.plan import Layout
from credits.billing.reasons import HELD_LINE_WORDS, HELD_WORDS, Reason, ReasonKind, in_words
from credits.billing.threshold import Reached


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the credits. ``confirmed``: the person has confirmed the spelling."""

    person: str
    name: str
    role: str | None = None
    characters: tuple[str, ...] = ()
    confirmed: bool
    because: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and its lines, in order, and how they are set.

    ``columns``: 1 to 3, for names alone. ``text``: Markdown, for a section of fixed text, which has
    no lines. Neighbouring lines of one role or character are set under it once.
    """

    heading: str
    lines: tuple[Line, ...] = ()
    layout: Layout = Layout.NAMES
    columns: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A person whom the plan does not print, and why.

    ``heading``: for a line that is held of somebody who prints elsewhere.
    """

    person: str
    name: str
    kind: ReasonKind
    because: tuple[Reason, ...]
    heading: str = ""

    @property
    def reason(self) -> str:
        """The kind in words."""
        return HELD_LINE_WORDS if self.heading else HELD_WORDS[self.kind]


class Outcome(StrEnum):
    """What became of a person whom a section considered."""

    PRINTED = "printed"
    BELOW = "below the threshold"
    ELSEWHERE = "printed elsewhere"
    UNCREDITED = "asked to be uncredited"


@dataclass(frozen=True, slots=True)
class ToSection:
    """The person goes on to a section, or stands there already."""

    heading: str


@dataclass(frozen=True, slots=True)
class ToHeld:
    """The person is held for a decision."""


@dataclass(frozen=True, slots=True)
class ToCircle:
    """The headings send the person on in a circle: held as well."""


Destination = ToSection | ToHeld | ToCircle


def destination_words(to: Destination) -> str:
    """Return the heading, or that the person is held."""
    if isinstance(to, ToSection):
        return to.heading
    round_about = ": the plan sends the person from heading to heading and back"
    return f"held{round_about if isinstance(to, ToCircle) else ''}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Considered:
    """A section that considered a person, and what became of it.

    ``to``: where the person goes who is below the threshold, or stands elsewhere; else None.
    """

    person: str
    heading: str
    outcome: Outcome
    because: tuple[Reason, ...]
    to: Destination | None = None

    @property
    def reached(self) -> Reached | None:
        """What was asked for and reached, where the section asks for something."""
        asked = (one.reached for one in self.because if one.kind is ReasonKind.ASKED)
        return next(asked, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Credits:
    """The compiled end credits. Sections without a line and without text are left out.

    ``held``: everybody owed a credit who does not print. ``held_lines``: lines held of people who
    print elsewhere. ``considered``: every section that considered a person, in the plan's order.
    """

    plan: str
    sections: tuple[Section, ...] = ()
    held: tuple[Held, ...] = ()
    order_of_appearance: tuple[str, ...] = ()
    held_lines: tuple[Held, ...] = ()
    considered: tuple[Considered, ...] = ()

    def lines_of(self, person: str) -> tuple[tuple[Section, Line], ...]:
        """Every line of one person, with its section."""
        every = ((section, line) for section in self.sections for line in section.lines)
        return tuple((section, line) for section, line in every if line.person == person)


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Everything that the credits decided of one person.

    ``lines``: what prints. ``considered``: every section that considered the person, in the plan's
    order. ``held``: the person, when nothing prints; ``held_lines``: lines held although another
    prints. All of them empty: no credit is owed yet.
    """

    lines: tuple[tuple[Section, Line], ...]
    considered: tuple[Considered, ...]
    held: Held | None
    held_lines: tuple[Held, ...]

    @property
    def not_here(self) -> tuple[Considered, ...]:
        """The sections that considered the person and do not print them."""
        return tuple(one for one in self.considered if one.outcome is not Outcome.PRINTED)


def why(credits: Credits, person: str) -> Why:
    """Return the decisions about a person, by the code that they are known by."""
    return Why(
        lines=credits.lines_of(person),
        considered=tuple(one for one in credits.considered if one.person == person),
        held=next((held for held in credits.held if held.person == person), None),
        held_lines=tuple(held for held in credits.held_lines if held.person == person),
    )


def not_here_words(one: Considered) -> str:
    """Say why the section does not print the person, in a sentence without its reasons' figures."""
    if one.outcome is Outcome.UNCREDITED or one.to is None:
        return "Asked to be uncredited."
    if one.outcome is Outcome.ELSEWHERE:
        return f"Named once in all: already under '{destination_words(one.to)}'."
    words = destination_words(one.to)
    onward = f"Goes on to '{words}'." if isinstance(one.to, ToSection) else f"{words.capitalize()}."
    return f"{in_words(one.because).threshold} {onward}".lstrip()
