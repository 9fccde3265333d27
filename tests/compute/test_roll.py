"""The roll: its length by rule 3.10, whole speeds, and the area that text stays within."""

from __future__ import annotations

from fractions import Fraction

import pytest

from credits.compute.roll import Raster, Roll, proposals, roll_at
from credits.film_time import FrameRate

HD = Raster(1920, 1080)
FILM = FrameRate.parse("24")


# --- The area


@pytest.mark.parametrize(
    ("width", "height", "title_safe"),
    [
        (1920, 1080, (1728, 972)),  # SMPTE ST 2046-1; EBU R 95
        (3840, 2160, (3456, 1944)),  # SMPTE ST 2046-1; EBU R 95
        (1998, 1080, (1798, 972)),  # DCI 2K flat; 90 % of it, calculated
        (2048, 858, (1843, 772)),  # DCI 2K scope; 90 % of it, calculated
    ],
)
def test_title_safe_is_ninety_in_a_hundred(
    width: int, height: int, title_safe: tuple[int, int]
) -> None:
    assert Raster(width, height).title_safe == title_safe


# --- The formula


@pytest.mark.parametrize(
    ("speed", "seconds"),
    # Calculated: a point crosses a picture of 1,080 lines at 24 frames a second.
    [(1, "45"), (2, "45/2"), (3, "15"), (4, "45/4"), (5, "9")],
)
def test_how_long_a_point_takes_to_cross_the_picture(speed: int, seconds: str) -> None:
    roll = roll_at(0, 0, HD, FILM, speed)
    assert roll.line_frames / FILM.per_second == Fraction(seconds)
    assert Fraction(roll.frames, 24) == Fraction(seconds)


def test_a_roll_begins_below_the_picture_and_ends_above_it() -> None:
    # 400 lines 54 px apart are 21,600 px, and the picture is 1,080 px: 22,680 px to travel.
    roll = roll_at(lines=400, pitch=54, raster=HD, rate=FILM, speed=3)
    assert roll.frames == 7560  # 5 min 15 s at 24 a second
    assert roll.line_frames == Fraction(1080 + 54, 3)


def test_a_frame_that_is_begun_is_a_frame() -> None:
    # 10 * 7 + 1080 = 1,150 px at 4 px a frame: 287.5 frames
    assert roll_at(10, 7, HD, FILM, 4).frames == 288


def test_a_roll_without_lines_is_the_picture_alone() -> None:
    assert roll_at(0, 54, HD, FILM, 3).frames == 360


def test_the_rate_says_when_a_line_is_gone_too_soon() -> None:
    # (1080 + 54) px at 5 px a frame: 226.8 frames. 9.45 s at 24, but 4.725 s at 48.
    assert not roll_at(400, 54, HD, FILM, 5).too_fast
    assert roll_at(400, 54, HD, FrameRate.parse("48"), 5).too_fast
    # common practice: six seconds to read a line. (1080 + 72) / 8 = 144 frames: six seconds.
    assert not roll_at(400, 72, HD, FILM, 8).too_fast
    assert roll_at(400, 72, HD, FILM, 9).too_fast


@pytest.mark.parametrize("speed", [0, -1])
def test_a_roll_moves(speed: int) -> None:
    with pytest.raises(ValueError, match="at least one pixel"):
        roll_at(400, 54, HD, FILM, speed)


# --- Speeds to choose from


def speeds(lines: int, seconds: int) -> tuple[int, ...]:
    return tuple(roll.speed for roll in proposals(lines, 54, HD, FILM, Fraction(seconds)))


def test_the_proposals_lie_around_the_wish() -> None:
    # 22,680 px in 300 s, 7,200 frames: 3.15 px a frame, which judders.
    own = proposals(400, 54, HD, FILM, Fraction(300))
    assert [(roll.speed, roll.frames) for roll in own] == [
        (2, 11340),
        (3, 7560),
        (4, 5670),
        (5, 4536),
    ]
    assert own[1] == Roll(3, 7560, Fraction(378), too_fast=False)


def test_a_wish_that_a_whole_speed_meets_is_among_them() -> None:
    assert 3 in speeds(400, 315)  # 22,680 px in 7,560 frames


def test_a_long_wish_does_not_stand_still() -> None:
    assert speeds(1, 3600) == (1, 2, 3, 4)


def test_slowest_first() -> None:
    own = proposals(3000, 54, HD, FILM, Fraction(60))
    assert [roll.frames for roll in own] == sorted((roll.frames for roll in own), reverse=True)
    assert all(roll.too_fast for roll in own)
