"""Everybody whose work is in a frame, directly or through the puppet.

One engine looks at a take entry by entry: by way of what is its work there, and in which frames.
Gathered by person, craft and thing these are the hands of the take; cut where any of the sets of
frames begins or ends, they are the hands in each frame.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property, reduce
from itertools import chain
from operator import attrgetter, or_
from typing import Any, NamedTuple

from credits.footage.claims import TakeRuns, claims_frames
from credits.hands.seen import FramesByDay, SeenInTake, Stretches
from credits.model.facts import EntryNumber, Kind
from credits.model.ledger import BriefEntry, Entry, Ledger
from credits.model.replay import grouped
from credits.units.frames import NO_FRAMES, Frames, common_runs, union

MOST_HELD = 128
"""Takes whose hands are remembered, and shots: whoever asks again asks soon."""


class Via(StrEnum):
    """By way of what a hand is in a frame, the most direct first."""

    FRAME = "frame"
    SHOT = "shot"
    SEQUENCE = "sequence"
    CHARACTER = "character"
    PUPPET = "puppet"
    PART = "part"


_OF_THINGS = (Via.PUPPET, Via.PART)
_VIA_ORDER = {via: place for place, via in enumerate(Via)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """One person's craft in some frames, by way of what, and the entries that say so.

    ``puppet``: the one that was worked on; by way of the frame, in a run, the one that is seen.
    ``since``: the first day of the entries; None: all are undated.
    """

    person: str
    craft: str
    character: str
    via: Via
    puppet: str | None
    part: str | None
    entries: tuple[EntryNumber, ...]
    since: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread(Hand):
    """A hand in a take with all the frames of the take that it is in."""

    frames: Frames


@dataclass(frozen=True, slots=True)
class HandRun:
    """Frames ``first .. stop - 1`` of a take, in all of which the same hands are."""

    first: int
    stop: int
    hands: tuple[Hand, ...]


Thing = tuple[Via, str]


class _Work:
    """The entries on one thing, by person and craft."""

    def __init__(self) -> None:
        self.by_craft: defaultdict[tuple[str, str], list[Entry]] = defaultdict(list)

    def add(self, entry: Entry) -> None:
        self.by_craft[entry.person, entry.craft].append(entry)

    @property
    def entries(self) -> Iterable[Entry]:
        return chain.from_iterable(self.by_craft.values())

    @cached_property
    def first_by_craft(self) -> dict[tuple[str, str], tuple[Entry]]:
        """The earliest entry of each person in each craft."""
        every = self.by_craft.items()
        return {of: (min(own, key=lambda e: e.day or date.min),) for of, own in every}

    @cached_property
    def first(self) -> list[Entry]:
        """The earliest entry of each person: what was built is in the frames from then on."""
        found: dict[str, Entry] = {}
        for entry in self.entries:
            known = found.setdefault(entry.person, entry)
            if (entry.day or date.min) < (known.day or date.min):
                found[entry.person] = entry
        return list(found.values())


class _Way(NamedTuple):
    """A way into the frames of a take: the thing, the entries on it, the frames that each is in.

    leading: entries that together are in all the frames that each person's entries are in;
    leading_by_craft: in those that each person's entries of a craft are in.
    """

    via: Via
    code: str
    work: _Work
    leading: Iterable[Entry]
    leading_by_craft: Mapping[tuple[str, str], Iterable[Entry]]
    frames_of: Callable[[Entry], Stretches]


def build_target(entry: BriefEntry) -> Thing | None:
    """Return what a build entry was done on: the most particular thing it names."""
    return target_of(entry.part, entry.puppet, entry.character)


def target_of(part: str | None, puppet: str | None, character: str | None) -> Thing | None:
    """Return the most particular thing that is named."""
    if part is not None:
        return Via.PART, part
    if puppet is not None:
        return Via.PUPPET, puppet
    return None if character is None else (Via.CHARACTER, character)


def shots_in_question(ledger: Ledger, entry: BriefEntry) -> frozenset[str]:
    """Find the shots that an entry's work may be in; it is in no other shot."""
    built = ledger.crafts[entry.craft].kind is Kind.BUILD
    via, code = (built and build_target(entry)) or (Via.CHARACTER, entry.character or "")
    if not built and entry.shot is not None:
        return frozenset((entry.shot,))
    if not built and entry.sequence is not None:
        return frozenset(ledger.shots_of.get(entry.sequence, ()))
    since = entry.day if built else None

    def claimed(entries: Iterable[BriefEntry]) -> frozenset[str]:
        """The shots that they claim frames of on a day that the work may be seen on."""
        return frozenset(
            each.shot
            for each in entries
            if each.shot is not None
            and (since is None or each.day is None or each.day >= since)
            and claims_frames(ledger, each)
        )

    if via is Via.CHARACTER:
        return claimed(ledger.entries_by_character.get(code, ()))
    if via is Via.PUPPET:
        return claimed(ledger.entries_by_puppet.get(code, ()))
    wearing = (fitting.puppet for fitting in ledger.fittings_of_part.get(code, ()))
    worked = (claimed(ledger.entries_by_puppet.get(puppet, ())) for puppet in wearing)
    shown = {replacement.shot for replacement in ledger.replacements if replacement.part == code}
    return frozenset(shown).union(*worked)


