"""Reach: how much of the film a person's hands are in (rule 3.6)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from credits.compute.claims import TakeRuns
from credits.compute.cut_use import CutUse, chosen_takes
from credits.compute.hands import HandsOf
from credits.frames import Frames
from credits.ledger.ledger import Ledger


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


def _add_take(sums: _Sums, hands: HandsOf, shot: str, take: int, use: CutUse | None) -> None:
    reached: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for run in hands.of_take(shot, take):
        if use is None:
            counted, shown = run.stop - run.first, run.stop - run.first
            ranges: tuple[tuple[int, int], ...] = ((run.first, run.stop),)
        else:
            inside = use.used[shot, take] & Frames(((run.first, run.stop),))
            counted, ranges = len(inside), inside.ranges
            shown = use.frames_on_screen(shot, take, run.first, run.stop)
        if not counted:
            continue
        for hand in run.hands:
            sums.characters[hand.person].add(hand.character)
        for person in run.people:
            sums.frames[person] += counted
            sums.screen[person] += shown
            reached[person].extend(ranges)
    for person, own in reached.items():
        sums.in_shots[person].append((shot, take, Frames.of(*own)))


def reach(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None, hands: HandsOf
) -> dict[str, Reach]:
    """The reach of everybody whose hands are in the film, by person, in code order.

    In the current cut; without one, over the kept frames of the take that each shot means.
    """
    takes = list(use.used) if use is not None else list(chosen_takes(ledger, runs).items())
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    sums = _Sums()
    for shot, take in sorted(takes, key=lambda key: (place[key[0]], key[1])):
        _add_take(sums, hands, shot, take, use)
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
