"""The roll: rasters, lengths, whole speeds, and where its lines stand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.plan import Size
from credits.billing.setting.roll import RollSetting, parse_length, too_small, too_tall, too_wide
from credits.billing.setting.rows import Card, LineKind, PlacedPicture, SetRow
from credits.errors import WrongCall
from credits.units.film_time import FrameRate

HD, UHD = (1920, 1080), (3840, 2160)
FILM = FrameRate.parse("24")

pitches = st.integers(8, 200)


@pytest.mark.parametrize(
    ("written", "raster"),
    [("1920x1080", HD), ("3840 x 2160", UHD), ("2048×858", (2048, 858))],
)
def test_a_raster_is_read(written: str, raster: tuple[int, int]) -> None:
    assert RollSetting.parse(written, None) == RollSetting(*raster, 60)


@pytest.mark.parametrize(
    "written", [" ", "1920", "1920x", "x", "0x0", "20x20", "99999x1080", "a×b"]
)
def test_what_is_no_raster_is_refused(written: str) -> None:
    with pytest.raises(WrongCall, match="1920x1080"):
        RollSetting.parse(written, None)


@pytest.mark.parametrize(
    ("written", "seconds"), [("90", 90), ("1:30", 90), ("0:01:30", 90), ("12:00", 720)]
)
def test_a_length_is_read(written: str, seconds: int) -> None:
    assert parse_length(written) == seconds


@pytest.mark.parametrize("written", ["", "0", "1:60", "1:60:00", "-1", "1.5", "1:2:3:4", "soon"])
def test_what_is_no_length_is_refused(written: str) -> None:
    with pytest.raises(WrongCall, match="1:30"):
        parse_length(written)


@pytest.mark.parametrize(
    ("raster", "safe"),
    # SMPTE ST 2046-1: title safe is 90 % of width and height.
    [(HD, (1728, 972)), (UHD, (3456, 1944))],
)
def test_title_safe(raster: tuple[int, int], safe: tuple[int, int]) -> None:
    assert RollSetting(*raster, 60).title_safe == safe


@pytest.mark.parametrize(
    ("raster", "least"),
    # 20 of 1,080 lines (BBC credit guidance, 2007), other heights in proportion.
    [(HD, 20), (UHD, 40), ((2048, 858), 16)],
)
def test_the_least_text(raster: tuple[int, int], least: int) -> None:
    assert RollSetting(*raster, 60).least_text == least


@pytest.mark.parametrize(
    ("speed", "seconds"), [(1, "45"), (2, "22.5"), (3, "15"), (4, "11.25"), (5, "9")]
)
def test_whole_speeds_cross_1080_lines_at_24_frames(speed: int, seconds: str) -> None:
    """A roll without lines travels the height alone (calculated)."""
    assert RollSetting(*HD, 60).roll(0, FILM, speed).frames / Fraction(24) == Fraction(seconds)


@given(lines=st.integers(1, 5000), pitch=pitches, wished=st.integers(10, 3600))
def test_the_proposals_lie_on_both_sides_of_the_wish(lines: int, pitch: int, wished: int) -> None:
    rolls = RollSetting(*HD, pitch).proposals(lines, FILM, Fraction(wished))
    exact = Fraction(lines * pitch + 1080) / (wished * 24)
    assert [roll.speed for roll in rolls] == list(range(rolls[0].speed, rolls[0].speed + 4))
    assert rolls[-1].speed > exact
    assert rolls[0].speed == 1 or rolls[1].speed <= exact
    for roll in rolls:
        assert (roll.frames - 1) * roll.speed < lines * pitch + 1080 <= roll.frames * roll.speed


@given(lines=st.integers(1, 5000), pitch=pitches)
def test_without_a_wish_a_line_stays_fifteen_seconds(lines: int, pitch: int) -> None:
    seconds = RollSetting(*HD, pitch).wished_length(lines)
    speed = Fraction(lines * pitch + 1080) / (seconds * 24)
    assert Fraction(1080 + pitch) / speed / 24 == 15


# -- what does not fit --------------------------------------------------------------------------


def test_pictures_that_just_fit_fit_and_one_pixel_more_is_named() -> None:
    setting = RollSetting(*HD, 60)
    logo = PlacedPicture("mill.png", "Mill Studio", setting.left, 1728, 3)
    row = SetRow(LineKind.PICTURES, high=3, pictures=(logo,))
    assert list(too_wide([row], setting)) == []
    wider = replace(row, pictures=(logo._replace(width=1729),))
    (finding,) = too_wide([wider], setting, "card 2")
    assert str(finding).startswith("'mill.png': is 1729 px wide; card 2 has room for 1728.")


def test_a_card_of_more_lines_than_title_safe_holds_is_named() -> None:
    rows = (SetRow(LineKind.NAMES),) * 17
    tall = Card(1, "Thanks", rows, Fraction(3), 0)
    (finding,) = too_tall([tall, tall._replace(rows=rows[:16])], RollSetting(*HD, 60))
    assert "the card has 17 lines; the title-safe height holds 16" in str(finding)


def test_small_letters_need_a_higher_line() -> None:
    assert too_small(RollSetting(*HD, 60), Size.SMALL) is None
    assert too_small(RollSetting(*HD, 50), Size.SMALL) is not None
    assert too_small(RollSetting(*HD, 50)) is None


def test_letters_that_are_too_small_are_said_with_the_pitch_that_would_do() -> None:
    assert too_small(RollSetting(*HD, 60)) is None
    finding = too_small(RollSetting(*HD, 40))
    assert finding is not None
    assert "Take --line-height 47 or more." in str(finding)
    assert too_small(RollSetting(*HD, 47)) is None
    assert too_small(RollSetting(*HD, 46)) is not None


@pytest.mark.parametrize("pitch", [-1, 0, 7, 1081])
def test_a_pitch_that_is_none_is_refused(pitch: int) -> None:
    with pytest.raises(WrongCall, match="height of a line"):
        RollSetting(*HD, pitch)


# -- at the limits -------------------------------------------------------------------------------


def test_a_roll_of_exactly_the_fastest_rate_can_be_read() -> None:
    """A line crosses (1080 + 72) px: at 8 px a frame in 144 frames, 6 s (calculated)."""
    setting = RollSetting(*HD, 72)
    assert setting.roll(100, FILM, 8).line_frames == 6 * 24
    assert [setting.roll(100, FILM, speed).too_fast for speed in (7, 8, 9)] == [False, False, True]


def test_the_smallest_and_the_largest_picture_and_line() -> None:
    assert RollSetting.parse("64x16384", 8) == RollSetting(64, 16_384, 8)
    assert RollSetting.parse("16384x64", 64) == RollSetting(16_384, 64, 64)
    for written in ("63x1080", "1080x63", "16385x1080", "1080x16385"):
        with pytest.raises(WrongCall, match="is not a picture"):
            RollSetting.parse(written, 8)
    for pitch in (7, 65):
        with pytest.raises(WrongCall, match="Write 8 to 64 pixels"):
            RollSetting.parse("64x64", pitch)


def test_the_roll_ends_when_its_last_line_has_left_the_picture() -> None:
    """10 lines of 60 px and 1080 px are 1680 px: 560 frames at 3, 240 at 7, 153 at 11."""
    frames = [RollSetting(*HD, 60).roll(10, FILM, speed).frames for speed in (3, 7, 11)]
    assert frames == [560, 240, 153]
