"""Claims: who animated which character in which frames, on which day.

The claims of a take are cut where any of them begins or ends. In the runs that result the same
people claim the same characters on the same days, so every figure of a run is its length times a
fraction. Cost follows entries, never frames.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from operator import attrgetter
from typing import NamedTuple

from credits.model.facts import EntryNumber, Purpose
from credits.model.ledger import BriefEntry, Ledger
from credits.units.frames import Frames, Range
from credits.units.rounding import Exact

_NO_PUPPETS: frozenset[str] = frozenset()


class Claim(NamedTuple):
    """One person's claim in a run: the portion of each frame (the portions of a layer sum to 1)."""

    person: str
    portion: Exact
    entries: tuple[EntryNumber, ...]
    puppets: frozenset[str]
    stage: str | None


class Layer(NamedTuple):
    """One character on one day in a run. ``day`` None: undated, earlier than every day."""

    character: str
    day: date | None
    claims: tuple[Claim, ...]

    @property
    def puppets(self) -> frozenset[str]:
        """Return the copies that the day's claims name."""
        return frozenset[str]().union(*(claim.puppets for claim in self.claims))


class Run(NamedTuple):
    """Frames ``first .. stop - 1`` of a take: every layer, and the kept one of each character.

    Runs that share a layer hold one and the same object.
    """

    first: int
    stop: int
    layers: tuple[Layer, ...]
    kept: tuple[Layer, ...]

    @property
    def length(self) -> int:
        """Return how many frames the run has."""
        return self.stop - self.first

    @property
    def frames(self) -> Frames:
        """Return the frames of the run."""
        return Frames(((self.first, self.stop),))


class KeptRun(NamedTuple):
    """Frames ``first .. stop - 1`` of a take in which the same layers are kept."""

    first: int
    stop: int
    layers: tuple[Layer, ...]


@dataclass(frozen=True)
class TakeRuns:
    """All claimed frames of one take, in order; frames that nobody claimed are in no run."""

    shot: str
    take: int
    runs: tuple[Run, ...]

    @property
    def claimed(self) -> Frames:
        """Return the frames that anybody claimed."""
        return Frames.of(*((run.first, run.stop) for run in self.runs))

    def kept_of(self, character: str) -> Frames:
        """Return the frames in which the character has a kept claim."""
        runs = (run for run in self.runs if any(each.character == character for each in run.kept))
        return Frames.of(*((run.first, run.stop) for run in runs))

    @property
    def kept_by_character(self) -> dict[str, Frames]:
        """Return the frames in which each character has a kept claim, the first one first."""
        ranges: dict[str, list[Range]] = defaultdict(list)
        for first, stop, layers in self.kept_runs:
            for layer in layers:
                ranges[layer.character].append((first, stop))
        return {character: Frames.of(*own) for character, own in ranges.items()}

    @cached_property
    def kept_runs(self) -> list[KeptRun]:
        """Return the runs without regard to what was photographed over: fewer and longer ones."""
        found: list[KeptRun] = []
        for first, stop, _, kept in self.runs:
            if found and found[-1].layers is kept and found[-1].stop == first:
                first = found.pop().first
            found.append(KeptRun(first, stop, kept))
        return found

    @property
    def kept_frames(self) -> list[tuple[Layer, int]]:
        """Return how many frames of each layer are kept.

        Runs that share a layer share the object, so layers are told apart by their identity.
        """
        layers: dict[int, Layer] = {}
        frames: dict[int, int] = defaultdict(int)
        for first, stop, kept in self.kept_runs:
            for layer in kept:
                layers[id(layer)] = layer
                frames[id(layer)] += stop - first
        return [(layer, frames[key]) for key, layer in layers.items()]


def claims_frames(ledger: Ledger, entry: BriefEntry) -> bool:
    """Tell whether an entry makes a claim: a footage craft, a character, a shot, a shoot take."""
    return _names_frames(ledger, entry) and _is_claimed(ledger, entry.shot, entry.take)


class Animated(NamedTuple):
    """The kept frames of a character in a take that one person animated in one craft."""

    person: str
    shot: str
    take: int
    craft: str
    character: str
    frames: Frames


def animated_in(ledger: Ledger, own: TakeRuns) -> list[Animated]:
    """Return who animated the kept frames of a take, by person, craft and character."""
    entries = ledger.entries_by_shot.get(own.shot, ())
    crafts = {entry.number: entry.craft for entry in entries}
    found: defaultdict[tuple[str, str, str], list[Range]] = defaultdict(list)
    for first, stop, layers in own.kept_runs:
        for character, _, claims in layers:
            for claim in claims:
                for craft in {crafts[number] for number in claim.entries}:
                    found[claim.person, craft, character].append((first, stop))
    return [
        Animated(person, own.shot, own.take, craft, character, Frames.of(*ranges))
        for (person, craft, character), ranges in sorted(found.items())
    ]


class Handled(NamedTuple):
    """The kept frames of a take in which a puppet is seen that one person moved on one day."""

    puppet: str
    shot: str
    take: int
    person: str
    day: date | None
    frames: Frames


def handled_in(own: TakeRuns) -> list[Handled]:
    """Return which puppets are seen in the kept frames of a take, by puppet, person and day."""
    found: defaultdict[tuple[str, str, date | None], list[Range]] = defaultdict(list)
    for first, stop, layers in own.kept_runs:
        for _, day, claims in layers:
            for claim in claims:
                for puppet in claim.puppets:
                    found[puppet, claim.person, day].append((first, stop))
    every = [
        Handled(puppet, own.shot, own.take, person, day, Frames.of(*ranges))
        for (puppet, person, day), ranges in found.items()
    ]
    return sorted(every, key=lambda each: (each.puppet, each.person, each.day or date.min))


