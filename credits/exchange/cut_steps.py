"""Which source frames a stretch of film shows, written as clips that play at one speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor


@dataclass(frozen=True, slots=True)
class Played:
    """Frames ``first .. last`` played at one speed for ``shown`` film frames (see CutClip)."""

    shown: int
    first: int
    last: int
    speed: Fraction


def frame_at(first: int, length: int, speed: Fraction, step: int) -> int:
    """The frame that a clip shows at its film frame ``step`` (from 0).

    ``first`` is the lowest frame shown, ``length`` the clip's film frames: a clip that runs
    backwards begins with its highest frame and ends on ``first``.
    """
    if speed < 0:
        return first + floor((length - 1) * -speed) - floor(step * -speed)
    return first + floor(step * speed)


def played(frames: Sequence[int], wished: Fraction = Fraction(1)) -> list[Played]:
    """Few stretches, each at one speed from its first frame, that show these frames in order.

    The last of them is as long as ``wished`` shows it. So is written what remains of a clip in slow
    motion that begins between two of its frames: ``2, 3, 3, 4, 4`` at 1/2 is a 2, and 3 to 4.
    """
    tail = next(
        (at for at in range(min(len(frames), wished.denominator)) if _shows(frames, at, wished)),
        len(frames),
    )
    out = []
    at = 0
    while at < tail:
        shown, speed = _longest(frames[:tail], at, wished)
        out.append(_stretch(frames[at : at + shown], speed))
        at += shown
    if tail < len(frames):
        out.append(_stretch(frames[tail:], wished))
    return out


def _stretch(frames: Sequence[int], speed: Fraction) -> Played:
    ends = (frames[0], frames[-1])
    return Played(len(frames), min(ends), max(ends), speed)


def _shows(frames: Sequence[int], at: int, speed: Fraction) -> bool:
    """Whether the frames from ``at`` to the end are played at this speed."""
    way = -1 if speed < 0 else 1
    return all(
        (frames[k] - frames[at]) * way == floor((k - at) * abs(speed))
        for k in range(at, len(frames))
    )


def _longest(frames: Sequence[int], at: int, wished: Fraction) -> tuple[int, Fraction]:
    """How many frames from ``at`` one speed shows, and a speed that does.

    Frame k lies d away when floor(k * s) = d, so s is in [d/k, (d+1)/k) for every k; the stretch
    ends where these have nothing in common. The lower end is then a speed that does.
    """
    low, high = Fraction(0), None
    sign = 0
    shown = 1
    for steps in range(1, len(frames) - at):
        distance = frames[at + steps] - frames[at]
        way = (distance > 0) - (distance < 0)
        if way and sign and way != sign:
            break
        away = abs(distance)
        most = Fraction(away + 1, steps)
        new_low = max(low, Fraction(away, steps))
        new_high = most if high is None else min(high, most)
        if new_low >= new_high:
            break
        low, high, sign, shown = new_low, new_high, sign or way, steps + 1
    same_way = sign in (0, 1 if wished > 0 else -1)
    if wished and same_way and low <= abs(wished) and (high is None or abs(wished) < high):
        return shown, wished
    return shown, low * (sign or 1)
