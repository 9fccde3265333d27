"""Hands: everybody whose work is in a given frame, directly or through the puppet (rule 3.6)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from credits.compute.hand import Hand, HandOrder, HandRun, Via
from credits.compute.hand_index import HandIndex
from credits.footage.claims import Layer, Run, TakeRuns
from credits.model.facts import EntryNumber, Fitting, Replacement
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames, common_runs

__all__ = ["Hand", "HandRun", "HandsOf"]


def _gathered(
    entries: Iterable[Entry], character: str, via: Via, puppet: str | None, part: str | None
) -> tuple[Hand, ...]:
    groups: dict[tuple[str, str], list[Entry]] = defaultdict(list)
    for entry in entries:
        groups[entry.person, entry.craft].append(entry)
    return tuple(
        Hand(
            person,
            craft,
            character,
            via,
            puppet,
            part,
            tuple(sorted(entry.number for entry in own)),
            min((entry.day for entry in own if entry.day is not None), default=None),
        )
        for (person, craft), own in groups.items()
    )


class HandsOf:
    """Answers whose hands are in which frames of the production's takes.

    Holds indexes and remembers answers; two of them made from the same ledger answer alike.
    """

    def __init__(self, ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]) -> None:
        self._ledger = ledger
        self._runs = runs
        self._order = HandOrder(ledger)
        self._index = HandIndex(ledger)
        self._takes: dict[tuple[str, int], tuple[HandRun, ...]] = {}
        self._built: dict[tuple[str, date | None, frozenset[str]], tuple[Hand, ...]] = {}
        self._on_part: dict[tuple[str, str, date | None], tuple[Hand, ...]] = {}
        self._of_part_in_character: dict[tuple[str, str | None], tuple[Hand, ...]] = {}

    # -- what is the same for every frame of a shot -------------------------------------------

    def _wide_hands(self, character: str, sequence: str | None) -> tuple[Hand, ...]:
        key = (character, sequence)
        hands = self._of_part_in_character.get(key)
        if hands is None:
            whole = self._index.wide.get((character, None), [])
            own = self._index.wide.get((character, sequence), []) if sequence is not None else []
            hands = (
                *_gathered(own, character, Via.SEQUENCE, None, None),
                *_gathered(whole, character, Via.CHARACTER, None, None),
            )
            self._of_part_in_character[key] = hands
        return hands

    # -- what was built -----------------------------------------------------------------------

    def _built_on(self, via: Via, code: str, day: date | None) -> list[Entry]:
        """Build entries on a thing, dated on or before the day, or undated; day None: all."""
        found = self._index.builds.get((via, code), [])
        if day is None:
            return found
        return [entry for entry in found if entry.day is None or entry.day <= day]

    def _part_hands(self, part: str, character: str, day: date | None) -> tuple[Hand, ...]:
        key = (part, character, day)
        hands = self._on_part.get(key)
        if hands is None:
            entries = self._built_on(Via.PART, part, day)
            hands = self._on_part[key] = _gathered(entries, character, Via.PART, None, part)
        return hands

    def _fitted(self, puppet: str, day: date | None) -> Iterable[Fitting]:
        for fitting in self._ledger.fittings_of_puppet.get(puppet, ()):
            if day is None or fitting.holds_on(day):
                yield fitting

    def _build_hands(
        self, character: str, day: date | None, puppets: frozenset[str]
    ) -> tuple[Hand, ...]:
        key = (character, day, puppets)
        hands = self._built.get(key)
        if hands is None:
            found: list[Hand] = []
            for puppet in sorted(puppets):
                entries = self._built_on(Via.PUPPET, puppet, day)
                found.extend(_gathered(entries, character, Via.PUPPET, puppet, None))
            parts = {f.part for puppet in puppets for f in self._fitted(puppet, day)}
            for part in sorted(parts):
                found.extend(self._part_hands(part, character, day))
            entries = self._built_on(Via.CHARACTER, character, day)
            found.extend(_gathered(entries, character, Via.CHARACTER, None, None))
            hands = self._built[key] = tuple(found)
        return hands

    # -- one layer of one run ------------------------------------------------------------------

    def _frame_hands(self, layer: Layer) -> Iterable[Hand]:
        for claim in layer.claims:
            crafts: dict[str, list[EntryNumber]] = defaultdict(list)
            for number in claim.entries:
                crafts[self._index.craft_of[number]].append(number)
            for craft, numbers in crafts.items():
                yield Hand(
                    claim.person,
                    craft,
                    layer.character,
                    Via.FRAME,
                    min(claim.puppets, default=None),
                    None,
                    tuple(numbers),
                    layer.day,
                )

    def _shown(self, shot: str, take: int) -> list[Replacement]:
        return [
            shown
            for shown in self._ledger.replacements_by_shot.get(shot, ())
            if shown.take in (None, take)
        ]

    def of_take(self, shot: str, take: int) -> tuple[HandRun, ...]:
        """The hands of every claimed frame of a take, in runs, in frame order."""
        known = self._takes.get((shot, take))
        if known is None:
            known = self._takes[shot, take] = self._of_take(shot, take)
        return known

    def _of_take(self, shot: str, take: int) -> tuple[HandRun, ...]:
        own = self._runs.get((shot, take))
        if own is None:
            return ()
        entries = self._index.performed_on(shot, take)
        shown = self._shown(shot, take)
        sequence = self._ledger.shots[shot].sequence
        sets = [
            *(Frames(((run.first, run.stop),)) for run in own.runs),
            *(entry.frames or Frames() for entry in entries),
            *(replacement.frames for replacement in shown),
        ]
        runs, e = len(own.runs), len(entries)
        found: list[HandRun] = []
        for first, stop, members in common_runs(sets):
            if not members or members[0] >= runs:
                continue
            here = [entries[m - runs] for m in members if runs <= m < runs + e]
            parts = [shown[m - runs - e] for m in members if m >= runs + e]
            hands = self._of_run(own.runs[members[0]], sequence, here, parts)
            if found and found[-1].stop == first and found[-1].hands == hands:
                found[-1] = HandRun(found[-1].first, stop, hands)
            else:
                found.append(HandRun(first, stop, hands))
        return tuple(found)

    def _of_run(
        self, run: Run, sequence: str, here: list[Entry], shown: list[Replacement]
    ) -> tuple[Hand, ...]:
        hands: dict[tuple[str, str, str, Via, str | None, str | None], Hand] = {}
        for layer in run.kept:
            character = layer.character
            on_shot = [entry for entry in here if entry.character == character]
            parts = sorted({r.part for r in shown if r.character == character})
            for hand in (
                *self._frame_hands(layer),
                *_gathered(on_shot, character, Via.SHOT, None, None),
                *self._wide_hands(character, sequence),
                *self._build_hands(character, layer.day, layer.puppets),
                *(h for part in parts for h in self._part_hands(part, character, layer.day)),
            ):
                key = (hand.character, hand.craft, hand.person, hand.via, hand.puppet, hand.part)
                hands.setdefault(key, hand)
        return tuple(sorted(hands.values(), key=self._order))