def _names_frames(ledger: Ledger, entry: BriefEntry) -> bool:
    if entry.shot is None or entry.character is None or not entry.frames or entry.take is None:
        return False
    return ledger.is_footage(entry)


def _is_claimed(ledger: Ledger, shot: str | None, take: int | None) -> bool:
    return ledger.purpose_in(shot, take) is Purpose.SHOOT


def _claim(own: Sequence[BriefEntry], portion: Exact) -> Claim:
    """One person's claim; the stage is that of the largest share, of equals of the earliest."""
    if len(own) == 1:
        (one,) = own
        puppets = _NO_PUPPETS if one.puppet is None else frozenset((one.puppet,))
        return Claim(one.person, portion, (one.number,), puppets, one.stage)
    own = sorted(own, key=lambda each: (-(each.share or 1), each.number))
    return Claim(
        own[0].person,
        portion,
        tuple(sorted([each.number for each in own])),
        frozenset([each.puppet for each in own if each.puppet is not None]),
        next((each.stage for each in own if each.stage is not None), None),
    )


def _layer(character: str, own: Sequence[BriefEntry]) -> Layer:
    """The day's claimants of a run. Entries of one person are one claim, with the largest share."""
    if len(own) == 1:
        return Layer(character, own[0].day, (_claim(own, 1),))
    by_person: dict[str, list[BriefEntry]] = defaultdict(list)
    for each in own:
        by_person[each.person].append(each)
    of_each = [by_person[person] for person in sorted(by_person)]
    portions = _portions(*[max([each.share or 1 for each in entries]) for entries in of_each])
    return Layer(character, own[0].day, tuple(map(_claim, of_each, portions)))


@lru_cache(maxsize=65536)
def _portions(*shares: Exact) -> tuple[Exact, ...]:
    """Divide one among shares; in a log the same few shares come again and again."""
    total = sum(shares)
    return tuple([Fraction(share) / total for share in shares]) if len(shares) > 1 else (1,)


class _Layers:
    """The layers at one place of a take, as its entries begin and end.

    What changes from place to place is one entry, so one layer is looked at. Layers stand in the
    order of character and day: each has its place among all that the take ever has.
    """

    def __init__(self, entries: Sequence[BriefEntry]) -> None:
        self._entries = entries
        keys = [(each.character or "", each.day or date.min) for each in entries]
        layers = sorted(set(keys))
        places = {key: place for place, key in enumerate(layers)}
        self._place_of = [places[key] for key in keys]
        self._characters = [character for character, _ in layers]
        self._members: list[list[int]] = [[] for _ in layers]
        self._known: dict[tuple[int, ...], Layer] = {}
        self._places: list[int] = []
        self._layers: list[Layer] = []
        self._kept: tuple[Layer, ...] = ()

    def turn(self, position: int) -> None:
        """Begin or end the entry at a position."""
        place = self._place_of[position]
        members = self._members[place]
        at = bisect_left(self._places, place)
        if members:
            del self._places[at], self._layers[at]
        if position in members:
            members.remove(position)
        else:
            insort(members, position)
        if members:
            self._places.insert(at, place)
            self._layers.insert(at, self._layer_of(place, tuple(members)))

    def _layer_of(self, place: int, members: tuple[int, ...]) -> Layer:
        layer = self._known.get(members)
        if layer is None:
            own = [self._entries[member] for member in members]
            layer = self._known[members] = _layer(self._characters[place], own)
        return layer

    def run(self, first: int, stop: int) -> Run:
        """Return the run of these frames. What is kept of a character is its latest layer."""
        latest = {layer[0]: layer for layer in self._layers}
        kept = tuple(latest.values())
        if kept != self._kept:
            self._kept = kept
        return Run(first, stop, tuple(self._layers), self._kept)

    def __bool__(self) -> bool:
        return bool(self._layers)


_number = attrgetter("number")


def runs_of_take(entries: Iterable[BriefEntry]) -> tuple[Run, ...]:
    """Return the runs that the claiming entries of one take make, in frame order."""
    ordered = sorted(entries, key=_number)
    edges = sorted(
        (edge, position)
        for position, each in enumerate(ordered)
        for frames in (each.frames.ranges if each.frames is not None else ())
        for edge in frames
    )
    layers = _Layers(ordered)
    runs = []
    for (first, position), (stop, _) in pairwise(edges):
        layers.turn(position)
        if stop > first and layers:
            runs.append(layers.run(first, stop))
    return tuple(runs)


def claim_runs(
    ledger: Ledger, shots: Iterable[str] | None = None
) -> dict[tuple[str, int], TakeRuns]:
    """Return the runs of every take that has claims, by (shot, take), in the order of the shots.

    ``shots``: only their takes; None: those of all shots.
    """
    wanted = None if shots is None else frozenset(shots)
    found: dict[tuple[str, int], TakeRuns] = {}
    # Of a single shot no other one is looked at.
    is_one = wanted is not None and len(wanted) == 1
    for shot in wanted if is_one and wanted is not None else ledger.shots:
        if wanted is not None and (shot not in wanted or shot not in ledger.shots):
            continue
        by_take: dict[int, list[BriefEntry]] = defaultdict(list)
        for entry in ledger.entries_by_shot.get(shot, ()):
            if _names_frames(ledger, entry):
                by_take[entry.take or 1].append(entry)
        for take in sorted(by_take):
            if _is_claimed(ledger, shot, take):
                found[shot, take] = TakeRuns(shot, take, runs_of_take(by_take[take]))
    return found
