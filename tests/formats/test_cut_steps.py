"""Stretches of film at one speed each."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.timeline import Played, frame_at, played

SPEEDS = st.fractions(min_value=-5, max_value=5, max_denominator=9)


def shown(stretches: list[Played]) -> list[int]:
    return [
        frame_at(s.source_first, s.shown, s.speed, k) for s in stretches for k in range(s.shown)
    ]


def test_a_stretch_that_begins_between_two_steps() -> None:
    assert played([2, 3, 3, 4, 4], Fraction(1, 2)) == [
        Played(1, 2, 2, Fraction(1, 2)),
        Played(4, 3, 4, Fraction(1, 2)),
    ]


@given(st.lists(st.integers(1, 20), max_size=40), SPEEDS)
def test_any_frames_are_shown_as_they_are(frames: list[int], wished: Fraction) -> None:
    assert shown(played(frames, wished)) == frames


@given(st.integers(1, 99), st.integers(1, 60), SPEEDS)
def test_a_whole_clip_is_one_stretch_at_its_own_speed(
    first: int, length: int, speed: Fraction
) -> None:
    frames = [frame_at(first, length, speed, k) for k in range(length)]
    assert min(frames) == first
    (only,) = played(frames, speed)
    assert (only.shown, only.source_first, only.speed) == (length, first, speed)
    assert only.source_last == max(frames)


@given(st.integers(1, 60), st.integers(0, 59), SPEEDS)
def test_what_is_left_of_a_clip_is_few_stretches(
    length: int, cut_off: int, speed: Fraction
) -> None:
    frames = [frame_at(1, length, speed, k) for k in range(length)][cut_off:]
    assert len(played(frames, speed)) <= 1 + speed.denominator
