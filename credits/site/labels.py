"""Where the labels of a strip have room: none lies over another, however wide the strip is.

Nobody knows how wide a strip will be shown, or with which fonts. So a label is placed for the
narrowest strip that has room for it, by the most that its letters may take, and is shown on strips
that are at least as wide. Lengths are in rem, so that larger letters need a wider strip.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple
from unicodedata import category, east_asian_width, normalize

ROOMS: tuple[tuple[str, float], ...] = (
    ("", 16.0),
    ("s", 19.5),
    ("m", 28.0),
    ("l", 44.0),
    ("x", 57.0),
)
"""Widths of a strip, without the names of its rows, and what a label is called that needs it.

The style sheet shows labels that have one of these names where there is so much room.
"""

MARK_SIZE, NAME_SIZE = 0.76, 0.8  # of letters, as the style sheet has them
BESIDE = 0.3  # between a label and what it stands beside
APART = 0.4  # between two labels

_NARROW = frozenset(" fijlrtIJ.,;:!'|()[]-·’")
_WIDE = frozenset("mwMW@%—…œæŒÆ")


@lru_cache(maxsize=10_000)
def text_width(text: str) -> float:
    """Return the most that a text may take, in the size of its letters.

    That is a tenth more than a wide face with serifs has, and most faces are narrower.
    """
    return sum(map(_letter, normalize("NFD", text)))


def _letter(sign: str) -> float:
    kind = category(sign)
    if kind in ("Mn", "Me", "Cf"):
        return 0.0
    if sign in _NARROW:
        return 0.43
    if sign in _WIDE:
        return 1.1
    if kind == "So" or ord(sign) > 0xFFFF:  # pictures among them
        return 1.5
    if "\u1100" <= sign <= "\u11ff":  # two or three are one syllable of Hangul
        return 0.6
    if east_asian_width(sign) in "WF":
        return 1.1
    if kind == "Ll" or sign.isdigit():
        return 0.65
    return 0.84


class Label(NamedTuple):
    """A label: where it begins, as a share of the strip, and how wide it is in rem.

    ends: it ends there instead.
    """

    at: float
    width: float
    ends: bool = False

    def within(self, room: float) -> tuple[float, float]:
        """Return where it begins and ends on a strip so wide."""
        if self.ends:
            return self.at * room - BESIDE - self.width, self.at * room - BESIDE
        return self.at * room + BESIDE, self.at * room + BESIDE + self.width


def beside_mark(at: float, text: str) -> Label:
    """Return the label of a mark: to the right of it, or to the left where the strip ends."""
    width = MARK_SIZE * text_width(text)
    ends = (1 - at) * ROOMS[-1][1] < width + BESIDE
    return Label(at, width, ends)


def coarse_first(count: int) -> list[int]:
    """Return places from 0 so that each beginning of the list lies evenly: 0, 4, 2, 6, 1, 3, ..."""
    return sorted(range(count), key=lambda at: (-(at & -at) if at else -count - 1, at))


def placed(labels: Sequence[Label], order: Iterable[int]) -> list[str | None]:
    """Return for each label which room it needs, by the names of ``ROOMS``; None: it has none.

    No two that are shown together lie over each other, and none beyond the strip. Those that come
    first in the order are placed first.
    """
    needs: list[str | None] = [None] * len(labels)
    waiting = list(order)
    shown: list[Label] = []
    for name, room in ROOMS:
        left = []
        for at in waiting:
            if _has_room(labels[at], shown, room):
                shown.append(labels[at])
                needs[at] = name
            else:
                left.append(at)
        waiting = left
    return needs


def _has_room(label: Label, shown: Iterable[Label], room: float) -> bool:
    first, stop = label.within(room)
    if first < 0 or stop > room:
        return False
    others = (other.within(room) for other in shown)
    return all(stop + APART <= a or b + APART <= first for a, b in others)


def room_for(text: str, share: float) -> str | None:
    """Return which room a name needs in a stretch that takes a share of the strip; None: none."""
    needed = NAME_SIZE * text_width(text) + 2 * BESIDE
    return next((name for name, room in ROOMS if share * room >= needed), None)
