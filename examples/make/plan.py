"""How many days a shot takes and what is photographed on each: blocks, rehearsals, takes."""

from __future__ import annotations

from dataclasses import dataclass

from .chance import Chance
from .story import NOT_YET_SHOT, OMITTED, Shot

TWO_TAKES_USED = "040-080"
RETAKEN = ("010-100", "020-060", "030-100", "040-060", "050-050", "060-040")
REHEARSED = ("010-040", "040-040", "050-090", "060-040", "060-110")
PLAIN = ("030-060", "020-110")
"""Shots without a second go at anything: the questions of the log are planted in them."""


@dataclass(frozen=True, slots=True)
class Day:
    """One day's work in front of the camera: which take, its purpose, first and last frame."""

    take: int
    purpose: str
    first: int
    last: int
    again: bool = False


def _pace(shot: Shot, chance: Chance) -> int:
    """Frames a day for this shot: fewer when there are more characters to think of."""
    return max(9, chance.between(22, 32) - 4 * (len(shot.cast) - 1))


def _photographed(shot: Shot, take: int, chance: Chance) -> list[Day]:
    """The days of one take, a few of them backing up over the day before."""
    days: list[Day] = []
    pace, at = _pace(shot, chance), 1
    while at <= shot.frames:
        last = min(shot.frames, at + pace + chance.between(-4, 4) - 1)
        if shot.frames - last < 6:
            last = shot.frames
        again = at > 12 and chance.happens(20) and shot.code not in PLAIN
        first = at - chance.between(3, 10) if again else at
        days.append(Day(take, "shoot", first, last, again))
        at = last + 1
    if chance.happens(10) and shot.code not in PLAIN:
        first = shot.frames - chance.between(8, 16)
        days.append(Day(take, "shoot", first, shot.frames, True))
    return days


def days_of(shot: Shot) -> list[Day]:
    """The working days of a shot in order; a planned shot has none, a dropped one few."""
    chance = Chance("plan", shot.code)
    if shot.code in (OMITTED[1], NOT_YET_SHOT[1]):
        return []
    days: list[Day] = []
    if chance.happens(34) and shot.code not in PLAIN:
        days.append(Day(1, "block", 1, shot.frames))
    if shot.code in REHEARSED or chance.happens(12):
        days.append(Day(len(days) + 1, "rehearsal", 1, min(shot.frames, chance.between(24, 60))))
    take = len(days) + 1
    first = _photographed(shot, take, chance)
    if shot.code == OMITTED[0]:
        return [*days, *first[:1]]
    if shot.code == NOT_YET_SHOT[0]:
        return [*days, *first[:-1]]
    if shot.code in RETAKEN or shot.code == TWO_TAKES_USED:
        return [*days, *first, *_photographed(shot, take + 1, Chance("again", shot.code))]
    return [*days, *first]
