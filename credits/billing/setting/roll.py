"""The roll: a picture and a height of line, length and speed, and what does not fit."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count
from math import ceil

from credits.billing.plan import Size
from credits.billing.setting.rows import Card, Room, SetCredits, SetRow
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
LEAST_PITCH = 8

# Beside letters of the usual size; large ones take two lines.
SIZES = {Size.SMALL: Fraction(5, 6), Size.NORMAL: Fraction(1), Size.LARGE: Fraction(5, 3)}
TEXT_ROOM = Fraction(3, 4)  # of the title-safe width, for fixed text

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
        """The height of capital letters of the usual size."""
        return capitals_of(self.size)

    def letters(self, size: Size) -> int:
        """The size of letters of a size."""
        return int(self.size * SIZES[size])

    def high(self, size: Size) -> int:
        """How many lines high a row of letters of a size is."""
        return 2 if size is Size.LARGE else 1

    def baseline(self, row: SetRow) -> int:
        """How far below the upper edge of a row its letters stand: in the middle of it."""
        return (row.high * self.pitch + capitals_of(row.letters)) // 2

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

    # -- where texts stand

    @property
    def heading(self) -> Room:
        """The room of a heading: the title-safe width."""
        return Room(self.left, self.title_safe[0], "centre")

    @property
    def text(self) -> Room:
        """The room of fixed text: lines of a length that is read well."""
        width = int(self.title_safe[0] * TEXT_ROOM)
        return Room(self.left + (self.title_safe[0] - width) // 2, width, "centre")

    def indent(self, letters: int) -> int:
        """How far a name that goes on is indented: by the size of its letters."""
        return letters

    def gutter(self, widest_role: int = 0) -> tuple[Room, Room]:  # noqa: ARG002
        """The rooms of roles and names, on both sides of the middle."""
        half = (self.title_safe[0] - self.gap) // 2
        right = self.left + half + self.gap
        return Room(self.left, half, "right"), Room(right, half, "left")

    def columns(self, count: int, widest: int | None = None) -> tuple[Room, ...]:
        """The rooms of columns: each as wide as the widest name, close to the middle."""
        safe = self.title_safe[0]
        if count == 1:
            return (self.heading,)
        most = (safe - (count - 1) * self.gap) // count
        width = most if widest is None else min(widest, most)
        gap = (
            self.gap if widest is None else min(2 * self.gap, (safe - count * width) // (count - 1))
        )
        left = self.left + (safe - count * width - (count - 1) * gap) // 2
        return tuple(Room(left + at * (width + gap), width, "centre") for at in range(count))

    def picture_width(self, lines: int, proportion: Fraction) -> int:
        """How wide a picture is that is so many lines high."""
        return ceil(lines * self.pitch * proportion)


def capitals_of(letters: int) -> int:
    """The height of capital letters: five sevenths of the size, as in Noto (714 of 1,000)."""
    return letters * 5 // 7


USUAL = RollSetting(1920, 1080, 60)


def too_wide(
    rows: Sequence[SetRow], setting: RollSetting, of: str = "the roll"
) -> Iterator[Finding]:
    """Find the rows whose pictures do not fit into the title-safe width. of: what they are of."""
    safe = setting.title_safe[0]
    for row in rows:
        if row.pictures:
            width = row.pictures[-1].left + row.pictures[-1].width - row.pictures[0].left
            if width > safe:
                shown = ", ".join(picture.file for picture in row.pictures)
                what = f"is {width} px wide; {of} has room for {safe}"
                hint = "Set the picture fewer lines high, or the pictures in two sections."
                yield Finding(what, hint, value=shown)


def too_tall(cards: Sequence[Card], setting: RollSetting) -> Iterator[Finding]:
    """Find the cards that have more lines than the title-safe height holds."""
    most = setting.title_safe[1] // setting.pitch
    hint = "Part the section in two, set it smaller, roll it, or lower --line-height."
    for card in cards:
        if card.lines > most:
            what = f"the card has {card.lines} lines; the title-safe height holds {most}"
            yield Finding(what, hint, value=card.heading)


def too_small(setting: RollSetting, size: Size = Size.NORMAL) -> Finding | None:
    """What is to be said when the letters are too small to read, else None.

    size: of the smallest letters.
    """
    least, capitals = setting.least_text, capitals_of(setting.letters(size))
    if capitals >= least:
        return None
    pitch = next(
        p
        for p in count(setting.pitch)
        if capitals_of(replace(setting, pitch=p).letters(size)) >= least
    )
    what = f"gives capitals of {capitals} px; {setting.raster} asks for {least}"
    hint = f"Take --line-height {pitch} or more."
    return Finding(what, hint, column="--line-height", value=str(setting.pitch))


def smallest(made: SetCredits) -> Size:
    """The size of the smallest letters."""
    sizes = {each.section.size for each in made.sections}
    return Size.SMALL if Size.SMALL in sizes else Size.NORMAL


def does_not_fit(made: SetCredits, setting: RollSetting) -> tuple[Finding, ...]:
    """Find what is too wide or too tall for the picture."""
    problems = [*made.problems, *too_wide(made.roll, setting)]
    for card in made.cards:
        problems += too_wide(card.rows, setting, f"card {card.number}")
    return (*problems, *too_tall(made.cards, setting))
