"""The roll: length, speed, lines and cards."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import zip_longest
from math import ceil

from credits.billing.credits import Credits, Line, Section
from credits.billing.fixed_text import blocks_of, text_lines, wrapped
from credits.billing.plan import Layout
from credits.errors import Finding, WrongCall
from credits.units.film_time import FrameRate

# Common practice: below this a line is gone before a practised reader has read it.
LEAST_SECONDS_A_LINE = Fraction(6)
# Common practice: a line that stays this long is read without haste.
WISHED_SECONDS_A_LINE = Fraction(15)
SAFE = Fraction(9, 10)
# BBC credit guidance, 2007: no text lower than 20 of 1,080 lines; other pictures in proportion.
LEAST_TEXT = Fraction(20, 1080)
LEAST_SIDE, LARGEST_SIDE = 64, 16_384

_RASTER = re.compile(r"([0-9]{1,6})\s*[x×X]\s*([0-9]{1,6})")
_LENGTH = re.compile(r"(?:(?:([0-9]{1,2}):)?([0-9]{1,3}):)?([0-9]{1,5})")


@dataclass(frozen=True, slots=True)
class Raster:
    """The picture that the credits roll through, in pixels."""

    width: int
    height: int

    @classmethod
    def parse(cls, text: str) -> Raster:
        """Read "1920x1080". Each side has 64 to 16,384 pixels. Raises WrongCall."""
        match = _RASTER.fullmatch(text.strip())
        sides = (int(match[1]), int(match[2])) if match else (0, 0)
        if not all(LEAST_SIDE <= side <= LARGEST_SIDE for side in sides):
            hint = f"Write width x height, each {LEAST_SIDE} to {LARGEST_SIDE:,}: 1920x1080."
            what = "is not a picture in pixels"
            raise WrongCall(Finding(what, hint, column="--raster", value=text))
        return cls(*sides)

    @property
    def title_safe(self) -> tuple[int, int]:
        """Width and height of the title-safe area: 90 % of each (SMPTE ST 2046-1, RP 218)."""
        return int(self.width * SAFE), int(self.height * SAFE)

    @property
    def least_text(self) -> int:
        """The least height of capital letters, in whole pixels, rounded up."""
        return ceil(self.height * LEAST_TEXT)

    @property
    def text(self) -> str:
        """As it is written: ``1920x1080``."""
        return f"{self.width}x{self.height}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """A roll at a whole speed: pixels per frame, length in frames, frames a line is on screen."""

    speed: int
    frames: int
    line_frames: Fraction
    too_fast: bool


def parse_length(text: str) -> Fraction:
    """A wished length in seconds: "90", "1:30", "0:01:30". Raises WrongCall."""
    match = _LENGTH.fullmatch(text.strip())
    hours, minutes, over = (int(part or 0) for part in match.groups()) if match else (0, 0, 0)
    parted = match is not None and match[2] is not None
    whole = hours * 3600 + minutes * 60 + over
    if not whole or (parted and over >= 60) or (match and match[1] and minutes >= 60):
        hint = "Write minutes and seconds, such as 1:30, or seconds, such as 90."
        raise WrongCall(Finding("is not a length", hint, column="--length", value=text))
    return Fraction(whole)


def travel(lines: int, pitch: int, raster: Raster) -> int:
    """How many pixels the roll moves: all its lines, and once the height of the picture."""
    return lines * pitch + raster.height


def roll_at(lines: int, pitch: int, raster: Raster, rate: FrameRate, speed: int) -> Roll:
    """The roll of ``lines`` lines ``pitch`` px apart that begins below and ends above the picture.

    It travels ``lines * pitch + height`` px and lasts ``ceil(travel / speed)`` frames; a line is on
    screen for ``(height + pitch) / speed`` frames. Raises ValueError for a speed below 1.
    """
    if speed < 1:
        raise ValueError("a roll moves at least one pixel a frame")
    line_frames = Fraction(raster.height + pitch, speed)
    too_fast = line_frames / rate.per_second < LEAST_SECONDS_A_LINE
    frames = ceil(Fraction(travel(lines, pitch, raster), speed))
    return Roll(speed=speed, frames=frames, line_frames=line_frames, too_fast=too_fast)


def wished_length(lines: int, pitch: int, raster: Raster) -> Fraction:
    """The length in seconds at which every line stays on screen for 15 s, where none is asked."""
    return Fraction(travel(lines, pitch, raster) * WISHED_SECONDS_A_LINE, raster.height + pitch)


def proposals(
    lines: int, pitch: int, raster: Raster, rate: FrameRate, wished_seconds: Fraction
) -> tuple[Roll, ...]:
    """Whole speeds around the wished length: the two nearest slower and the two nearest faster.

    A speed that hits the wish exactly is among them. Slowest first; never below 1 px a frame.
    """
    exact = Fraction(travel(lines, pitch, raster)) / (wished_seconds * rate.per_second)
    slowest = max(1, int(exact) - 1)
    speeds = range(slowest, slowest + 4)
    return tuple(roll_at(lines, pitch, raster, rate, speed) for speed in speeds)


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
class RollPiece:
    """A text of a line; ``person`` where it is somebody's name."""

    text: str
    person: str | None = None


