"""By way of what everybody's hands are in the film: one pass over all hands for a whole site."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from credits.compute.hand import Via
from credits.compute.results import Results
from credits.compute.spread import Spread
from credits.units.frames import Frames, union

OwnFrames = tuple[str, int, Frames]


@dataclass(slots=True)
class Extent:
    """Frames and shots, summed take by take; the takes of one shot come one after the other."""

    frames: int = 0
    shots: int = 0
    last: str = ""

    def add(self, shot: str, frames: int) -> None:
        """Add frames of a take."""
        self.frames += frames
        if shot != self.last:
            self.shots += 1
            self.last = shot


def counted_takes(results: Results) -> list[tuple[str, int, Frames | None]]:
    """The takes that reach counts, in the order of the shots, and the frames of each that count.

    Those of the cut; without one, the take that each shot means, and None: all its frames.
    """
    use = results.use
    takes = list(use.used) if use is not None else list(results.takes.items())
    place = {shot: at for at, shot in enumerate(results.ledger.shots)}
    takes.sort(key=lambda key: (place[key[0]], key[1]))
    return [(shot, take, use.used[shot, take] if use else None) for shot, take in takes]


def _thing(spread: Spread) -> str:
    if spread.via is Via.PUPPET:
        return spread.puppet or ""
    return (spread.part or "") if spread.via is Via.PART else spread.character


def _inside(spreads: Iterable[Spread], used: Frames | None) -> Iterator[tuple[Spread, Frames]]:
    """The hands of a take with their frames that count; hands without any are left out."""
    known: dict[Frames, Frames] = {}
    for spread in spreads:
        frames = known.get(spread.frames)
        if frames is None:
            frames = spread.frames if used is None else spread.frames & used
            known[spread.frames] = frames
        if frames:
            yield spread, frames


def _together(sets: set[Frames]) -> Frames:
    return next(iter(sets)) if len(sets) == 1 else union(sets)


class Ways:
    """What reach counts (rule 3.6), by way of what, by thing and by character."""

    def __init__(self, results: Results) -> None:
        self._by_via: dict[tuple[str, Via], Extent] = defaultdict(Extent)
        self._by_thing: dict[tuple[str, Via, str], Extent] = defaultdict(Extent)
        self._by_character: dict[str, dict[str, list[OwnFrames]]] = {}
        for shot, take, used in counted_takes(results):
            self._add(shot, take, _inside(results.spread_of(shot, take), used))

    def _add(self, shot: str, take: int, hands: Iterable[tuple[Spread, Frames]]) -> None:
        via: dict[tuple[str, Via], set[Frames]] = defaultdict(set)
        things: dict[tuple[str, Via, str], set[Frames]] = defaultdict(set)
        characters: dict[tuple[str, str], set[Frames]] = defaultdict(set)
        for spread, frames in hands:
            via[spread.person, spread.via].add(frames)
            things[spread.person, spread.via, _thing(spread)].add(frames)
            characters[spread.person, spread.character].add(frames)
        for way, sets in via.items():
            self._by_via[way].add(shot, _together(sets).count)
        for thing, sets in things.items():
            self._by_thing[thing].add(shot, _together(sets).count)
        for (person, character), sets in characters.items():
            own = self._by_character.setdefault(person, {})
            own.setdefault(character, []).append((shot, take, _together(sets)))

    def by_via(self, person: str) -> Iterator[tuple[Via, Extent]]:
        """The ways of a person, in the order of directness."""
        for via in Via:
            found = self._by_via.get((person, via))
            if found is not None:
                yield via, found

    def by_thing(self, person: str, via: Via, thing: str) -> Extent:
        """How far somebody's work on a thing reaches; nowhere, where it was never photographed."""
        return self._by_thing.get((person, via, thing)) or Extent()

    def by_character(self, person: str) -> list[tuple[str, list[OwnFrames]]]:
        """The characters that the hands are on, most frames first, with the frames of each take."""
        own: Mapping[str, list[OwnFrames]] = self._by_character.get(person, {})
        return sorted(
            own.items(),
            key=lambda item: (-sum(frames.count for _, _, frames in item[1]), item[0]),
        )
