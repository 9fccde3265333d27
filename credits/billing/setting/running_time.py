"""A wished running time of the end credits: heights of line and speeds that come near it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count
from math import ceil

from credits.billing.setting.roll import Roll, RollSetting, capitals_of
from credits.billing.setting.rows import Card
from credits.units.film_time import FrameRate

TRIED = 8  # heights of line whose lines are counted: those that promise most
PROPOSED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A height of line and a speed. ``frames``: of the roll and the cards together."""

    pitch: int
    lines: int
    roll: Roll
    frames: int


def card_frames(cards: Sequence[Card], rate: FrameRate) -> int:
    """How many frames the cards stand together, each for whole frames."""
    return sum(ceil(card.seconds * rate.per_second) for card in cards)


def pitches(setting: RollSetting) -> range:
    """Heights of line whose letters are large enough to read, up to twice the least of them."""
    least = next(
        pitch
        for pitch in count(1)
        if capitals_of(pitch * 3 // 5) >= setting.least_text and pitch * 3 // 5
    )
    return range(least, min(2 * least, setting.height) + 1)


def _around(
    setting: RollSetting, lines: int, rate: FrameRate, wished: int, standing: int
) -> Iterator[Proposal]:
    """The whole speeds on both sides of the wish."""
    exact = Fraction(setting.travel(lines), max(1, wished - standing))
    for speed in sorted({max(1, int(exact)), int(exact) + 1}):
        roll = setting.roll(lines, rate, speed)
        frames = roll.frames + standing
        yield Proposal(pitch=setting.pitch, lines=lines, roll=roll, frames=frames)


def proposals(
    setting: RollSetting,
    lines_at: Callable[[RollSetting], int],
    rate: FrameRate,
    wished_seconds: Fraction,
    standing: int,
) -> tuple[Proposal, ...]:
    """Propose heights of line and whole speeds, the nearest to the wish first.

    lines_at: how many lines the roll has in a setting. standing: the frames of the cards. What is
    too fast to read comes after all others.
    """
    wished = ceil(wished_seconds * rate.per_second)

    def rank(one: Proposal) -> tuple[bool, int, int, int]:
        away, usual = abs(one.frames - wished), abs(one.pitch - setting.pitch)
        return one.roll.too_fast, away, usual, one.pitch

    lines = lines_at(setting)
    guessed = sorted(
        (
            one
            for pitch in pitches(setting)
            for one in _around(replace(setting, pitch=pitch), lines, rate, wished, standing)
        ),
        key=rank,
    )
    promising = list(dict.fromkeys(one.pitch for one in guessed))[:TRIED]
    found: list[Proposal] = []
    for pitch in promising:
        own = replace(setting, pitch=pitch)
        found += _around(own, lines_at(own), rate, wished, standing)
    return tuple(sorted(found, key=rank)[:PROPOSED])
