"""Reach: how much of the film a person's hands are in (rule 3.6)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse, chosen_takes
from credits.hands.hands import SpreadOf
from credits.model.ledger import Ledger
from credits.units.frames import Frames, union


@dataclass(frozen=True, slots=True)
class Reach:
    """One person's reach. ``frames``: distinct frames; ``screen_frames`` counts repeats.

    ``in_shots`` holds, for each (shot, take), the frames of it that the person's hands are in and
    that are counted.
    """

    person: str
    frames: int
    screen_frames: int
    characters: frozenset[str]
    in_shots: tuple[tuple[str, int, Frames], ...]

    @property
    def shots(self) -> int:
        """How many shots the person's hands are in."""
        return len({shot for shot, _, _ in self.in_shots})


class _Sums:
    def __init__(self) -> None:
        self.frames: dict[str, int] = defaultdict(int)
        self.screen: dict[str, int] = defaultdict(int)
        self.characters: dict[str, set[str]] = defaultdict(set)
        self.in_shots: dict[str, list[tuple[str, int, Frames]]] = defaultdict(list)


class _Shown:
    """How often a set of a take's frames is shown; many people's frames are the same set."""

    def __init__(self, shot: str, take: int, use: CutUse | None) -> None:
        self._where = (shot, take)
        self._use = use
        self._known: dict[Frames, int] = {}

    def on_screen(self, frames: Frames) -> int:
        if self._use is None:
            return frames.count
        shown = self._known.get(frames)
        if shown is None:
            use, where = self._use, self._where
            shown = sum(use.frames_on_screen(*where, first, stop) for first, stop in frames.ranges)
            self._known[frames] = shown
        return shown


def _add_take(sums: _Sums, spreads: SpreadOf, shot: str, take: int, use: CutUse | None) -> None:
    used = use.used[shot, take] if use is not None else None
    reached: dict[str, set[Frames]] = defaultdict(set)
    inside_of: dict[Frames, Frames] = {}
    for spread in spreads.of_take(shot, take):
        inside = inside_of.get(spread.frames)
        if inside is None:
            inside = spread.frames if used is None else spread.frames & used
            inside_of[spread.frames] = inside
        if inside:
            reached[spread.person].add(inside)
            sums.characters[spread.person].add(spread.character)
    shown = _Shown(shot, take, use)
    for person, sets in reached.items():
        frames = next(iter(sets)) if len(sets) == 1 else union(sets)
        sums.frames[person] += frames.count
        sums.screen[person] += shown.on_screen(frames)
        sums.in_shots[person].append((shot, take, frames))


def reach(
    ledger: Ledger,
    runs: Mapping[tuple[str, int], TakeRuns],
    use: CutUse | None,
    spreads: SpreadOf,
) -> dict[str, Reach]:
    """The reach of everybody whose hands are in the film, by person, in code order.

    In the current cut; without one, over the kept frames of the take that each shot means.
    """
    takes = list(use.used) if use is not None else list(chosen_takes(ledger, runs).items())
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    sums = _Sums()
    for shot, take in sorted(takes, key=lambda key: (place[key[0]], key[1])):
        _add_take(sums, spreads, shot, take, use)
    return {
        person: Reach(
            person,
            sums.frames[person],
            sums.screen[person],
            frozenset(sums.characters[person]),
            tuple(sums.in_shots[person]),
        )
        for person in sorted(sums.frames)
    }
