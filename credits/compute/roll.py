"""How long the credits roll, at speeds that do not judder (rule 3.10)."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from credits.film_time import FrameRate

# Common practice: below this a line is gone before a practised reader has read it.
LEAST_SECONDS_A_LINE = Fraction(6)
SAFE = Fraction(9, 10)


@dataclass(frozen=True, slots=True)
class Raster:
    """The picture that the credits roll through, in pixels."""

    width: int
    height: int

    @property
    def title_safe(self) -> tuple[int, int]:
        """Width and height of the title-safe area: 90 % of each (SMPTE ST 2046-1, RP 218)."""
        return int(self.width * SAFE), int(self.height * SAFE)


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll at a whole speed: pixels per frame, length in frames, frames a line is on screen."""

    speed: int
    frames: int
    line_frames: Fraction
    too_fast: bool


def roll_at(lines: int, pitch: int, raster: Raster, rate: FrameRate, speed: int) -> Roll:
    """The roll of ``lines`` lines ``pitch`` px apart that begins below and ends above the picture.

    It travels ``lines * pitch + height`` px and lasts ``ceil(travel / speed)`` frames; a line is on
    screen for ``(height + pitch) / speed`` frames. Raises ValueError for a speed below 1.
    """
    if speed < 1:
        raise ValueError("a roll moves at least one pixel a frame")
    travel = lines * pitch + raster.height
    line_frames = Fraction(raster.height + pitch, speed)
    too_fast = line_frames / rate.per_second < LEAST_SECONDS_A_LINE
    return Roll(speed, ceil(Fraction(travel, speed)), line_frames, too_fast)


def proposals(
    lines: int, pitch: int, raster: Raster, rate: FrameRate, wished_seconds: Fraction
) -> tuple[Roll, ...]:
    """Whole speeds around the wished length: the two nearest slower and the two nearest faster.

    A speed that hits the wish exactly is among them. Slowest first; never below 1 px a frame.
    """
    travel = lines * pitch + raster.height
    exact = Fraction(travel) / (wished_seconds * rate.per_second)
    nearest = int(exact)
    speeds = range(max(1, nearest - 1), max(1, nearest - 1) + 4)
    return tuple(roll_at(lines, pitch, raster, rate, speed) for speed in speeds)