class _WorkOnThing(NamedTuple):
    """One person's craft on one thing in a take: each entry with the frames that it is in."""

    person: str
    craft: str
    character: str
    via: Via
    code: str
    pieces: list[tuple[Entry, Stretches]]

    def said(self, entries: Sequence[Entry]) -> dict[str, Any]:
        """Return the fields of the hand that does it where these entries are."""
        return {
            "person": self.person,
            "craft": self.craft,
            "character": self.character,
            "via": self.via,
            "puppet": self.code if self.via is Via.PUPPET else None,
            "part": self.code if self.via is Via.PART else None,
            "entries": tuple([entry.number for entry in entries]),
            "since": min([e.day for e in entries if e.day is not None], default=None),
        }


class InTake(NamedTuple):
    """People whose work in a take is in the same frames all told, and of the same characters."""

    people: tuple[str, ...]
    frames: Frames
    characters: tuple[str, ...]


class WayInTake(NamedTuple):
    """People whose work is in the same frames of a take by the same way.

    via, thing: by way of a thing; by way of any such thing where there is no thing; in a
    character, by whatever way, where there is no via.
    """

    via: Via | None
    thing: str
    people: tuple[str, ...]
    frames: Frames


class CraftInTake(NamedTuple):
    """People whose work in one craft on one thing is in the same frames of a character in a take.

    thing: the puppet or the part; empty by every other way.
    """

    character: str
    craft: str
    via: Via
    thing: str
    frames: Frames
    people: tuple[str, ...]


def together(sets: Iterable[Frames]) -> Frames:
    """Return the union of one set of frames or more, most of which are one and the same object."""
    first, *others = {id(frames): frames for frames in sets}.values()
    return union((first, *others)) if others else first


