"""What is seen in a take: each character with its puppets and parts, in which frames, of which day.

A take is cut into stretches wherever anything in it begins or ends. A set of its frames is then a
whole number with a bit for each stretch: joined by ``|``, shared by ``&``, at a cost that follows
the entries, never the frames.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import accumulate, chain
from operator import or_

from credits.footage.claims import TakeRuns
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.units.frames import NO_FRAMES, Frames, Range

Stretches = int
"""A set of the frames of one take: a bit for each of its stretches."""


class FrameSets:
    """The stretches of a take, and the frames that sets of them are.

    edges: where anything begins or ends, as half-open ranges.
    """

    def __init__(self, edges: Iterable[Range]) -> None:
        self._edges = sorted(set(chain.from_iterable(edges)))
        self._places = {edge: place for place, edge in enumerate(self._edges)}
        self._frames: dict[Stretches, Frames] = {0: NO_FRAMES}

    def of(self, ranges: Iterable[Range]) -> Stretches:
        """Return the set of these frames. KeyError where one begins or ends inside a stretch."""
        found, places = 0, self._places
        for first, stop in ranges:
            found |= (1 << places[stop]) - (1 << places[first])
        return found

    @property
    def every(self) -> Stretches:
        """Return the set of all stretches."""
        return (1 << len(self._edges)) - 1

    def frames(self, stretches: Stretches) -> Frames:
        """Return the frames of a set; equal sets are one and the same object."""
        known = self._frames.get(stretches)
        if known is None:
            known = self._frames[stretches] = Frames(tuple(self._ranges(stretches)))
        return known

    def _ranges(self, left: Stretches) -> Iterator[Range]:
        while left:
            # Adding its lowest bit to a row of bits leaves the one behind the row.
            lowest = left & -left
            left += lowest
            behind = left & -left
            left ^= behind
            yield self._edges[lowest.bit_length() - 1], self._edges[behind.bit_length() - 1]


class FramesByDay:
    """Frames of something by their day. Undated frames take in everything that was ever built."""

    def __init__(self) -> None:
        self._dated: defaultdict[date | None, Stretches] = defaultdict(int)
        self._days: list[date] = []
        self._since: list[Stretches] = []

    def add(self, day: date | None, stretches: Stretches) -> None:
        """Add frames of a day."""
        self._dated[day] |= stretches
        self._since = []

    def items(self) -> Iterable[tuple[date | None, Stretches]]:
        """Return the frames of each day."""
        return self._dated.items()

    def since(self, day: date | None) -> Stretches:
        """Return the frames dated on or after a day, and the undated ones; None: all frames."""
        if not self._since:
            self._days = sorted(day for day in self._dated if day is not None)
            latest = (self._dated[each] for each in reversed(self._days))
            self._since = [*accumulate(latest, or_, initial=self._dated.get(None, 0))][::-1]
        return self._since[0 if day is None else bisect_left(self._days, day)]


class SeenCharacter:
    """A character in a take: its kept frames by day, with the puppets and the parts that are seen.

    claimed: the frames that each claiming entry keeps.
    """

    def __init__(self) -> None:
        self.frames = FramesByDay()
        self.puppets: defaultdict[str, FramesByDay] = defaultdict(FramesByDay)
        self.parts: defaultdict[str, FramesByDay] = defaultdict(FramesByDay)
        self.claimed: defaultdict[EntryNumber, Stretches] = defaultdict(int)


class SeenInTake:
    """Every character in a take, over one cutting of the take into stretches.

    also: frames that are asked about beside those that are claimed and shown.
    """

    def __init__(self, ledger: Ledger, own: TakeRuns, also: Iterable[Frames] = ()) -> None:
        runs = own.kept_runs
        shown = [
            replacement
            for replacement in ledger.replacements_by_shot.get(own.shot, ())
            if replacement.take in (None, own.take)
        ]
        asked = (*(replacement.frames for replacement in shown), *also)
        edges = (range_ for frames in asked for range_ in frames.ranges)
        self.sets = FrameSets(chain(((first, stop) for first, stop, _ in runs), edges))
        self.characters: defaultdict[str, SeenCharacter] = defaultdict(SeenCharacter)
        for first, stop, layers in runs:
            here = self.sets.of(((first, stop),))
            for character, day, claims in layers:
                seen = self.characters[character]
                seen.frames.add(day, here)
                for claim in claims:
                    for puppet in claim.puppets:
                        seen.puppets[puppet].add(day, here)
                    for number in claim.entries:
                        seen.claimed[number] |= here
        for seen in self.characters.values():
            _add_fitted(ledger, seen)
        for replacement in shown:
            if replacement.character in self.characters:
                seen = self.characters[replacement.character]
                inside = self.sets.of(replacement.frames.ranges)
                for day, frames in seen.frames.items():
                    if frames & inside:
                        seen.parts[replacement.part].add(day, frames & inside)


def _add_fitted(ledger: Ledger, seen: SeenCharacter) -> None:
    for puppet, dated in seen.puppets.items():
        for fitting in ledger.fittings_of_puppet.get(puppet, ()):
            for day, frames in dated.items():
                if day is None or fitting.holds_on(day):
                    seen.parts[fitting.part].add(day, frames)
