"""Sets of whole photographed frames, as ranges.

Inside, a range is half open: ``(first, stop)`` holds ``first .. stop - 1``. For people a range is
written ``first-last``, both ends named: ``1-48``, ``1-20,25-48``, ``17``. Only this module converts
between the two. The cost of every operation follows the number of ranges, never of frames.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, pairwise

from credits.errors import Finding, ProblemsFound

HIGHEST_FRAME = 9_999_999
_RANGE = re.compile(r"^\s*(\d{1,12})\s*(?:[-–—]\s*(\d{1,12})\s*)?$")

Range = tuple[int, int]


def _joined(ranges: Iterable[Range]) -> tuple[Range, ...]:
    out: list[Range] = []
    for first, stop in sorted(ranges):
        if first >= stop:
            continue
        if out and first <= out[-1][1]:
            out[-1] = (out[-1][0], max(stop, out[-1][1]))
        else:
            out.append((first, stop))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class Frames:
    """A set of frame numbers (from 1), kept as sorted, disjoint, non-touching half-open ranges."""

    ranges: tuple[Range, ...] = ()

    @classmethod
    def of(cls, *ranges: Range) -> Frames:
        """Return the set that the half-open ranges make, in any order, overlapping or not."""
        return cls(_joined(ranges))

    @classmethod
    def span(cls, first: int, last: int) -> Frames:
        """Return the frames from ``first`` to ``last``, both named; none when last < first."""
        return cls(((first, last + 1),)) if last >= first else cls()

    @classmethod
    def parse(cls, text: str) -> Frames:
        """Read ``1-20,25-48``. Raises ProblemsFound that says what would be right."""
        ranges: list[Range] = []
        for piece in re.split(r"[,;]", text):
            match = _RANGE.match(piece)
            if match is None:
                what = "is not a list of frames"
                raise ProblemsFound(Finding(what, "Write 1-48, or 1-20,25-48, or 17.", value=text))
            first, last = int(match[1]), int(match[2] or match[1])
            if first < 1:
                raise ProblemsFound(Finding("shot frames count from 1", "Begin at 1.", value=text))
            if last < first:
                hint = f"Write {last}-{first}, or correct the numbers."
                raise ProblemsFound(Finding("a range runs backwards", hint, value=text))
            if last > HIGHEST_FRAME:
                hint = f"The highest frame number is {HIGHEST_FRAME}."
                raise ProblemsFound(Finding("a frame number is too high", hint, value=text))
            ranges.append((first, last + 1))
        return cls(_joined(ranges))

    @property
    def text(self) -> str:
        """Write the set as people do: ``1-20,25-48``; the empty text for no frames."""
        return ",".join(str(a) if b == a + 1 else f"{a}-{b - 1}" for a, b in self.ranges)

    @property
    def shown(self) -> str:
        """Return the ranges as a page shows them: ``1-20, 25-48``."""
        return self.text.replace(",", ", ")

    @property
    def count(self) -> int:
        """Return how many frames there are."""
        return sum(stop - first for first, stop in self.ranges)

    def __bool__(self) -> bool:
        return bool(self.ranges)

    def __contains__(self, frame: object) -> bool:
        if not isinstance(frame, int):
            return False
        at = bisect_right(self.ranges, (frame, HIGHEST_FRAME + 2)) - 1
        return at >= 0 and self.ranges[at][0] <= frame < self.ranges[at][1]

    @property
    def first(self) -> int:
        """Return the lowest frame. Raises IndexError when the set is empty."""
        return self.ranges[0][0]

    @property
    def last(self) -> int:
        """Return the highest frame. Raises IndexError when the set is empty."""
        return self.ranges[-1][1] - 1

    def __or__(self, other: Frames) -> Frames:
        return Frames(_joined((*self.ranges, *other.ranges)))

    def __and__(self, other: Frames) -> Frames:
        out: list[Range] = []
        mine, theirs = self.ranges, other.ranges
        i = j = 0
        while i < len(mine) and j < len(theirs):
            first = max(mine[i][0], theirs[j][0])
            stop = min(mine[i][1], theirs[j][1])
            if first < stop:
                out.append((first, stop))
            if mine[i][1] <= theirs[j][1]:
                i += 1
            else:
                j += 1
        return Frames(tuple(out))

    def __sub__(self, other: Frames) -> Frames:
        if not self:
            return self
        edges = (self.first, *chain.from_iterable(other.ranges), self.last + 1)
        return self & Frames(tuple(zip(edges[::2], edges[1::2], strict=True)))

    def shared_with(self, other: Frames) -> int:
        """Count the frames that are in both sets."""
        count = 0
        for first, stop in other.ranges:
            at = max(bisect_right(self.ranges, (first, HIGHEST_FRAME + 2)) - 1, 0)
            while at < len(self.ranges) and self.ranges[at][0] < stop:
                low, high = self.ranges[at]
                count += max(min(high, stop) - max(low, first), 0)
                at += 1
        return count

    def from_frame(self, frame: int) -> Frames:
        """Return the frames of the set at or after ``frame``."""
        return self & Frames(((frame, HIGHEST_FRAME + 2),))


NO_FRAMES = Frames()


def union(sets: Iterable[Frames]) -> Frames:
    """Return the frames that are in any of the sets."""
    return Frames(_joined(r for frames in sets for r in frames.ranges))


def common_runs(sets: Iterable[Frames]) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Cut the frames where any set begins or ends: runs in which the same sets hold.

    Yields ``(first, stop, members)``, half open, in order; ``members`` are the positions of the
    sets that hold the run, ascending; runs that no set holds are left out. n ranges make at most
    2n - 1 runs.
    """
    edges = sorted(
        (edge, position)
        for position, frames in enumerate(sets)
        for edge in chain.from_iterable(frames.ranges)
    )
    active: set[int] = set()
    for (first, position), (stop, _) in pairwise(edges):
        active ^= {position}
        if active and stop > first:
            yield first, stop, tuple(sorted(active))
