"""Frames are written with both ends named and kept as half-open ranges."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from credits.errors import ProblemsFound
from credits.units.frames import HIGHEST_FRAME, NO_FRAMES, Frames, common_runs, union


@pytest.mark.parametrize(
    ("written", "ranges"),
    [
        ("17", ((17, 18),)),
        ("1-48", ((1, 49),)),
        ("1-20,25-48", ((1, 21), (25, 49))),
        ("25-48; 1-20", ((1, 21), (25, 49))),  # in any order, and a semicolon will do
        ("1-20,21-48", ((1, 49),)),  # what touches is one range
        ("1-30,25-48", ((1, 49),)),  # and so is what overlaps
        ("5,5,5", ((5, 6),)),
        (" 1 - 20 , 25 ", ((1, 21), (25, 26))),
        ("1–20", ((1, 21),)),  # the dash of a word processor
        ("1—20", ((1, 21),)),
        ("007", ((7, 8),)),
        (f"{HIGHEST_FRAME}", ((HIGHEST_FRAME, HIGHEST_FRAME + 1),)),
    ],
)
def test_reading(written: str, ranges: tuple[tuple[int, int], ...]) -> None:
    assert Frames.parse(written).ranges == ranges


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        ("", "is not a list of frames"),
        (",", "is not a list of frames"),
        ("1-20,", "is not a list of frames"),
        ("twelve", "is not a list of frames"),
        ("1-20-30", "is not a list of frames"),
        ("-5", "is not a list of frames"),
        ("1.5", "is not a list of frames"),
        ("=1+1", "is not a list of frames"),
        ("0-12", "shot frames count from 1"),
        ("30-12", "a range runs backwards"),
        ("1-10000000", "a frame number is too high"),
    ],
)
def test_what_cannot_be_read_is_quoted_and_said_to_be_wrong(written: str, wrong: str) -> None:
    with pytest.raises(ProblemsFound) as raised:
        Frames.parse(written)
    (finding,) = raised.value.findings
    assert (finding.value, finding.what) == (written, wrong)
    assert finding.hint


def test_a_range_that_runs_backwards_is_answered_with_the_right_way_round() -> None:
    with pytest.raises(ProblemsFound) as raised:
        Frames.parse("30-12")
    assert raised.value.findings[0].hint == "Write 12-30, or correct the numbers."


def test_writing() -> None:
    assert Frames.of((1, 21), (25, 26)).text == "1-20,25"
    assert NO_FRAMES.text == ""


def test_a_span_names_both_ends() -> None:
    assert Frames.span(9, 40).ranges == ((9, 41),)
    assert Frames.span(9, 9).ranges == ((9, 10),)
    assert Frames.span(9, 8) == NO_FRAMES


def test_the_count_is_of_frames_and_not_of_ranges() -> None:
    assert Frames.parse("1-20,25-48").count == 44
    assert NO_FRAMES.count == 0
    assert not NO_FRAMES
    assert Frames.parse("1-20,25-48").ranges == ((1, 21), (25, 49))


def test_membership() -> None:
    frames = Frames.parse("1-20,25-48")
    assert 20 in frames
    assert 21 not in frames
    assert 25 in frames
    assert 49 not in frames
    assert "20" not in frames


def test_first_and_last() -> None:
    frames = Frames.parse("9-12,40")
    assert (frames.first, frames.last) == (9, 40)
    with pytest.raises(IndexError):
        _ = NO_FRAMES.first


def test_or_and_minus() -> None:
    ana, ben = Frames.parse("1-30"), Frames.parse("25-48")
    assert (ana | ben).text == "1-48"
    assert (ana & ben).text == "25-30"
    assert (ana - ben).text == "1-24"
    assert (ben - ana).text == "31-48"
    assert (Frames.parse("1-48") - Frames.parse("9-12,20,40-60")).text == "1-8,13-19,21-39"
    assert union([ana, NO_FRAMES, Frames.parse("60")]).text == "1-30,60"
    assert Frames.parse("1-8,20-30").from_frame(25).text == "25-30"


def test_runs_in_which_the_same_sets_hold() -> None:
    ana, ben, cai = Frames.parse("1-30"), Frames.parse("25-48"), Frames.parse("60")
    assert list(common_runs([ana, ben, cai])) == [
        (1, 25, (0,)),
        (25, 31, (0, 1)),
        (31, 49, (1,)),
        (60, 61, (2,)),
    ]


def test_a_run_is_cut_where_any_set_begins_or_ends_even_if_one_goes_on() -> None:
    assert list(common_runs([Frames.parse("1-10"), Frames.parse("4-6")])) == [
        (1, 4, (0,)),
        (4, 7, (0, 1)),
        (7, 11, (0,)),
    ]
    assert list(common_runs([NO_FRAMES, NO_FRAMES])) == []


@pytest.mark.parametrize("counting", [len, list])
def test_frames_and_ranges_are_counted_by_name_alone(counting: Callable[[Any], object]) -> None:
    """A length in frames beside a walk over ranges would say two things of one set."""
    own = Frames.parse("1-20,25-48")
    assert (own.count, len(own.ranges)) == (44, 2)
    with pytest.raises(TypeError):
        counting(own)
