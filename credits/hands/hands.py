"""Everybody whose work is in a frame, directly or through the puppet.

One engine looks at a take entry by entry: by way of what is its work there, and in which frames.
Gathered by person, craft and thing these are the hands of the take; cut where any of the sets of
frames begins or ends, they are the hands in each frame.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import chain
from typing import Any, NamedTuple

from credits.footage.claims import TakeRuns
from credits.model.facts import EntryNumber, Kind
from credits.model.ledger import BriefEntry, Entry, Ledger
from credits.units.frames import NO_FRAMES, Frames, Range, common_runs, union


class Via(StrEnum):
    """By way of what a hand is in a frame, the most direct first."""

    FRAME = "frame"
    SHOT = "shot"
    SEQUENCE = "sequence"
    CHARACTER = "character"
    PUPPET = "puppet"
    PART = "part"


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
_Group = dict[tuple[str, str], list[Entry]]
"""Entries by person and craft."""
_Way = tuple[Via, str, _Group, Callable[[Entry], Frames]]
"""By way of what, the code of the thing, the entries on it, and the frames that an entry is in."""


def build_target(entry: BriefEntry) -> Thing | None:
    """Return what a build entry was done on: the most particular thing it names."""
    things = (Via.PART, entry.part), (Via.PUPPET, entry.puppet), (Via.CHARACTER, entry.character)
    return next(((via, code) for via, code in things if code is not None), None)


def shots_in_question(ledger: Ledger, entry: Entry) -> frozenset[str]:
    """Find the shots that an entry's work may be in; it is in no other shot."""
    built = ledger.crafts[entry.craft].kind is Kind.BUILD
    via, code = (built and build_target(entry)) or (Via.CHARACTER, entry.character or "")
    if not built and entry.shot is not None:
        return frozenset((entry.shot,))
    if not built and entry.sequence is not None:
        return frozenset(ledger.shots_of.get(entry.sequence, ()))
    if via is Via.CHARACTER:
        return _shots_with(ledger.entries_by_character.get(code, ()))
    if via is Via.PUPPET:
        return _shots_with(ledger.entries_by_puppet.get(code, ()))
    wearing = (fitting.puppet for fitting in ledger.fittings_of_part.get(code, ()))
    worked = (_shots_with(ledger.entries_by_puppet.get(puppet, ())) for puppet in wearing)
    shown = {replacement.shot for replacement in ledger.replacements if replacement.part == code}
    return frozenset(shown).union(*worked)


def _shots_with(entries: Iterable[Entry]) -> frozenset[str]:
    return frozenset(entry.shot for entry in entries if entry.shot is not None)


class _WorkOnThing(NamedTuple):
    """One person's craft on one thing in a take: each entry with the frames that it is in."""

    person: str
    craft: str
    character: str
    via: Via
    code: str
    pieces: list[tuple[Entry, Frames]]

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


def together(sets: Iterable[Frames]) -> Frames:
    """Return the union of one set of frames or more, most of which are one and the same object."""
    first, *others = {id(frames): frames for frames in sets}.values()
    return union((first, *others)) if others else first


class _Days:
    """Frames by day. Undated frames take in everything that was ever built."""

    def __init__(self, dated: Mapping[date | None, list[Range]]) -> None:
        self._dated = dated
        self._days = sorted(day for day in dated if day is not None)
        self._from: dict[int, Frames] = {}

    def since(self, day: date | None) -> Frames:
        """Return the frames dated on or after a day, and the undated ones; None: all frames."""
        place = 0 if day is None else bisect_left(self._days, day)
        frames = self._from.get(place)
        if frames is None:
            days = (None, *self._days[place:])
            pieces = chain.from_iterable(self._dated.get(each, ()) for each in days)
            frames = self._from[place] = Frames.of(*pieces)
        return frames


_Dated = defaultdict[date | None, list[Range]]


class _Kept:
    """The kept frames of one character in a take: by day, by puppet and day, by claiming entry."""

    def __init__(self) -> None:
        self.by_day: _Dated = defaultdict(list)
        self.by_puppet: defaultdict[str, _Dated] = defaultdict(lambda: defaultdict(list))
        self.by_entry: defaultdict[EntryNumber, list[Range]] = defaultdict(list)