class Hands:
    """Answers whose work is in which frames of the production's takes.

    Holds indexes and remembers answers; two of them made from the same ledger answer alike.
    ``runs``: the claims of the takes that are asked about. ``entries``: those whose work is asked
    for; None: all.
    """

    def __init__(
        self,
        ledger: Ledger,
        runs: Mapping[tuple[str, int], TakeRuns],
        entries: Iterable[Entry] | None = None,
    ) -> None:
        self._ledger = ledger
        self._runs = runs
        own = None if entries is None else tuple(entries)
        self._entries_by: dict[str, Mapping[str, tuple[Entry, ...]]] = {
            name: ledger.entries_on(name) if own is None else grouped(own, attrgetter(name))
            for name in ("character", "puppet", "part")
        }
        self._entries_by["shot"] = (
            ledger.entries_by_shot if own is None else grouped(own, attrgetter("shot"))
        )
        crafts = ledger.crafts.values()
        self._building = {craft.code for craft in crafts if craft.kind is Kind.BUILD}
        self._performing = {
            craft.code for craft in crafts if craft.kind is Kind.PERFORMANCE and not craft.footage
        }
        self._by_shot: dict[str, dict[EntryNumber, Entry]] = {}
        self._built: dict[Thing, _Work] = {}
        self._on_shot: dict[str, defaultdict[str, _Work]] = {}
        self._wide: dict[str, defaultdict[str | None, _Work]] = {}
        self._takes: dict[tuple[str, int], tuple[Spread, ...]] = {}
        self._crafts_in: dict[tuple[str, int], tuple[CraftInTake, ...]] = {}

    @cached_property
    def _characters(self) -> dict[str, int]:
        """The place of each character in its table."""
        return {code: place for place, code in enumerate(self._ledger.characters)}

    @cached_property
    def _crafts(self) -> dict[str, int]:
        """The place of each craft in its table."""
        return {code: place for place, code in enumerate(self._ledger.crafts)}

    # -- the entries, looked up when they are asked for ------------------------------------------

    def _entries(self, name: str, code: str) -> tuple[Entry, ...]:
        """Those of the entries on something whose work is asked for."""
        return self._entries_by[name].get(code, ())

    def _of_shot(self, shot: str) -> dict[EntryNumber, Entry]:
        if shot not in self._by_shot:
            if len(self._by_shot) >= MOST_HELD:
                self._by_shot.clear()
            own = sorted(self._entries("shot", shot), key=attrgetter("number"))
            self._by_shot[shot] = {entry.number: entry for entry in own}
        return self._by_shot[shot]

    def _performed(self, shot: str) -> defaultdict[str, _Work]:
        """What was performed in a shot beside what claims frames, by character."""
        if shot not in self._on_shot:
            if len(self._on_shot) >= MOST_HELD:
                self._on_shot.clear()
            works = self._on_shot[shot] = defaultdict(_Work)
            for entry in self._of_shot(shot).values():
                if entry.character is not None and self._is_performed(entry):
                    works[entry.character].add(entry)
        return self._on_shot[shot]

    def _performed_widely(self, character: str) -> defaultdict[str | None, _Work]:
        """What was performed of a character in no one shot, by sequence."""
        if character not in self._wide:
            works = self._wide[character] = defaultdict(_Work)
            entries = self._entries("character", character)
            wide = (e for e in entries if e.shot is None and self._is_performed(e))
            for entry in sorted(wide, key=attrgetter("number")):
                works[entry.sequence].add(entry)
        return self._wide[character]

    def _is_performed(self, entry: Entry) -> bool:
        return entry.craft in self._performing

    def _built_on(self, thing: Thing) -> _Work:
        if thing not in self._built:
            work = self._built[thing] = _Work()
            via, code = thing
            built = (e for e in self._entries(via, code) if e.craft in self._building)
            own = (e for e in built if build_target(e) == thing)
            for entry in sorted(own, key=attrgetter("number")):
                work.add(entry)
        return self._built[thing]

    # -- the answers ---------------------------------------------------------------------------

    def of_take(self, shot: str, take: int) -> tuple[Spread, ...]:
        """Return the hands of a take with their frames, by character, way and craft."""
        known = self._takes.get((shot, take))
        if known is None:
            seen = self._seen(shot, take)
            if len(self._takes) >= MOST_HELD:
                self._takes.clear()
            found = []
            for work in self._works(shot, take, seen):
                entries, sets = zip(*work.pieces, strict=True)
                frames = seen.sets.frames(reduce(or_, sets))
                found.append(Spread(frames=frames, **work.said(entries)))
            known = self._takes[shot, take] = tuple(sorted(found, key=self._place))
        return known

    def crafts_of_take(self, shot: str, take: int) -> tuple[CraftInTake, ...]:
        """Return the same hands by craft, those of people together who are in the same frames."""
        known = self._crafts_in.get((shot, take))
        if known is None:
            if len(self._crafts_in) >= MOST_HELD:
                self._crafts_in.clear()
            known = self._crafts_in[shot, take] = tuple(self._by_craft(shot, take))
        return known

    def _by_craft(self, shot: str, take: int) -> Iterator[CraftInTake]:
        seen = self._seen(shot, take)
        for character in seen.characters:
            for via, code, _, _, leading, frames_of in self._ways(shot, take, character, seen):
                found: defaultdict[tuple[str, Stretches], list[str]] = defaultdict(list)
                for (person, craft), entries in leading.items():
                    frames = 0
                    for entry in entries:
                        frames |= frames_of(entry)
                    if frames:
                        found[craft, frames].append(person)
                thing = code if via in _OF_THINGS else ""
                for (craft, frames), people in found.items():
                    own = seen.sets.frames(frames)
                    yield CraftInTake(character, craft, via, thing, own, tuple(people))

    def people_of_take(
        self, shot: str, take: int, inside: Frames | None = None
    ) -> tuple[list[InTake], list[WayInTake]]:
        """Return everybody whose hands are in a take, and by which ways: those together whose hands
        are alike.

        inside: only in these frames; None: in all.
        """
        seen = self._seen(shot, take, () if inside is None else (inside,))
        every = seen.sets.every
        counted = every if inside is None else seen.sets.of(inside.ranges)
        # Of each person the frames, and above them a bit for each character.
        found: defaultdict[str, int] = defaultdict(int)
        ways: defaultdict[tuple[Via | None, str], defaultdict[str, Stretches]]
        ways = defaultdict(lambda: defaultdict(int))
        for at, character in enumerate(seen.characters):
            mark = 1 << every.bit_length() + at
            in_all = ways[None, character]
            for way in self._ways(shot, take, character, seen):
                frames_of = way.frames_of
                by_thing, by_any = ways[way.via, way.code], ways[way.via, ""]
                for entry in way.leading:
                    frames, person = frames_of(entry) & counted, entry.person
                    if frames:
                        by_thing[person] |= frames
                        by_any[person] |= frames
                        in_all[person] |= frames
            for person, frames in in_all.items():
                found[person] |= frames | mark
        frames_in = seen.sets.frames
        people = [
            InTake(
                people=alike,
                frames=frames_in(reach & every),
                characters=tuple(
                    character
                    for at, character in enumerate(seen.characters)
                    if reach >> every.bit_length() + at & 1
                ),
            )
            for reach, alike in _alike(found)
        ]
        return people, [
            WayInTake(via, thing, alike, frames_in(frames))
            for (via, thing), own in ways.items()
            for frames, alike in _alike(own)
        ]

    def runs_of_take(
        self, shot: str, take: int, characters: frozenset[str] | None = None
    ) -> tuple[HandRun, ...]:
        """Return the hands in every frame of a take, in runs, in frame order.

        ``characters``: only hands in these; None: in all. Frames without a hand are in no run.
        """
        seen = self._seen(shot, take)
        pieces = [
            (work, *piece)
            for work in self._works(shot, take, seen)
            if characters is None or work.character in characters
            for piece in work.pieces
        ]
        found: list[HandRun] = []
        for first, stop, members in common_runs(seen.sets.frames(own) for _, _, own in pieces):
            hands = self._hands_at(pieces[member][:2] for member in members)
            if found and found[-1].stop == first and found[-1].hands == hands:
                first = found.pop().first
            found.append(HandRun(first, stop, hands))
        return tuple(found)

    def _hands_at(self, here: Iterable[tuple[_WorkOnThing, Entry]]) -> tuple[Hand, ...]:
        """The hands where these entries are; by way of the frame, with the puppet that is seen."""
        works: dict[int, tuple[_WorkOnThing, list[Entry]]] = {}
        seen: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
        for work, entry in here:
            works.setdefault(id(work), (work, []))[1].append(entry)
            if work.via is Via.FRAME and entry.puppet is not None:
                seen[work.person, work.character].add(entry.puppet)
        hands = []
        for work, entries in works.values():
            said = work.said(entries)
            if work.via is Via.FRAME:
                said["puppet"] = min(seen[work.person, work.character], default=None)
            hands.append(Hand(**said))
        return tuple(sorted(hands, key=self._place))

    def _place(self, hand: Hand) -> tuple[int, int, int, str, str]:
        """Order: characters as in their table, by way of what, crafts as in their table."""
        return (
            self._characters[hand.character],
            _VIA_ORDER[hand.via],
            self._crafts[hand.craft],
            hand.puppet or hand.part or "",
            hand.person,
        )

    # -- the engine ----------------------------------------------------------------------------

    def _seen(self, shot: str, take: int, also: Iterable[Frames] = ()) -> SeenInTake:
        """Find what is seen in a take, in stretches in which all work in it is the same."""
        own = self._runs.get((shot, take), TakeRuns(shot, take, ()))
        works = self._performed(shot).values()
        in_shot = (entry.frames or NO_FRAMES for work in works for entry in work.entries)
        return SeenInTake(self._ledger, own, (*in_shot, *also))

    def _works(self, shot: str, take: int, seen: SeenInTake) -> Iterator[_WorkOnThing]:
        """Find the work in a take, each person's craft on each thing once."""
        for character in seen.characters:
            for via, code, work, _, _, frames_of in self._ways(shot, take, character, seen):
                for (person, craft), entries in work.by_craft.items():
                    pieces = [(e, frames) for e in entries if (frames := frames_of(e))]
                    if pieces:
                        yield _WorkOnThing(person, craft, character, via, code, pieces)

    def _ways(self, shot: str, take: int, character: str, seen: SeenInTake) -> Iterator[_Way]:
        """Every way into a character's kept frames: the entries, and the frames of each entry.

        What was performed is in the frames however late it was done; what was built is in the
        frames of its day and later.
        """
        own, sets = seen.characters[character], seen.sets
        every = own.frames.since(None)

        def in_shot(entry: Entry) -> Stretches:
            if entry.frames is None or entry.take not in (None, take):
                return 0
            return sets.of(entry.frames.ranges) & every

        claims = _Work()
        in_reach = self._of_shot(shot)
        for number in sorted(own.claimed.keys() & in_reach.keys()):
            claims.add(in_reach[number])
        yield _Way(
            Via.FRAME, character, claims, claims.entries, claims.by_craft,
            lambda entry: own.claimed[entry.number],
        )  # fmt: skip
        performed = self._performed(shot)[character]
        every_one = (performed.entries, performed.by_craft)
        yield _Way(Via.SHOT, character, performed, *every_one, in_shot)
        sequence = self._ledger.shots[shot].sequence
        for via, where in (Via.SEQUENCE, sequence), (Via.CHARACTER, None):
            wide = self._performed_widely(character)[where]
            yield _Way(via, character, wide, wide.first, wide.first_by_craft, lambda _: every)
        yield self._made(Via.CHARACTER, character, own.frames)
        for puppet, frames in own.puppets.items():
            yield self._made(Via.PUPPET, puppet, frames)
        for part, frames in own.parts.items():
            yield self._made(Via.PART, part, frames)

    def _made(self, via: Via, code: str, frames: FramesByDay) -> _Way:
        work = self._built_on((via, code))
        first = (work.first, work.first_by_craft)
        return _Way(via, code, work, *first, lambda entry: frames.since(entry.day))


def _alike(found: Mapping[str, int]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield those together of whom the same was found."""
    alike: defaultdict[int, list[str]] = defaultdict(list)
    for person, own in found.items():
        alike[own].append(person)
    for own, people in alike.items():
        yield own, tuple(people)
