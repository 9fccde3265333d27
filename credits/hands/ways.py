"""By which ways a person's work is in the film: by the frames themselves, a puppet, a part."""

from __future__ import annotations

from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property, lru_cache
from itertools import chain
from typing import NamedTuple

from credits.hands.hands import Via, WayInTake
from credits.units.frames import NO_FRAMES, Frames

_frames_of = lru_cache(maxsize=4096)(Frames.parse)


class WayRow(NamedTuple):
    """People whose work is in the same frames of a take by the same way, as it is kept.

    via, thing: as in ``WayInTake``; no via: empty. ranges: the frames, where they are in a
    character; elsewhere it is enough how many they are.
    """

    shot: str
    take: int
    via: str
    thing: str
    ranges: str
    frames: int
    people: tuple[str, ...]


def way_rows(shot: str, take: int, ways: Iterable[WayInTake]) -> Iterator[WayRow]:
    """Yield the ways into one take as they are kept."""
    for via, thing, people, frames in ways:
        ranges = "" if via else frames.text
        yield WayRow(shot, take, via.value if via else "", thing, ranges, frames.count, people)


OwnFrames = tuple[str, int, Frames]
"""A shot, a take, and frames of it."""


class PersonWays:
    """The ways of one person."""

    def __init__(self, rows: Iterable[WayRow]) -> None:
        self._frames: defaultdict[tuple[str, str], dict[str, int]] = defaultdict(dict)
        self._by_character: defaultdict[str, list[OwnFrames]] = defaultdict(list)
        for shot, take, via, thing, ranges, count, _ in rows:
            if via:
                in_shots = self._frames[via, thing]
                in_shots[shot] = in_shots.get(shot, 0) + count
            else:
                self._by_character[thing].append((shot, take, _frames_of(ranges) or NO_FRAMES))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, PersonWays):
            return NotImplemented
        return (self._frames, self._by_character) == (other._frames, other._by_character)

    __hash__ = None  # type: ignore[assignment]

    def reach(self, via: Via, thing: str = "") -> Mapping[str, int]:
        """Return the frames in each shot that work on a thing, or on any such thing, reaches."""
        return self._frames.get((via.value, thing), {})

    def by_character(self) -> list[tuple[str, list[OwnFrames]]]:
        """Return the characters that the hands are on, most frames first, each with its takes."""
        own = self._by_character.items()
        return sorted(own, key=lambda item: (-sum(f.count for _, _, f in item[1]), item[0]))


class Ways:
    """The ways of everybody. rows: in the order of the shots."""

    def __init__(self, rows: Sequence[WayRow]) -> None:
        self._rows = rows

    @cached_property
    def _places(self) -> Mapping[tuple[str, ...], array[int]]:
        """The places of the rows by their people: many rows are of the same."""
        places: defaultdict[tuple[str, ...], array[int]] = defaultdict(lambda: array("I"))
        for at, row in enumerate(self._rows):
            places[row.people].append(at)
        return places

    @cached_property
    def _together(self) -> Mapping[str, list[tuple[str, ...]]]:
        """The people together with whom each person stands in rows."""
        found: defaultdict[str, list[tuple[str, ...]]] = defaultdict(list)
        for people in self._places:
            for person in people:
                found[person].append(people)
        return found

    def of(self, person: str) -> PersonWays:
        """Return the ways of one person."""
        own = chain.from_iterable(map(self._places.__getitem__, self._together.get(person, ())))
        return PersonWays([self._rows[at] for at in sorted(own)])
