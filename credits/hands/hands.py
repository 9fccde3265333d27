"""Everybody whose work is in a frame, directly or through the puppet."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from credits.footage.claims import Layer, Run, TakeRuns
from credits.model.facts import EntryNumber, Fitting, Kind, Replacement
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames, Range, common_runs


class Via(StrEnum):
    """By way of what a hand is in a frame."""

    FRAME = "frame"
    SHOT = "shot"
    SEQUENCE = "sequence"
    CHARACTER = "character"
    PUPPET = "puppet"
    PART = "part"


class HandLike(Protocol):
    """What tells where a hand stands among others."""

    @property
    def person(self) -> str: ...
    @property
    def craft(self) -> str: ...
    @property
    def character(self) -> str: ...
    @property
    def via(self) -> Via: ...
    @property
    def puppet(self) -> str | None: ...
    @property
    def part(self) -> str | None: ...


_VIA_ORDER = {via: place for place, via in enumerate(Via)}


@dataclass(frozen=True, slots=True)
class Hand:
    """One person's craft in a frame, by way of what, and the entries that say so."""

    person: str
    craft: str
    character: str
    via: Via
    puppet: str | None
    part: str | None
    entries: tuple[EntryNumber, ...]
    since: date | None


@dataclass(frozen=True, slots=True)
class HandRun:
    """Frames ``first .. stop - 1`` of a take, in all of which the same hands are."""

    first: int
    stop: int
    hands: tuple[Hand, ...]

    @property
    def people(self) -> frozenset[str]:
        """Everybody whose hands are in these frames."""
        return frozenset(hand.person for hand in self.hands)


def build_target(entry: Entry) -> tuple[Via, str] | None:
    """What a build entry was done on: the most particular thing it names."""
    if entry.part is not None:
        return Via.PART, entry.part
    if entry.puppet is not None:
        return Via.PUPPET, entry.puppet
    if entry.character is not None:
        return Via.CHARACTER, entry.character
    return None


class HandOrder:
    """The order of hands: characters as in their table, by way of what, crafts as in theirs."""

    def __init__(self, ledger: Ledger) -> None:
        self._characters = {code: place for place, code in enumerate(ledger.characters)}
        self._crafts = {code: place for place, code in enumerate(ledger.crafts)}

    def __call__(self, hand: HandLike) -> tuple[int, int, int, str, str]:
        """The key of a hand."""
        return (
            self._characters[hand.character],
            _VIA_ORDER[hand.via],
            self._crafts[hand.craft],
            hand.puppet or hand.part or "",
            hand.person,
        )


class HandIndex:
    """Build entries by thing, wide performance entries by character, crafts by entry.

    ``wide``: performance entries of crafts without footage that name no shot, by character and
    sequence (None: the whole part). ``craft_of``: the craft of every entry on a shot.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self.builds: dict[tuple[Via, str], list[Entry]] = defaultdict(list)
        self.wide: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
        self.craft_of: dict[EntryNumber, str] = {}
        for entry in ledger.entries:
            craft = ledger.crafts[entry.craft]
            if entry.shot is not None:
                self.craft_of[entry.number] = entry.craft
            if craft.kind is Kind.BUILD:
                target = build_target(entry)
                if target is not None:
                    self.builds[target].append(entry)
            elif not craft.footage and entry.character is not None and entry.shot is None:
                self.wide[entry.character, entry.sequence].append(entry)

    def performed_on(self, shot: str, take: int) -> list[Entry]:
        """Performance entries of crafts without footage on the shot that name no other take."""
        crafts = self._ledger.crafts
        return [
            entry
            for entry in self._ledger.entries_by_shot.get(shot, ())
            if not crafts[entry.craft].footage
            and crafts[entry.craft].kind is Kind.PERFORMANCE
            and entry.character is not None
            and entry.frames
            and entry.take in (None, take)
        ]


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


@dataclass(frozen=True, slots=True)
class Spread:
    """One person's craft in a take, by way of what, in which frames, since when."""

    person: str
    craft: str
    character: str
    via: Via
    puppet: str | None
    part: str | None
    frames: Frames
    since: date | None
    entries: tuple[EntryNumber, ...]


