"""Checks of the names of the plan's own lines, and of spaces in any name that prints."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

from credits.billing.credits import Credits
from credits.checks.letters import likely_meant
from credits.checks.people import OfPerson
from credits.checks.rule import Check, Known
from credits.model import words
from credits.text import doubled_spaces

SHOWN = 12
"""The letters of a name that are shown on both sides of what is wrong in it."""


def _own_lines(credits: Credits) -> dict[str, dict[str, None]]:
    """Find the names of the lines that the plan has, each with its headings."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for section, line in credits.lines:
        if not line.person:
            found[line.name][section.heading] = None
    return found


def _under(headings: tuple[str, ...]) -> str:
    named = [f"'{words.in_sentence(heading)}'" for heading in headings if heading]
    return f"under {words.some_of(named)}" if named else "without a heading"


@dataclass(frozen=True, slots=True, kw_only=True)
class OfLine(Check):
    """What is asked about a line of the plan's own. line: its name, as it prints."""

    about = "line"
    of_days = False
    of_spelling = True

    line: str
    headings: tuple[str, ...]

    @property
    def called(self) -> str:
        """How a sentence about it begins."""
        return f"The plan's line '{words.in_sentence(self.line)}' {_under(self.headings)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineUnconfirmed(OfLine):
    """A line of the plan's own would print whose spelling nobody has confirmed."""

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        unconfirmed = {
            line.name for _, line in known.compiled.lines if not line.person and not line.confirmed
        }
        for name, headings in _own_lines(known.compiled).items():
            if name in unconfirmed:
                yield cls(line=name, headings=tuple(headings))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.called} would be printed, and nobody has confirmed the spelling.",
            "Ask how it is to appear, and write the day of the answer beside the line in "
            "credit-plan.toml: confirmed_on = 2026-03-02.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSpaced(OfLine):
    """A line of the plan's own has two spaces in a row."""

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for name, headings in _own_lines(known.compiled).items():
            if doubled_spaces(name):
                yield cls(line=name, headings=tuple(headings))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.called} has two spaces in a row{_between(self.line)}.",
            "Take one out in credit-plan.toml.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAlike(OfLine):
    """A line of the plan's own differs by one letter from another name that prints.

    other: that name. person: who prints so; None: it is a line of the plan's own as well.
    """

    other: str
    person: words.Named | None

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        own = _own_lines(known.compiled)
        people = {line.name: line.person for _, line in known.compiled.lines if own and line.person}
        names = {name: name for name in (*people, *own)}
        for name, headings in own.items():
            for other in likely_meant(name, names):
                if other in own and other < name:  # the pair was found from its other side
                    continue
                code = None if other in own else people[other]
                yield cls(
                    line=name,
                    headings=tuple(headings),
                    other=other,
                    person=None if code is None else words.person(known.ledger, code),
                )

    def in_words(self) -> tuple[str, str]:
        whose = f" of {self.person}" if self.person is not None else ""
        if self.person is not None and self.person.name == self.other:
            said = str(self.person)
        else:
            said = f"'{words.in_sentence(self.other)}'{whose}"
        return (
            f"{self.called} differs by one letter from {said}, who prints too."
            if self.person is not None
            else f"{self.called} differs by one letter from {said}, which prints too.",
            "Ask which spelling is right, or whether they are two.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NameSpaced(OfPerson):
    """The name of somebody who prints has two spaces in a row. name: as it prints."""

    of_days = False
    of_spelling = True

    name: str

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        found = {
            (line.person, line.name): None
            for _, line in known.compiled.lines
            if line.person and doubled_spaces(line.name)
        }
        for person, name in found:
            yield cls(person=words.person(known.ledger, person), name=name)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} prints with two spaces in a row{_between(self.name)}.",
            "Take one out: credits correct people "
            f"{words.typed(self.person.code)} credit_name=NAME --why TEXT (or in credit-plan.toml, "
            "where that says how the name prints).",
        )


def _between(name: str) -> str:
    parts = doubled_spaces(name)
    if parts is None:
        return ""
    before, behind = words.in_sentence(parts[0][-SHOWN:]), words.in_sentence(parts[1][:SHOWN])
    return f", between '{before}' and '{behind}'"
