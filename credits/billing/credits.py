"""The compiled end credits: sections, their lines, who is not printed, and the reasons."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from credits.billing.plan import Layout, NamedKind, Picture, Size
from credits.billing.reasons import HELD_LINE_WORDS, HELD_WORDS, Reason, ReasonKind, in_words
from credits.billing.thresholds import Reached


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the credits.

    ``person``: the code; empty: a line of the plan's own, which names nobody of the log. ``name``:
    as it prints; its line breaks are kept, and a no-break space is never broken at. ``role_also``:
    the role in the plan's second language. ``note`` stands beside the name. ``joined``: the word
    that joins the name to that of the line before, on one printed line (``&``); empty: a line of
    its own. ``confirmed``: the spelling is.
    """

    person: str
    name: str
    role: str | None = None
    characters: Sequence[str] = ()
    confirmed: bool
    because: tuple[Reason, ...]
    named: NamedKind = NamedKind.PERSON
    role_also: str = ""
    note: str = ""
    joined: str = ""


MOST_IN_ONE_COLUMN, MOST_IN_TWO = 4, 12


def fitting_columns(names: int) -> int:
    """In how many columns so many names stand where nobody asks for a number: 1 to 3."""
    return 1 if names <= MOST_IN_ONE_COLUMN else 2 if names <= MOST_IN_TWO else 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and its lines, in order, and how they are set.

    ``columns``: 1 to 3, for names alone. ``text``: Markdown whose line breaks are kept, for a
    section of fixed text, which has no lines. Neighbouring lines of one role or character are set
    under it once. ``heading_also``: the heading in the plan's second language. ``level``: 1, or 2
    for a heading under another; one of level 1 may stand over others alone. ``space``: how many
    empty lines stand before it. ``pictures`` stand under the heading, beside each other.
    """

    heading: str
    lines: tuple[Line, ...] = ()
    layout: Layout = Layout.NAMES
    columns: int = 1
    text: str = ""
    heading_also: str = ""
    level: int = 1
    space: int = 1
    size: Size = Size.NORMAL
    pictures: tuple[Picture, ...] = ()

    @property
    def printed(self) -> tuple[tuple[Line, ...], ...]:
        """The lines as they print: those whose names are joined stand on one."""
        rows: list[tuple[Line, ...]] = []
        for line in self.lines:
            if line.joined and rows:
                rows[-1] = (*rows[-1], line)
            else:
                rows.append((line,))
        return tuple(rows)


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
    LEFT_OUT = "left out by the plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Considered:
    """A section that considered a person, and what became of it.

    ``to``: the heading to which somebody goes on who is below the threshold, or under which they
    stand already. ``in_circle``: the headings send the person on in a circle, and so they are held.
    """

    person: str
    heading: str
    outcome: Outcome
    because: tuple[Reason, ...]
    to: str | None = None
    in_circle: bool = False

    @property
    def reached(self) -> Reached | None:
        """What was asked for and reached, where the section asks for something."""
        asked = (one.reached for one in self.because if one.kind is ReasonKind.ASKED)
        return next(asked, None)

    @property
    def is_held(self) -> bool:
        """Whether the way of the person ends here, held for a decision."""
        return self.outcome is Outcome.BELOW and self.to is None

    @property
    def destination(self) -> str | None:
        """The heading, or that the person is held; None where they go nowhere else."""
        round_about = ": the plan sends the person from heading to heading and back"
        return f"held{round_about * self.in_circle}" if self.is_held else self.to

    @property
    def not_here(self) -> str:
        """Why the section does not print the person: a sentence without its reasons' figures."""
        if self.outcome is Outcome.UNCREDITED:
            return "Asked to be uncredited."
        if self.outcome is Outcome.LEFT_OUT:
            return "The plan leaves this person out here."
        if self.outcome is Outcome.ELSEWHERE:
            return f"Named once in all: already under '{self.to}'."
        words = self.destination or ""
        onward = f"{words.capitalize()}." if self.is_held else f"Goes on to '{words}'."
        return f"{in_words(self.because).threshold} {onward}".lstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Credits:
    """The compiled end credits. Sections that have nothing to print are left out.

    ``held``: everybody owed a credit who does not print. ``held_lines``: lines held of people who
    print elsewhere. ``considered``: every section that considered a person, in the plan's order.
    ``title``: of the film; empty: it was not frozen. ``episode``: empty: of the whole film.
    """

    plan: str
    sections: tuple[Section, ...] = ()
    held: tuple[Held, ...] = ()
    order_of_appearance: tuple[str, ...] = ()
    held_lines: tuple[Held, ...] = ()
    considered: tuple[Considered, ...] = ()
    title: str = ""
    episode: str = ""

    @property
    def called(self) -> str:
        """What they are the credits of: the film, and the episode where they are of one."""
        return ", ".join(filter(None, (self.title, self.episode)))

    @property
    def lines(self) -> tuple[tuple[Section, Line], ...]:
        """Every line, with its section."""
        return tuple((section, line) for section in self.sections for line in section.lines)

    @property
    def printed(self) -> frozenset[str]:
        """The people who print."""
        return frozenset(line.person for _, line in self.lines if line.person)

    @property
    def not_here(self) -> tuple[Considered, ...]:
        """The sections that considered somebody and do not print them."""
        return tuple(one for one in self.considered if one.outcome is not Outcome.PRINTED)

    def decided(self) -> tuple[object, ...]:
        """What was decided, and why, but for the entries that say so and their days."""
        return (
            [
                (
                    *(under.heading, under.level, one.name, one.role, one.role_also, one.note),
                    *(one.joined, one.confirmed, _reasons(one.because)),
                )
                for under, one in self.lines
            ],
            [
                (one.heading, one.kind, one.name, _reasons(one.because))
                for one in (*self.held, *self.held_lines)
            ],
            [
                (one.heading, one.outcome, one.to, one.in_circle, _reasons(one.because))
                for one in self.considered
            ],
        )

    def of(self, person: str) -> Credits:
        """Everything that was decided of one person; nothing: no credit is owed yet."""
        sections = (
            replace(section, lines=tuple([line for line in section.lines if line.person == person]))
            for section in self.sections
            if any(line.person == person for line in section.lines)
        )
        return replace(
            self,
            sections=tuple(sections),
            held=tuple([one for one in self.held if one.person == person]),
            held_lines=tuple([one for one in self.held_lines if one.person == person]),
            considered=tuple([one for one in self.considered if one.person == person]),
        )

    def by_person(self) -> dict[str, Credits]:
        """Everything that was decided of each person."""
        found: dict[str, dict[str, Any]] = defaultdict(lambda: defaultdict(tuple))
        for section in self.sections:
            lines: dict[str, list[Line]] = defaultdict(list)
            for line in section.lines:
                lines[line.person].append(line)
            for person, own in lines.items():
                found[person]["sections"] += (replace(section, lines=tuple(own)),)
        for name in ("held", "held_lines", "considered"):
            for each in getattr(self, name):
                found[each.person][name] += (each,)
        nothing = replace(self, sections=(), held=(), held_lines=(), considered=())
        return {person: replace(nothing, **own) for person, own in found.items()}


def _reasons(because: Iterable[Reason]) -> list[tuple[object, ...]]:
    """What reasons say, but for the entries that say so and their days."""
    found: list[tuple[object, ...]] = []
    for one in because:
        reached = one.reached
        asked = (reached.words, reached.shown, reached.enough) if reached is not None else None
        of_engagements = (one.engagements, one.billing_number, one.figures)
        found.append((one.kind, one.headings, one.names, *of_engagements, asked))
    return found
