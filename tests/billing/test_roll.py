"""The roll: rasters, lengths, whole speeds, and where its lines stand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.roll import (
    LineKind,
    RollLine,
    RollPiece,
    RollSetting,
    parse_length,
    too_small,
    too_wide,
)
from credits.errors import WrongCall
from credits.units.film_time import FrameRate

HD, UHD = (1920, 1080), (3840, 2160)
FILM = FrameRate.parse("24")

pitches = st.integers(8, 200)
widths = st.integers(640, 8192)


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


# -- where the lines stand ----------------------------------------------------------------------


def of(kind: LineKind, *texts: str, columns: int = 1) -> RollLine:
    return RollLine(kind, tuple(RollPiece(text, text.lower()) for text in texts), columns)


@given(width=widths, pitch=pitches, columns=st.integers(1, 3))
def test_every_text_stands_inside_title_safe_and_beside_its_neighbours(
    width: int, pitch: int, columns: int
) -> None:
    setting = RollSetting(width, 1080, pitch)
    safe = setting.title_safe[0]
    for line in (
        of(LineKind.HEADING, "A"),
        of(LineKind.ROLE, "A", "B"),
        of(LineKind.NAMES, *"ABC"[:columns], columns=columns),
    ):
        places = setting.places(line)
        assert len(places) == len(line.pieces)
        edges = [edge for p in places for edge in (p.left, p.left + p.width)]
        assert edges == sorted(edges)
        assert 2 * edges[0] >= width - safe
        assert edges[-1] - edges[0] <= safe
        assert edges[-1] <= width - (width - safe) // 2


def test_the_gutter_lies_in_the_middle() -> None:
    role, name = RollSetting(*HD, 60).places(of(LineKind.ROLE, "Wick", "Ana"))
    assert (role.left, role.left + role.width) == (96, 940)
    assert (name.left, name.left + name.width) == (980, 1824)


def test_a_text_that_just_fits_fits_and_one_pixel_more_is_named() -> None:
    setting = RollSetting(*HD, 60)
    lines = [of(LineKind.ROLE, "Wick", "Ana"), of(LineKind.HEADING, "Thanks")]
    just = {
        (LineKind.ROLE, "Wick"): 844,
        (LineKind.ROLE, "Ana"): 844,
        (LineKind.HEADING, "Thanks"): 1728,
    }
    assert list(too_wide(lines, just, setting)) == []
    found = too_wide(lines, {key: width + 1 for key, width in just.items()}, setting)
    assert [str(finding).partition(". ")[0] for finding in found] == [
        "'Wick': is 845 px wide (person wick); line 1 of the roll has room for 844",
        "'Ana': is 845 px wide (person ana); line 1 of the roll has room for 844",
        "'Thanks': is 1729 px wide (person thanks); line 2 of the roll has room for 1728",
    ]


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
