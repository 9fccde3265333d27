"""Facts in words: lists that may be long, counts, days and frames."""

from __future__ import annotations

from datetime import date

import pytest

from credits.model import words
from credits.units.frames import Frames


@pytest.mark.parametrize(
    ("items", "said"),
    [
        ("", ""),
        ("a", "a"),
        ("a b", "a and b"),
        ("a b c d e f", "a, b, c, d, e and f"),
        ("a b c d e f g", "a, b, c, d, e, f and 1 more"),
        ("a b c d e f g h i", "a, b, c, d, e, f and 3 more"),
    ],
)
def test_a_list_that_may_be_long_says_how_many_are_left_out(items: str, said: str) -> None:
    assert words.some_of(items.split()) == said


def test_one_that_is_left_out_is_another_and_several_are_others() -> None:
    assert words.listed("abc", 2) == "a, b and 1 other"
    assert words.listed("abcd", 2) == "a, b and 2 others"


@pytest.mark.parametrize(
    ("days", "said"),
    [([2], "on 2026-03-02"), ([9, 2, 4, 2], "on 3 days from 2026-03-02 to 2026-03-09")],
)
def test_days_are_said_once_from_the_first_to_the_last(days: list[int], said: str) -> None:
    assert words.days(date(2026, 3, day) for day in days) == said


def test_of_very_many_ranges_the_frames_that_are_left_out_are_counted() -> None:
    twelve = Frames.of(*((at, at + 1) for at in range(1, 25, 2)))
    assert words.frames(Frames.span(17, 17)) == "frame 17"
    assert words.frames(twelve) == f"frames {twelve.text}"
    assert words.frames(twelve | Frames.span(31, 40)) == f"frames {twelve.text} and 10 more"
