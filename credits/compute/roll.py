"""How long the credits roll, at speeds that do not judder (rule 3.10)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

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
            finding = Finding("is not a picture in pixels", hint, column="--raster", value=text)
            raise WrongCall(finding)
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


@dataclass(frozen=True, slots=True)
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
    return Roll(speed, frames, line_frames, too_fast)


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
    nearest = int(exact)
    speeds = range(max(1, nearest - 1), max(1, nearest - 1) + 4)
    return tuple(roll_at(lines, pitch, raster, rate, speed) for speed in speeds)
