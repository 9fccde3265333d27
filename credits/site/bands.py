"""The film as one strip, drawn to its length: its sequences, and how far each part of it is."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from markupsafe import escape

from credits.editions import Crew, Everyone
from credits.site.links import Link
from credits.site.pieces import Stretch
from credits.units.rounding import decimal_text

STEPS = 600
"""Into how many parts a strip is drawn: each is as most of its frames are."""
SOLID, HATCHED, DOTTED = 0, 12, 13
"""Patterns of the one accent colour: done, under way, still to come."""
NOTHING = -1
LEAST_LINKED = 7
"""Per cent of the strip below which a sequence is no target for a finger on a telephone."""
Part = tuple[int, int, int]
"""A stretch of the strip, half open, from 1, and its pattern."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A stretch of one sequence on the strip: where it begins and how long it is, of the whole."""

    left: Everyone[str]
    width: Everyone[str]
    label: Crew[str] = ""
    title: Crew[str] = ""
    href: Crew[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The parts of a strip, ready to be written as SVG: where, how wide, in which pattern."""

    said: Everyone[str]
    drawn: Everyone[tuple[tuple[str, str, int], ...]]

    def __html__(self) -> str:
        """Write the parts; a pattern keeps its size however wide the strip is."""
        rects = "".join(
            f'<rect x="{x}" width="{width}" height="100%" fill="url(#w{pattern})"/>'
            for x, width, pattern in self.drawn
        )
        return f'<svg role="img" aria-label="{escape(self.said)}">{rects}</svg>'


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmStrip:
    """The whole film: its sequences, what each part of it is, and what the patterns mean."""

    bands: Everyone[tuple[Band, ...]]
    parts: Everyone[Parts]
    key: Everyone[tuple[tuple[int, str], ...]]


def share_of(frames: int, length: int) -> str:
    """Write a part of the film as a percentage, as fine as a drawing needs it."""
    return f"{100 * frames / max(length, 1):.3f}".rstrip("0").rstrip(".") + "%"


def bands(
    stretches: Iterable[Stretch], length: int, link_of: Callable[[str], Link], least: int = 0
) -> Iterator[Band]:
    """Yield stretches of sequences, each leading to its shots; of no sequence they are plain.

    least: per cent of the length; what is shorter is named and leads nowhere.
    """
    for first, stop, code in stretches:
        place = {"left": share_of(first - 1, length), "width": share_of(stop - first, length)}
        if code:
            link = link_of(code)
            href = link.href if 100 * (stop - first) >= least * length else None
            yield Band(**place, label=code, title=link.text, href=href or "")
        else:
            yield Band(**place)


def parts_drawn(said: str, parts: Iterable[Part], length: int) -> Parts:
    """Draw parts of a strip, however many there are, in no more than ``STEPS`` pieces.

    Where two patterns have as many frames of a step, the one that is still to come is drawn.
    """
    count = max(min(length, STEPS), 1)
    edges = [at * length // count for at in range(count + 1)]
    frames: list[Counter[int]] = [Counter() for _ in range(count)]
    for first, stop, pattern in parts:
        at = bisect_right(edges, first - 1) - 1
        while at < count and edges[at] < stop - 1:
            low, high = max(edges[at], first - 1), min(edges[at + 1], stop - 1)
            frames[at][pattern] += high - low
            at += 1
    for at, own in enumerate(frames):
        own[NOTHING] = edges[at + 1] - edges[at] - own.total()
    shown = [max(own, key=lambda pattern: (own[pattern], pattern)) for own in frames]
    drawn = []
    for pattern, run in groupby(range(count), key=shown.__getitem__):
        steps = list(run)
        if pattern != NOTHING:
            first, stop = edges[steps[0]], edges[steps[-1] + 1]
            drawn.append((share_of(first, length), share_of(stop - first, length), pattern))
    return Parts(said=said, drawn=tuple(drawn))


def said_of(counts: Sequence[tuple[str, int]], of: str) -> str:
    """Say how much of a strip is what, in per cent, for whoever does not see it."""
    whole = sum(count for _, count in counts)
    shares = ((words, Fraction(100 * count, max(whole, 1))) for words, count in counts if count)
    told = (f"{words} {decimal_text(share, 1)} %" for words, share in shares)
    return f"{of}: {', '.join(told)}" if whole else of
