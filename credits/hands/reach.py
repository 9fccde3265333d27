"""Reach: how much of the film a person's hands are in."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse, chosen_takes
from credits.hands.hands import Hands, Spread, together
from credits.model.ledger import Ledger
from credits.units.frames import Frames


@dataclass(frozen=True, slots=True, kw_only=True)
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
        """Count the shots that the person's hands are in."""
        return len({shot for shot, _, _ in self.in_shots})

    def share_of(self, use: CutUse) -> Fraction:
        """Return the share of the cut's distinct frames; 0 of a cut that uses none."""
        return Fraction(self.frames, use.distinct_frames or 1)


CountedHands = tuple[str, int, list[tuple[Spread, Frames]]]
"""A shot, a take of it, and the hands in it with their frames that are counted."""


def counted_hands(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None, hands: Hands
) -> Iterator[CountedHands]:
    """Find the hands in the film, take by take in the order of the shots.

    Counted are the frames in the cut; without one, the kept frames of the take that each shot
    means. Hands without such frames are left out.
    """
    takes = list(use.used) if use is not None else list(chosen_takes(ledger, runs).items())
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    for shot, take in sorted(takes, key=lambda key: (place[key[0]], key[1])):
        found = hands.of_take(shot, take)
        if use is None:
            yield shot, take, [(hand, hand.frames) for hand in found]
        else:
            used = use.used[shot, take]
            # Many hands are in the same frames of a take.
            inside = {frames: frames & used for frames in {hand.frames for hand in found}}
            yield shot, take, [(hand, own) for hand in found if (own := inside[hand.frames])]


def reach(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None, hands: Hands
) -> dict[str, Reach]:
    """Return the reach of everybody whose hands are in the film, by person, in code order.

    In the current cut; without one, over the kept frames of the take that each shot means.
    """
    screen_frames: Counter[str] = Counter()
    characters: defaultdict[str, set[str]] = defaultdict(set)
    in_shots: defaultdict[str, list[tuple[str, int, Frames]]] = defaultdict(list)
    for shot, take, found in counted_hands(ledger, runs, use, hands):
        reached: defaultdict[str, set[Frames]] = defaultdict(set)
        for hand, inside in found:
            reached[hand.person].add(inside)
            characters[hand.person].add(hand.character)
        shown: dict[Frames, int] = {}
        for person, sets in reached.items():
            frames = together(sets)
            count = shown.get(frames)
            if count is None:
                count = use.frames_on_screen(shot, take, frames) if use else frames.count
                shown[frames] = count
            screen_frames[person] += count
            in_shots[person].append((shot, take, frames))
    return {
        person: Reach(
            person=person,
            frames=sum(frames.count for _, _, frames in own),
            screen_frames=screen_frames[person],
            characters=frozenset(characters[person]),
            in_shots=tuple(own),
        )
        for person, own in sorted(in_shots.items())
    }
