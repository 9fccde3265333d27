"""Heights of line and speeds for a wished running time."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from credits.billing.setting.roll import RollSetting, too_small
from credits.billing.setting.rows import Card
from credits.billing.setting.running_time import Proposal, card_frames, pitches, proposals
from credits.units.film_time import FrameRate

HD = RollSetting(1920, 1080, 60)
FILM = FrameRate.parse("24")


def proposed(lines: int, seconds: int, standing: int = 0) -> tuple[Proposal, ...]:
    return proposals(HD, lambda _: lines, FILM, Fraction(seconds), standing)


def test_every_height_of_line_is_large_enough_to_read() -> None:
    found = pitches(HD)
    assert (found[0], found[-1]) == (47, 94)
    assert all(too_small(RollSetting(1920, 1080, pitch)) is None for pitch in found)


def test_each_card_stands_for_whole_frames() -> None:
    cards = [Card(number, "", (), Fraction("2.2"), 0) for number in (1, 2)]
    assert card_frames(cards, FILM) == 2 * 53  # 52.8 frames each


def test_four_minutes_of_two_hundred_lines() -> None:
    """(200 lines x 73 px + 1080 px) / 3 px a frame = 5,227 frames; 4:00 is 5,760 (calculated)."""
    best = proposed(200, 240)[0]
    assert abs(best.frames - 5760) <= min(
        abs(-(-(200 * pitch + 1080) // speed) - 5760)
        for pitch in pitches(HD)
        for speed in range(1, 8)
        if Fraction(1080 + pitch, speed) / 24 >= 6
    )


@given(st.integers(20, 3000), st.integers(30, 1200), st.integers(0, 500))
def test_the_length_is_that_of_the_roll_and_the_cards_nearest_first(
    lines: int, seconds: int, standing: int
) -> None:
    found = proposed(lines, seconds, standing)
    assert found
    for one in found:
        travel = lines * one.pitch + 1080
        assert one.frames == -(-travel // one.roll.speed) + standing
    ranked = [(one.roll.too_fast, abs(one.frames - seconds * 24)) for one in found]
    assert ranked == sorted(ranked)


def test_the_lines_are_those_of_the_height_that_is_proposed() -> None:
    """Larger letters break more names: the roll grows with the height of its lines."""
    found = proposals(HD, lambda setting: 100 + setting.pitch, FILM, Fraction(240), 0)
    assert all(one.lines == 100 + one.pitch for one in found)


def test_whole_frames_are_lost_of_no_card_however_many_they_are() -> None:
    cards = [Card(number, "", (), Fraction("2.2"), 0) for number in range(1, 7)]
    assert card_frames(cards, FILM) == 6 * 53  # together they would be 316.8
