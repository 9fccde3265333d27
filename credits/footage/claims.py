"""Claims: who animated which character in which frames, on which day.

The claims of a take are cut where any of them begins or ends. In the runs that result the same
people claim the same characters on the same days, so every figure of a run is its length times a
fraction. Cost follows entries, never frames.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from credits.model.facts import EntryNumber, Purpose
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames, common_runs, union
from credits.units.rounding import Exact


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One person's claim in a run: the portion of each frame (the portions of a layer sum to 1)."""

    person: str
    portion: Exact
    entries: tuple[EntryNumber, ...]
    puppets: frozenset[str]
    stage: str | None


@dataclass(frozen=True, slots=True)
class Layer:
    """One character on one day in a run. ``day`` None: undated, earlier than every day."""

    character: str
    day: date | None
    claims: tuple[Claim, ...]

    @property
    def puppets(self) -> frozenset[str]:
        """Return the copies that the day's claims name."""
        return frozenset[str]().union(*(claim.puppets for claim in self.claims))


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Frames ``first .. stop - 1`` of a take: every layer, and the kept one of each character."""

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


@dataclass(frozen=True, slots=True)
class TakeRuns:
    """All claimed frames of one take, in order; frames that nobody claimed are in no run."""

    shot: str
    take: int
    runs: tuple[Run, ...]

    @property
    def claimed(self) -> Frames:
        """Return the frames that anybody claimed."""
        return union(run.frames for run in self.runs)

    def kept_of(self, character: str) -> Frames:
        """Return the frames in which the character has a kept claim."""
        runs = (run for run in self.runs if any(each.character == character for each in run.kept))
        return union(run.frames for run in runs)


def claims_frames(ledger: Ledger, entry: Entry) -> bool:
    """Tell whether an entry makes a claim: a footage craft, a character, a shot, a shoot take."""
    if entry.shot is None or entry.character is None or not entry.frames or entry.take is None:
        return False
    return ledger.is_footage(entry) and ledger.purpose(entry) is Purpose.SHOOT


def _layer(character: str, day: date | None, entries: Iterable[Entry]) -> Layer:
    """The day's claimants of a run. Entries of one person are one claim, with the largest share."""
    by_person: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_person[entry.person].append(entry)
    shares = {
        person: max(entry.work.share or Fraction(1) for entry in own)
        for person, own in by_person.items()
    }
    total = sum(shares.values())
    claims = []
    for person, share in sorted(shares.items()):
        own = sorted(by_person[person], key=lambda e: (-(e.work.share or 1), e.number))
        claims.append(
            Claim(
                person=person,
                portion=share / total if len(shares) > 1 else 1,
                entries=tuple(sorted(entry.number for entry in own)),
                puppets=frozenset(entry.puppet for entry in own if entry.puppet is not None),
                stage=next((entry.stage for entry in own if entry.stage is not None), None),
            )
        )
    return Layer(character, day, tuple(claims))


class _Layers:
    """Layers by who makes them up: neighbouring runs mostly share theirs."""

    def __init__(self, entries: tuple[Entry, ...]) -> None:
        self._entries = entries
        self._keys = [(e.character or "", e.day or date.min) for e in entries]
        self._known: dict[tuple[int, ...], Layer] = {}

    def of(self, members: tuple[int, ...]) -> tuple[tuple[Layer, ...], tuple[Layer, ...]]:
        groups: dict[tuple[str, date], list[int]] = defaultdict(list)
        for member in members:
            groups[self._keys[member]].append(member)
        layers: list[Layer] = []
        latest: dict[str, Layer] = {}
        for key in sorted(groups):
            group = tuple(groups[key])
            layer = self._known.get(group)
            if layer is None:
                own = [self._entries[member] for member in group]
                layer = self._known[group] = _layer(key[0], own[0].day, own)
            layers.append(layer)
            latest[key[0]] = layer
        return tuple(layers), tuple(latest.values())


def runs_of_take(entries: Iterable[Entry]) -> tuple[Run, ...]:
    """Return the runs that the claiming entries of one take make, in frame order."""
    ordered = tuple(sorted(entries, key=lambda entry: entry.number))
    layers = _Layers(ordered)
    runs = []
    for first, stop, members in common_runs(entry.frames or Frames() for entry in ordered):
        every, kept = layers.of(members)
        runs.append(Run(first=first, stop=stop, layers=every, kept=kept))
    return tuple(runs)


def claim_runs(
    ledger: Ledger, shots: Iterable[str] | None = None
) -> dict[tuple[str, int], TakeRuns]:
    """Return the runs of every take that has claims, by (shot, take), in the order of the shots.

    ``shots``: only their takes; None: those of all shots.
    """
    wanted = ledger.shots.keys() if shots is None else ledger.shots.keys() & shots
    by_take: dict[tuple[str, int], list[Entry]] = defaultdict(list)
    for shot in wanted:
        for entry in ledger.entries_by_shot.get(shot, ()):
            if claims_frames(ledger, entry):
                by_take[shot, entry.take or 1].append(entry)
    in_order = {shot: place for place, shot in enumerate(ledger.shots)}
    keys = sorted(by_take, key=lambda key: (in_order[key[0]], key[1]))
    return {key: TakeRuns(*key, runs_of_take(by_take[key])) for key in keys}
