"""The lines of the roll, in the order in which they run, and the cards that stand still.

Every line is one pitch high, blank ones too, so the number of lines is all that the length of the
roll needs. It depends on the credits alone, not on a font.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import zip_longest

from credits.compute.credit_lines import Credits, Line, Section
from credits.compute.credit_plan import Layout
from credits.compute.fixed_text import blocks_of, text_lines, wrapped

WITH_ROLES = frozenset({Layout.ROLE_AND_NAME, Layout.CHARACTER_AND_NAMES})
TEXT_COLUMNS = 60
MOST_IN_ONE_COLUMN, MOST_IN_TWO = 4, 12
# A longer text goes on in the line below. So many letters of common width fit beside a gutter, and
# into one, two or three columns, of a picture whose lines are a 32nd of its width apart.
BESIDE_GUTTER = 40
IN_COLUMNS = {1: 80, 2: 40, 3: 26}
# Hold on a card: 0.2 s a word and 2 s, from ten words 3 s (BCAP guidance).
SECONDS_A_WORD = Fraction(1, 5)
MANY_WORDS = 10


class LineKind(StrEnum):
    """What a line of the roll holds."""

    BLANK = "blank"
    HEADING = "heading"
    ROLE = "role"
    NAMES = "names"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Piece:
    """A text of a line; ``person`` where it is somebody's name."""

    text: str
    person: str | None = None


@dataclass(frozen=True, slots=True)
class RollLine:
    """One line. ``role``: two pieces, the role ("" where it stands above already) and the name.

    ``names``: one piece in each column that has one; ``columns``: how many columns there are.
    """

    kind: LineKind
    pieces: tuple[Piece, ...] = ()
    columns: int = 1


BLANK = RollLine(LineKind.BLANK)
NO_TEXT = Piece("")


@dataclass(frozen=True, slots=True)
class Card:
    """A section that stands still: its lines, and for how many seconds it is to be read."""

    heading: str
    lines: tuple[RollLine, ...]
    seconds: Fraction


def one_line(text: str) -> str:
    """A text on one line: line breaks and control characters are spaces."""
    if text.isprintable():
        return text
    return "".join(" " if sign.isspace() or sign < " " or sign == "\x7f" else sign for sign in text)


def columns_of(section: Section) -> int:
    """In how many columns the names stand: no more than the plan says, fewer for few names."""
    names = len(section.lines)
    wanted = 1 if names <= MOST_IN_ONE_COLUMN else 2 if names <= MOST_IN_TWO else 3
    return min(section.columns, wanted)


def has_roles(section: Section) -> bool:
    """Whether the names stand on a gutter, opposite their roles."""
    if section.layout is Layout.CARD:
        return any(line.role for line in section.lines)
    return section.layout in WITH_ROLES


def in_rows(lines: Sequence[Line], columns: int) -> tuple[tuple[Line, ...], ...]:
    """Names in columns that are read down, row by row; the last columns may be shorter."""
    depth = -(-len(lines) // columns)
    return tuple(tuple(lines[at::depth]) for at in range(depth))


def _parts(text: str, columns: int, person: str | None = None) -> list[Piece]:
    return [Piece(part, person) for part in wrapped(one_line(text), columns)]


def _side_by_side(kind: LineKind, parts: Sequence[list[Piece]], columns: int) -> Iterator[RollLine]:
    """The texts of a row; those that go on in the line below leave the others blank there."""
    for row in zip_longest(*parts, fillvalue=NO_TEXT):
        yield RollLine(kind, row, columns)


def _role_lines(lines: Sequence[Line]) -> Iterator[RollLine]:
    before = None
    for line in lines:
        role = line.role or ""
        shown = _parts("" if role == before else role, BESIDE_GUTTER)
        name = _parts(line.name, BESIDE_GUTTER, line.person)
        yield from _side_by_side(LineKind.ROLE, (shown, name), 1)
        before = role


def _name_lines(section: Section, columns: int) -> Iterator[RollLine]:
    for row in in_rows(section.lines, columns):
        names = [_parts(line.name, IN_COLUMNS[columns], line.person) for line in row]
        yield from _side_by_side(LineKind.NAMES, names, columns)


def _text_lines(text: str) -> Iterator[RollLine]:
    for line in text_lines(blocks_of(text), TEXT_COLUMNS):
        yield RollLine(LineKind.TEXT, (Piece(one_line(line)),)) if line else BLANK


def section_lines(section: Section) -> tuple[RollLine, ...]:
    """The heading, where there is one, and what stands under it."""
    lines: list[RollLine] = []
    if section.heading:
        for piece in _parts(section.heading, IN_COLUMNS[1]):
            lines.append(RollLine(LineKind.HEADING, (piece,)))
    if has_roles(section):
        lines.extend(_role_lines(section.lines))
    elif section.lines:
        alone = section.layout is Layout.CARD
        lines.extend(_name_lines(section, 1 if alone else columns_of(section)))
    if section.text:
        lines.extend(_text_lines(section.text))
    return tuple(lines)


def roll_lines(credits: Credits) -> tuple[RollLine, ...]:
    """The lines of the roll, a blank line between two sections. Cards are not among them."""
    lines: list[RollLine] = []
    for section in credits.sections:
        if section.layout is Layout.CARD:
            continue
        if lines:
            lines.append(BLANK)
        lines.extend(section_lines(section))
    return tuple(lines)


def card_seconds(lines: Sequence[RollLine]) -> Fraction:
    """How long a card is to stand: 0.2 s a word and 2 s, from ten words 3 s (BCAP guidance)."""
    words = sum(len(piece.text.split()) for line in lines for piece in line.pieces)
    return words * SECONDS_A_WORD + (3 if words >= MANY_WORDS else 2)


def cards(credits: Credits) -> tuple[Card, ...]:
    """The sections that the plan sets on a card, in their order."""
    made = []
    for section in credits.sections:
        if section.layout is Layout.CARD:
            lines = section_lines(section)
            made.append(Card(one_line(section.heading), lines, card_seconds(lines)))
    return tuple(made)