@dataclass(frozen=True, slots=True)
class RollLine:
    """One line. ``role``: two pieces, the role ("" where it stands above already) and the name.

    ``names``: one piece in each column that has one; ``columns``: how many columns there are.
    """

    kind: LineKind
    pieces: tuple[RollPiece, ...] = ()
    columns: int = 1


BLANK = RollLine(LineKind.BLANK)
NO_TEXT = RollPiece("")


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


def _parts(text: str, columns: int, person: str | None = None) -> list[RollPiece]:
    return [RollPiece(part, person) for part in wrapped(one_line(text), columns)]


def _side_by_side(
    kind: LineKind, parts: Sequence[list[RollPiece]], columns: int
) -> Iterator[RollLine]:
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


def section_lines(section: Section) -> tuple[RollLine, ...]:
    """The heading, where there is one, and what stands under it."""
    lines: list[RollLine] = []
    if section.heading:
        heading = _parts(section.heading, IN_COLUMNS[1])
        lines += _side_by_side(LineKind.HEADING, (heading,), 1)
    if has_roles(section):
        lines += _role_lines(section.lines)
    elif section.lines:
        lines += _name_lines(section, 1 if section.layout is Layout.CARD else columns_of(section))
    for line in text_lines(blocks_of(section.text), TEXT_COLUMNS) if section.text else ():
        lines.append(RollLine(LineKind.TEXT, (RollPiece(one_line(line)),)) if line else BLANK)
    return tuple(lines)


def roll_lines(credits: Credits) -> tuple[RollLine, ...]:
    """The lines of the roll, a blank line between two sections. Cards are not among them."""
    lines: list[RollLine] = []
    for section in credits.sections:
        if section.layout is not Layout.CARD:
            lines += (*([BLANK] if lines else ()), *section_lines(section))
    return tuple(lines)


def card_seconds(lines: Sequence[RollLine]) -> Fraction:
    """How long a card is to stand: 0.2 s a word and 2 s, from ten words 3 s (BCAP guidance)."""
    words = sum(len(piece.text.split()) for line in lines for piece in line.pieces)
    return words * SECONDS_A_WORD + (3 if words >= MANY_WORDS else 2)


def cards(credits: Credits) -> tuple[Card, ...]:
    """The sections that the plan sets on a card, in their order."""
    still = [section for section in credits.sections if section.layout is Layout.CARD]
    made = ((one_line(section.heading), section_lines(section)) for section in still)
    return tuple(Card(heading, lines, card_seconds(lines)) for heading, lines in made)
