"""Reach: how much of the film a person's hands are in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from credits.footage.claims import TakeRuns, claim_runs, claims_frames
from credits.footage.cut import CutUse, chosen_takes
from credits.hands.hands import Hands, Via, WayInTake, build_target, shots_in_question
from credits.hands.ways import WayRow, Ways, way_rows
from credits.model.facts import Kind
from credits.model.ledger import Entry, Ledger
from credits.units.frames import NO_FRAMES, Frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """One person's reach. ``frames``: distinct frames; ``screen_frames`` counts repeats.

    ``shots``: how many shots the person's hands are in. ``in_shots`` holds, for each (shot, take),
    the frames of it that they are in and that are counted.
    """

    person: str
    frames: int
    screen_frames: int
    characters: frozenset[str]
    shots: int
    in_shots: Sequence[tuple[str, int, Frames]]

    def share_of(self, use: CutUse) -> Fraction:
        """Return the share of the cut's distinct frames; 0 of a cut that uses none."""
        return Fraction(self.frames, use.distinct_frames or 1)


class TakeReach(NamedTuple):
    """The reach of people whose hands in a take are alike: the frames that are counted, and how
    many they are."""

    people: tuple[str, ...]
    frames: Frames
    frame_count: int
    screen_frames: int
    characters: tuple[str, ...]


def counted_takes(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None
) -> list[tuple[str, int]]:
    """Return the takes that are counted, as shot and take, in the order of the shots.

    Those that the cut uses; without a cut, the take that each shot means.
    """
    takes = use.used if use is not None else chosen_takes(ledger, runs).items()
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    return sorted(takes, key=lambda key: (place[key[0]], key[1]))


def reach_in_take(
    shot: str, take: int, use: CutUse | None, hands: Hands
) -> tuple[list[TakeReach], list[WayInTake]]:
    """Return the reach of everybody in one take, and by which ways they reach it: in the frames
    that the cut uses, without a cut in all."""
    used = use.used.get((shot, take), NO_FRAMES) if use is not None else None
    found = []
    in_take, ways = hands.people_of_take(shot, take, used)
    for people, frames, characters in in_take:
        count = frames.count
        on_screen = use.frames_on_screen(shot, take, frames) if use is not None else count
        found.append(TakeReach(people, frames, count, on_screen, characters))
    return found, ways


def reach(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], use: CutUse | None, hands: Hands
) -> tuple[dict[str, Reach], Ways]:
    """Return the reach of everybody whose hands are in the film, by person, in code order; and the
    ways by which they reach it.

    In the current cut; without one, over the kept frames of the take that each shot means.
    """
    by_person: defaultdict[str, list[tuple[str, int, TakeReach]]] = defaultdict(list)
    every: list[WayRow] = []
    for shot, take in counted_takes(ledger, runs, use):
        found, ways = reach_in_take(shot, take, use, hands)
        for own in found:
            here = (shot, take, own)
            for person in own.people:
                by_person[person].append(here)
        every.extend(way_rows(shot, take, ways))
    reached = {
        person: Reach(
            person=person,
            frames=sum(each.frame_count for _, _, each in own),
            screen_frames=sum(each.screen_frames for _, _, each in own),
            characters=frozenset().union(*(each.characters for _, _, each in own)),
            shots=len({shot for shot, _, _ in own}),
            in_shots=tuple([(shot, take, each.frames) for shot, take, each in own]),
        )
        for person, own in sorted(by_person.items())
    }
    return reached, Ways(every)


def shots_reached(ledger: Ledger, entry: Entry) -> frozenset[str]:
    """Find the shots in which an entry's work is seen: it is in kept frames of a take."""
    asked = shots_in_question(ledger, entry)
    sure = frozenset(_shots_surely_reached(ledger, entry)) & asked
    # One by one: no more is looked at of the table of shots than these.
    runs: dict[tuple[str, int], TakeRuns] = {}
    for shot in sorted(asked - sure):
        runs |= claim_runs(ledger, [shot])
    hands = Hands(ledger, runs, (entry,))
    return sure.union(shot for shot, take in runs if hands.of_take(shot, take))


def _shots_surely_reached(ledger: Ledger, entry: Entry) -> Iterator[str]:
    """Find shots in which work on a whole character is, by what is claimed of the character.

    Of frames that are claimed on a day the last claim is kept, which is of that day or later: it
    need not be found out which. Frames that are undated may not be kept at all.
    """
    craft = ledger.crafts[entry.craft]
    is_built = craft.kind is Kind.BUILD
    if is_built:
        if build_target(entry) != (Via.CHARACTER, entry.character):
            return
    elif craft.footage or entry.shot is not None:
        return
    since = entry.day if is_built else None
    for claim in ledger.entries_by_character.get(entry.character or "", ()):
        if since is not None and (claim.day is None or claim.day < since):
            continue
        if claim.shot is not None and claims_frames(ledger, claim):
            yield claim.shot
