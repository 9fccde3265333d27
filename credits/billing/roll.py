"""The roll: length, speed, lines and cards."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from html.parser import HTMLParser
from itertools import count, zip_longest
from math import ceil
from typing import Literal, NamedTuple

from markdown import Markdown

from credits.billing.credits import Credits, Line, Section
from credits.billing.plan import Layout
from credits.errors import Finding, WrongCall
from credits.units.film_time import FrameRate

_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_BLOCKS = _HEADINGS | {"p", "li", "pre", "blockquote", "dt", "dd", "tr", "div"}
_SILENT = frozenset({"script", "style"})
_STRONG, _EMPHASIS = frozenset({"strong", "b"}), frozenset({"em", "i"})
_SPACE = re.compile(r"[ \t\r\n\f]+")


@dataclass(frozen=True, slots=True)
class TextRun:
    """A stretch of text in one dress. A line break is the text ``\\n`` alone."""

    text: str
    strong: bool = False
    emphasis: bool = False


@dataclass(frozen=True, slots=True)
class TextBlock:
    """A paragraph, an item of a list or, when ``heading``, a heading inside the text."""

    runs: tuple[TextRun, ...]
    heading: bool = False

    @property
    def lines(self) -> tuple[str, ...]:
        """The plain text, a line for each kept line break."""
        return tuple("".join(run.text for run in self.runs).split("\n"))


class _TextReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[TextBlock] = []
        self._runs: list[TextRun] = []
        self._open: list[str] = []

    def _close_block(self, heading: bool = False) -> None:
        runs = tuple(self._runs)
        while runs and not runs[-1].text.strip():
            runs = runs[:-1]
        if runs:
            last = replace(runs[-1], text=runs[-1].text.rstrip())
            self.blocks.append(TextBlock((*runs[:-1], last), heading))
        self._runs = []

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        if tag == "br":
            self._runs.append(TextRun("\n"))
        if tag in _BLOCKS:
            self._close_block()
        if tag in _BLOCKS | _STRONG | _EMPHASIS | _SILENT:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in _BLOCKS:
            self._close_block(tag in _HEADINGS)
        if tag in self._open:
            while self._open.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        inside = frozenset(self._open)
        if inside & _SILENT:
            return
        text = _SPACE.sub(" ", data)
        if not self._runs or self._runs[-1].text.endswith((" ", "\n")):
            text = text.lstrip(" ")
        if text:
            self._runs.append(TextRun(text, bool(inside & _STRONG), bool(inside & _EMPHASIS)))

    def close(self) -> None:
        super().close()
        self._close_block()


@lru_cache(maxsize=256)
def blocks_of(text: str) -> tuple[TextBlock, ...]:
    """The paragraphs, headings and items that a Markdown text says, in order."""
    reader = _TextReader()
    reader.feed(Markdown(extensions=["sane_lists"], output_format="html").convert(text))
    reader.close()
    return tuple(reader.blocks)


def display_width(text: str) -> int:
    """How many columns a text takes in a font of even widths: wide letters two (UAX #11)."""
    return len(text) if text.isascii() else sum(map(_columns, text))


def _columns(sign: str) -> int:
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def pieces(word: str, columns: int) -> Iterator[str]:
    """A word in pieces of at most so many columns; marks stay with their letter."""
    held, width = "", 0
    for sign in word:
        own = _columns(sign)
        if own and held and width + own > columns:
            yield held
            held, width = "", 0
        held += sign
        width += own
    yield held


def wrapped(line: str, columns: int) -> Iterator[str]:
    """The words of a line in lines of at most so many columns.

    A word that is longer, as in scripts that set no spaces, is broken where the line is full.
    """
    held = ""
    for word in line.split(" "):
        longer = f"{held} {word}" if held else word
        if display_width(longer) <= columns:
            held = longer
            continue
        if held:
            yield held
        *full, held = pieces(word, columns)
        yield from full
    yield held


def text_lines(text: str) -> tuple[str, ...]:
    """The blocks of a Markdown text as lines of 60 columns at most, an empty one between two."""
    lines: list[str] = []
    for block in blocks_of(text):
        if lines:
            lines.append("")
        for line in block.lines:
            lines.extend(wrapped(line.strip(), TEXT_COLUMNS))
    return tuple(lines)


# Common practice: below this a line is gone before a practised reader has read it.
LEAST_SECONDS_A_LINE = Fraction(6)
# Common practice: a line that stays this long is read without haste.
WISHED_SECONDS_A_LINE = Fraction(15)
SAFE = Fraction(9, 10)
# BBC credit guidance, 2007: no text lower than 20 of 1,080 lines; other pictures in proportion.
LEAST_TEXT = Fraction(20, 1080)
LEAST_SIDE, LARGEST_SIDE = 64, 16_384
LEAST_PITCH = 8

WITH_ROLES = frozenset({Layout.ROLE_AND_NAME, Layout.CHARACTER_AND_NAMES})
TEXT_COLUMNS = 60
MOST_IN_ONE_COLUMN, MOST_IN_TWO = 4, 12
# A longer text goes on in the line below. So many letters of common width fit beside a gutter, and
# into one, two or three columns, of a picture whose lines are a 32nd of its width apart.
BESIDE_GUTTER = 40
IN_COLUMNS = {1: 80, 2: 40, 3: 26}
SECONDS_A_WORD = Fraction(1, 5)
MANY_WORDS = 10

_RASTER = re.compile(r"([0-9]{1,6})\s*[x×X]\s*([0-9]{1,6})")
_LENGTH = re.compile(r"(?:(?:([0-9]{1,2}):)?([0-9]{1,3}):)?([0-9]{1,5})")


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


class LineKind(StrEnum):
    """What a line of the roll holds."""

    BLANK = "blank"
    HEADING = "heading"
    ROLE = "role"
    NAMES = "names"
    TEXT = "text"


class RollPiece(NamedTuple):
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


class Card(NamedTuple):
    """A section that stands still, and its lines."""

    heading: str
    lines: tuple[RollLine, ...]

    @property
    def seconds(self) -> Fraction:
        """How long it is to stand: 0.2 s a word and 2 s, from ten words 3 s (BCAP guidance)."""
        words = sum(len(piece.text.split()) for line in self.lines for piece in line.pieces)
        return words * SECONDS_A_WORD + (3 if words >= MANY_WORDS else 2)


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


def _row(kind: LineKind, columns: int, *pieces: RollPiece) -> Iterator[RollLine]:
    """The texts of a row; those that go on in the line below leave the others blank there."""
    wide = BESIDE_GUTTER if kind is LineKind.ROLE else IN_COLUMNS[columns]
    parts = [[p._replace(text=part) for part in wrapped(one_line(p.text), wide)] for p in pieces]
    for row in zip_longest(*parts, fillvalue=NO_TEXT):
        yield RollLine(kind, row, columns)


def section_lines(section: Section) -> Iterator[RollLine]:
    """The heading, where there is one, and what stands under it."""
    if section.heading:
        yield from _row(LineKind.HEADING, 1, RollPiece(section.heading))
    if has_roles(section):
        before = None
        for line in section.lines:
            role = line.role or ""
            shown = RollPiece("" if role == before else role)
            yield from _row(LineKind.ROLE, 1, shown, RollPiece(line.name, line.person))
            before = role
    elif section.lines:
        columns = 1 if section.layout is Layout.CARD else columns_of(section)
        for row in in_rows(section.lines, columns):
            names = (RollPiece(line.name, line.person) for line in row)
            yield from _row(LineKind.NAMES, columns, *names)
    for text in text_lines(section.text):
        yield RollLine(LineKind.TEXT, (RollPiece(one_line(text)),)) if text else BLANK


def roll_lines(credits: Credits) -> tuple[RollLine, ...]:
    """The lines of the roll, a blank line between two sections. Cards are not among them."""
    lines: list[RollLine] = []
    for section in credits.sections:
        if section.layout is not Layout.CARD:
            lines += (*([BLANK] if lines else ()), *section_lines(section))
    return tuple(lines)


def cards(credits: Credits) -> tuple[Card, ...]:
    """The sections that the plan sets on a card, in their order."""
    still = [section for section in credits.sections if section.layout is Layout.CARD]
    return tuple(Card(one_line(each.heading), tuple(section_lines(each))) for each in still)


class TextPlace(NamedTuple):
    """The room of one text: its left edge and width in the picture, where it stands in it."""

    left: int
    width: int
    align: Literal["left", "centre", "right"]


@dataclass(frozen=True, slots=True)
class RollSetting:
    """A picture and a line pitch, and everything that follows from them.

    Capitals stand in the middle of the pitch. Raises WrongCall for a pitch that is none.
    """

    width: int
    height: int
    pitch: int

    def __post_init__(self) -> None:
        if not LEAST_PITCH <= self.pitch <= self.height:
            hint = f"Write {LEAST_PITCH} to {self.height} pixels, such as 60."
            what = "is not the height of a line in this picture"
            raise WrongCall(Finding(what, hint, column="--line-height", value=str(self.pitch)))

    @classmethod
    def parse(cls, raster: str | None, pitch: int | None) -> RollSetting:
        """Read "1920x1080", each side 64 to 16,384 pixels; what is not given is as usual.

        Raises WrongCall for a wrong picture or pitch.
        """
        match = _RASTER.fullmatch((raster or "1920x1080").strip())
        sides = (int(match[1]), int(match[2])) if match else (0, 0)
        if not all(LEAST_SIDE <= side <= LARGEST_SIDE for side in sides):
            hint = f"Write width x height, each {LEAST_SIDE} to {LARGEST_SIDE:,}: 1920x1080."
            what = "is not a picture in pixels"
            raise WrongCall(Finding(what, hint, column="--size", value=raster))
        return cls(*sides, 60 if pitch is None else pitch)

    @property
    def raster(self) -> str:
        """The picture as it is written: ``1920x1080``."""
        return f"{self.width}x{self.height}"

    @property
    def title_safe(self) -> tuple[int, int]:
        """Width and height of the title-safe area: 90 % of each (SMPTE ST 2046-1, RP 218)."""
        return int(self.width * SAFE), int(self.height * SAFE)

    @property
    def least_text(self) -> int:
        """The least height of capital letters, in whole pixels, rounded up."""
        return ceil(self.height * LEAST_TEXT)

    @property
    def size(self) -> int:
        """The size of the letters: three fifths of the pitch."""
        return self.pitch * 3 // 5

    @property
    def capitals(self) -> int:
        """The height of capital letters: five sevenths of the size, as in Noto (714 of 1,000)."""
        return self.size * 5 // 7

    @property
    def baseline(self) -> int:
        """How far below the upper edge of a line its letters stand."""
        return (self.pitch + self.capitals) // 2

    @property
    def gap(self) -> int:
        """The gutter between role and name, and the space between columns."""
        return self.width // 48

    @property
    def left(self) -> int:
        """The left edge of the title-safe area."""
        return (self.width - self.title_safe[0] + 1) // 2

    def travel(self, lines: int) -> int:
        """How many pixels a roll moves: all its lines, and once the height of the picture."""
        return lines * self.pitch + self.height

    def roll(self, lines: int, rate: FrameRate, speed: int) -> Roll:
        """The roll of so many lines that begins below and ends above the picture.

        It lasts ``ceil(travel / speed)`` frames; a line is on screen for ``(height + pitch) /
        speed`` frames.
        """
        line_frames = Fraction(self.height + self.pitch, speed)
        too_fast = line_frames / rate.per_second < LEAST_SECONDS_A_LINE
        frames = ceil(Fraction(self.travel(lines), speed))
        return Roll(speed=speed, frames=frames, line_frames=line_frames, too_fast=too_fast)

    def wished_length(self, lines: int) -> Fraction:
        """The seconds at which every line stays on screen for 15 s, where no length is asked."""
        stays = self.height + self.pitch
        return Fraction(self.travel(lines) * WISHED_SECONDS_A_LINE, stays)

    def proposals(self, lines: int, rate: FrameRate, wished_seconds: Fraction) -> tuple[Roll, ...]:
        """Whole speeds around the wished length: the two nearest slower and two nearest faster.

        A speed that hits the wish exactly is among them. Slowest first; never below 1 px a frame.
        """
        exact = Fraction(self.travel(lines)) / (wished_seconds * rate.per_second)
        slowest = max(1, int(exact) - 1)
        return tuple(self.roll(lines, rate, speed) for speed in range(slowest, slowest + 4))

    def places(self, line: RollLine) -> tuple[TextPlace, ...]:
        """The room of each text of a line."""
        safe = self.title_safe[0]
        if line.kind is LineKind.ROLE:
            half = (safe - self.gap) // 2
            right = self.left + half + self.gap
            return TextPlace(self.left, half, "right"), TextPlace(right, half, "left")
        width = (safe - (line.columns - 1) * self.gap) // line.columns
        return tuple(
            TextPlace(self.left + column * (width + self.gap), width, "centre")
            for column in range(len(line.pieces))
        )


USUAL = RollSetting(1920, 1080, 60)


def texts_of(lines: Sequence[RollLine]) -> Iterator[tuple[LineKind, str]]:
    """Every text that is to be measured, once, with the kind of line that it stands in."""
    seen = dict.fromkeys((line.kind, piece.text) for line in lines for piece in line.pieces)
    return (key for key in seen if key[1])


def too_wide(
    lines: Sequence[RollLine],
    widths: Mapping[tuple[LineKind, str], int],
    setting: RollSetting,
    of: str = "roll",
) -> Iterator[Finding]:
    """Find the texts that do not fit into the title-safe width, in their order.

    widths: the measured width of each text, in pixels; what is not in it is not looked at.
    of: what the lines are of, the roll or a card.
    """
    hint = "Set the section in fewer columns, shorten the role, or lower --line-height."
    for number, line in enumerate(lines, 1):
        for piece, place in zip(line.pieces, setting.places(line), strict=True):
            width = widths.get((line.kind, piece.text), 0)
            if width > place.width:
                who = f" (person {piece.person})" if piece.person else ""
                room = f"line {number} of the {of} has room for {place.width}"
                yield Finding(f"is {width} px wide{who}; {room}", hint, value=piece.text)


def too_tall(cards: Sequence[Card], setting: RollSetting) -> Iterator[Finding]:
    """Find the cards that have more lines than the title-safe height holds."""
    most = setting.title_safe[1] // setting.pitch
    hint = "Part the section in two, roll it, or lower --line-height."
    for card in cards:
        lines = len(card.lines)
        if lines > most:
            what = f"the card has {lines} lines; the title-safe height holds {most}"
            yield Finding(what, hint, value=card.heading)


def too_small(setting: RollSetting) -> Finding | None:
    """What is to be said when the letters are too small to read, else None."""
    least = setting.least_text
    if setting.capitals >= least:
        return None
    pitch = next(p for p in count(setting.pitch) if replace(setting, pitch=p).capitals >= least)
    what = f"gives capitals of {setting.capitals} px; {setting.raster} asks for {least}"
    hint = f"Take --line-height {pitch} or more."
    return Finding(what, hint, column="--line-height", value=str(setting.pitch))