@dataclass(frozen=True, slots=True)
class _Maker:
    """One person's craft on a thing: its first day (None: undated, so always), its entries."""

    person: str
    craft: str
    first: date | None
    entries: tuple[Entry, ...]

    def until(self, day: date | None) -> list[Entry]:
        """The entries that are in frames up to a day; None: all of them."""
        return [e for e in self.entries if day is None or e.day is None or e.day <= day]


class _Days:
    """Frames by day. Undated frames take in everything that was ever built."""

    def __init__(self, dated: Mapping[date | None, list[Range]]) -> None:
        self._dated = dated
        self.days = sorted(day for day in dated if day is not None)
        self.last = None if dated.get(None) else (self.days[-1] if self.days else None)
        self._from: dict[int, Frames] = {}

    def since(self, day: date | None) -> Frames:
        """The frames dated on or after a day, and the undated ones; None: all frames."""
        place = 0 if day is None else bisect_left(self.days, day)
        frames = self._from.get(place)
        if frames is None:
            own = [*self._dated.get(None, ())]
            own.extend(r for later in self.days[place:] for r in self._dated[later])
            frames = self._from[place] = Frames.of(*own)
        return frames


class _Kept:
    """The kept frames of one character in a take: all of them, by day, and by puppet and day."""

    def __init__(self) -> None:
        self.ranges: list[Range] = []
        self.by_day: dict[date | None, list[Range]] = defaultdict(list)
        self.by_puppet: dict[str, dict[date | None, list[Range]]] = defaultdict(
            lambda: defaultdict(list)
        )
        self.claims: dict[tuple[str, str], list[Range]] = defaultdict(list)
        self.claim_entries: dict[tuple[str, str], set[EntryNumber]] = defaultdict(set)
        self.claim_days: dict[tuple[str, str], list[date]] = defaultdict(list)