def _kept(own: TakeRuns) -> dict[str, _Kept]:
    found: defaultdict[str, _Kept] = defaultdict(_Kept)
    for run in own.runs:
        piece = (run.first, run.stop)
        for layer in run.kept:
            kept = found[layer.character]
            kept.by_day[layer.day].append(piece)
            for puppet in layer.puppets:
                kept.by_puppet[puppet][layer.day].append(piece)
            for claim in layer.claims:
                for number in claim.entries:
                    kept.by_entry[number].append(piece)
    return found


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
        self._characters = {code: place for place, code in enumerate(ledger.characters)}
        self._crafts = {code: place for place, code in enumerate(ledger.crafts)}
        asked = ledger.entries if entries is None else entries
        self._entries = {entry.number: entry for entry in sorted(asked, key=lambda e: e.number)}
        self._built: defaultdict[Thing, _Group] = defaultdict(lambda: defaultdict(list))
        self._on_shot: defaultdict[tuple[str, str], _Group] = defaultdict(lambda: defaultdict(list))
        self._wide: defaultdict[tuple[str, str | None], _Group] = defaultdict(
            lambda: defaultdict(list)
        )
        for entry in self._entries.values():
            self._index(entry)
        self._takes: dict[tuple[str, int], tuple[Spread, ...]] = {}

    def _index(self, entry: Entry) -> None:
        craft = self._ledger.crafts[entry.craft]
        whose = (entry.person, entry.craft)
        if craft.kind is Kind.BUILD:
            target = build_target(entry)
            if target is not None:
                self._built[target][whose].append(entry)
        elif not craft.footage and entry.character is not None:
            if entry.shot is None:
                self._wide[entry.character, entry.sequence][whose].append(entry)
            else:
                self._on_shot[entry.shot, entry.character][whose].append(entry)

    # -- the answers ---------------------------------------------------------------------------

    def of_take(self, shot: str, take: int) -> tuple[Spread, ...]:
        """Return the hands of a take with their frames, by character, way and craft."""
        known = self._takes.get((shot, take))
        if known is None:
            found = []
            for work in self._works(shot, take):
                entries, frames = zip(*work.pieces, strict=True)
                found.append(Spread(frames=together(frames), **work.said(entries)))
            known = self._takes[shot, take] = tuple(sorted(found, key=self._place))
        return known

    def runs_of_take(
        self, shot: str, take: int, characters: frozenset[str] | None = None
    ) -> tuple[HandRun, ...]:
        """Return the hands in every frame of a take, in runs, in frame order.

        ``characters``: only hands in these; None: in all. Frames without a hand are in no run.
        """
        pieces = [
            (work, *piece)
            for work in self._works(shot, take)
            if characters is None or work.character in characters
            for piece in work.pieces
        ]
        found: list[HandRun] = []
        for first, stop, members in common_runs(frames for _, _, frames in pieces):
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

    def _works(self, shot: str, take: int) -> Iterator[_WorkOnThing]:
        """Find the work in a take, each person's craft on each thing once."""
        own = self._runs.get((shot, take))
        for character, kept in _kept(own).items() if own is not None else ():
            for via, code, group, frames_of in self._ways(shot, take, character, kept):
                for (person, craft), entries in group.items():
                    pieces = [(e, frames) for e in entries if (frames := frames_of(e))]
                    if pieces:
                        yield _WorkOnThing(person, craft, character, via, code, pieces)

    def _ways(self, shot: str, take: int, character: str, kept: _Kept) -> Iterator[_Way]:
        """Every way into a character's kept frames: the entries, and the frames of each entry.

        What was performed is in the frames however late it was done; what was built is in the
        frames of its day and later.
        """
        days = _Days(kept.by_day)
        every = days.since(None)
        sequence = self._ledger.shots[shot].sequence
        claimed: _Group = defaultdict(list)
        for number in sorted(kept.by_entry.keys() & self._entries.keys()):
            entry = self._entries[number]
            claimed[entry.person, entry.craft].append(entry)
        yield Via.FRAME, character, claimed, lambda e: Frames.of(*kept.by_entry[e.number])
        yield (
            Via.SHOT,
            character,
            self._on_shot.get((shot, character), {}),
            lambda e: (e.frames or NO_FRAMES) & every if e.take in (None, take) else NO_FRAMES,
        )
        yield Via.SEQUENCE, character, self._wide.get((character, sequence), {}), lambda _: every
        yield Via.CHARACTER, character, self._wide.get((character, None), {}), lambda _: every
        yield self._made(Via.CHARACTER, character, days)
        for puppet, dated in kept.by_puppet.items():
            yield self._made(Via.PUPPET, puppet, _Days(dated))
        for part, dated in self._parts(shot, take, character, kept).items():
            yield self._made(Via.PART, part, _Days(dated))

    def _made(self, via: Via, code: str, days: _Days) -> _Way:
        return via, code, self._built.get((via, code), {}), lambda entry: days.since(entry.day)

    def _parts(self, shot: str, take: int, character: str, kept: _Kept) -> dict[str, _Dated]:
        """The parts that were on the character, fitted or shown, with their frames by day."""
        parts: defaultdict[str, _Dated] = defaultdict(lambda: defaultdict(list))
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
