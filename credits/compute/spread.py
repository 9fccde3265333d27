"""The hands of a take, hand by hand: everybody whose work is in it, and in which frames (rule 3.6).

The same rule as in ``hands``, read the other way round: not "who is in these frames" but "in which
frames is this work". What was built reaches the frames dated on or after it, so the frames of a
thing are kept by day and cut once for every day on which something was done to it. The cost
follows the people and things of the take, not the number of runs times the number of people.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from credits.compute.hand import HandOrder, Via
from credits.compute.hand_index import HandIndex
from credits.footage.claims import TakeRuns
from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames, Range


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