class SpreadOf:
    """Answers in which frames of a take each person's work is."""

    def __init__(self, ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]) -> None:
        self._ledger = ledger
        self._runs = runs
        self._order = HandOrder(ledger)
        self._index = HandIndex(ledger)
        self._takes: dict[tuple[str, int], tuple[Spread, ...]] = {}
        self._makers = {target: _makers(own) for target, own in self._index.builds.items()}

    def of_take(self, shot: str, take: int) -> tuple[Spread, ...]:
        """Everybody whose hands are in the take, with the frames, by character, way and craft."""
        known = self._takes.get((shot, take))
        if known is None:
            known = self._takes[shot, take] = self._of_take(shot, take)
        return known

    def _of_take(self, shot: str, take: int) -> tuple[Spread, ...]:
        own = self._runs.get((shot, take))
        if own is None:
            return ()
        found = (
            spread
            for character, kept in self._kept(own).items()
            for spread in self._of_character(shot, take, character, kept)
            if spread.frames
        )
        return tuple(sorted(found, key=self._order))

    def _kept(self, own: TakeRuns) -> dict[str, _Kept]:
        found: dict[str, _Kept] = defaultdict(_Kept)
        for run in own.runs:
            piece = (run.first, run.stop)
            for layer in run.kept:
                kept = found[layer.character]
                kept.ranges.append(piece)
                kept.by_day[layer.day].append(piece)
                for puppet in layer.puppets:
                    kept.by_puppet[puppet][layer.day].append(piece)
                for claim in layer.claims:
                    for number in claim.entries:
                        key = (claim.person, self._index.craft_of[number])
                        kept.claims[key].append(piece)
                        kept.claim_entries[key].add(number)
                        if layer.day is not None:
                            kept.claim_days[key].append(layer.day)
        return found

    def _of_character(self, shot: str, take: int, character: str, kept: _Kept) -> Iterator[Spread]:
        frames = Frames.of(*kept.ranges)
        for (person, craft), ranges in kept.claims.items():
            since = min(kept.claim_days[person, craft], default=None)
            entries = tuple(sorted(kept.claim_entries[person, craft]))
            inside = Frames.of(*ranges)
            yield Spread(person, craft, character, Via.FRAME, None, None, inside, since, entries)
        yield from self._performed(shot, take, character, frames)
        yield from self._built(shot, take, character, kept)

    # -- performed -----------------------------------------------------------------------------

    def _performed(self, shot: str, take: int, character: str, frames: Frames) -> Iterator[Spread]:
        sequence = self._ledger.shots[shot].sequence
        on_shot = [
            entry
            for entry in self._index.performed_on(shot, take)
            if entry.character == character and entry.frames is not None and entry.frames & frames
        ]
        sources = (
            (Via.SHOT, on_shot),
            (Via.SEQUENCE, self._index.wide.get((character, sequence), [])),
            (Via.CHARACTER, self._index.wide.get((character, None), [])),
        )
        for via, entries in sources:
            groups: dict[tuple[str, str], list[Entry]] = defaultdict(list)
            for entry in entries:
                groups[entry.person, entry.craft].append(entry)
            for (person, craft), own in groups.items():
                named = Frames.of(*(r for e in own for r in (e.frames or Frames()).ranges))
                inside = named & frames if via is Via.SHOT else frames
                yield Spread(
                    person, craft, character, via, None, None, inside, _since(own), _numbers(own)
                )

    # -- built ---------------------------------------------------------------------------------

    def _made(self, target: tuple[Via, str], character: str, days: _Days) -> Iterator[Spread]:
        via, code = target
        puppet, part = (code if via is Via.PUPPET else None), (code if via is Via.PART else None)
        for maker in self._makers.get(target, ()):
            frames = days.since(maker.first)
            if frames:
                counting = maker.until(days.last)
                yield Spread(
                    maker.person,
                    maker.craft,
                    character,
                    via,
                    puppet,
                    part,
                    frames,
                    _since(counting),
                    _numbers(counting),
                )

    def _built(self, shot: str, take: int, character: str, kept: _Kept) -> Iterator[Spread]:
        yield from self._made((Via.CHARACTER, character), character, _Days(kept.by_day))
        for puppet, dated in kept.by_puppet.items():
            yield from self._made((Via.PUPPET, puppet), character, _Days(dated))
        for part, dated in self._parts(shot, take, character, kept).items():
            yield from self._made((Via.PART, part), character, _Days(dated))

    def _parts(
        self, shot: str, take: int, character: str, kept: _Kept
    ) -> dict[str, dict[date | None, list[Range]]]:
        """The parts that were on the character, fitted or shown, with their frames by day."""
        parts: dict[str, dict[date | None, list[Range]]] = defaultdict(lambda: defaultdict(list))
        for puppet, dated in kept.by_puppet.items():
            for fitting in self._ledger.fittings_of_puppet.get(puppet, ()):
                for day, ranges in dated.items():
                    if day is None or fitting.holds_on(day):
                        parts[fitting.part][day].extend(ranges)
        for replacement in self._ledger.replacements_by_shot.get(shot, ()):
            if replacement.character == character and replacement.take in (None, take):
                for day, ranges in kept.by_day.items():
                    inside = replacement.frames & Frames.of(*ranges)
                    if inside:
                        parts[replacement.part][day].extend(inside.ranges)
        return parts


def _since(entries: Iterable[Entry]) -> date | None:
    return min((entry.day for entry in entries if entry.day is not None), default=None)


def _numbers(entries: Iterable[Entry]) -> tuple[EntryNumber, ...]:
    return tuple(sorted(entry.number for entry in entries))


def _makers(entries: Iterable[Entry]) -> tuple[_Maker, ...]:
    groups: dict[tuple[str, str], list[Entry]] = defaultdict(list)
    for entry in entries:
        groups[entry.person, entry.craft].append(entry)
    makers = []
    for (person, craft), own in groups.items():
        own.sort(key=lambda entry: entry.number)
        first = None if any(entry.day is None for entry in own) else _since(own)
        makers.append(_Maker(person, craft, first, tuple(own)))
    return tuple(makers)
