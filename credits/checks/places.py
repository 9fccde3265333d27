"""Checks of where people, puppets and parts were."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from operator import gt, lt
from typing import ClassVar, Self

from credits.checks.rule import Check, Known, Severity, days_of, numbers_of
from credits.footage.claims import Run, TakeRuns, claims_frames
from credits.model import words
from credits.model.facts import EntryNumber, Fitting, Replacement
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames

_Thing = words.Named | words.NamedPuppet | words.NamedPart
# Where something was on each date: stages, each with an entry that says so.
_Seen = dict[date, set[tuple[str, EntryNumber]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _InTwoPlaces(Check):
    """Something on two stages or more on one date.

    other_stage: one that another entry than the last names.
    """

    seen: ClassVar[str] = "The log has {}"
    advice: ClassVar[str]

    thing: _Thing
    day: date
    stages: tuple[str, ...]
    other_stage: str

    @classmethod
    def _in(cls, seen: _Seen, thing: _Thing) -> Iterator[Self]:
        for day, placed in seen.items():
            stages = tuple(sorted({stage for stage, _ in placed}))
            if len(stages) < 2:
                continue
            entries = tuple(sorted({number for _, number in placed}))
            others = (stage for stage in stages if (stage, entries[-1]) not in placed)
            yield cls(
                thing=thing,
                day=day,
                stages=stages,
                entries=entries,
                other_stage=next(others, stages[0]),
            )

    def in_words(self) -> tuple[str, str]:
        stages = words.some_of(self.stages)
        where = f"on stages {stages} on {self.day} ({words.numbers(self.entries)})"
        amend = f"credits amend {self.entries[-1]} --stage {words.typed(self.other_stage)}"
        return f"{self.seen.format(self.thing)} {where}.", f"{self.advice}: {amend}"


def _on_stages(entries: Sequence[Entry]) -> _Seen:
    """Where one thing was on the dates on which it was on two stages or more: mostly on none."""
    first: dict[date, str] = {}
    moved = set()
    for entry in entries:
        day, stage = entry.day, entry.stage
        if stage is not None and day is not None and first.setdefault(day, stage) != stage:
            moved.add(day)
    seen: _Seen = defaultdict(set)
    for entry in entries if moved else ():
        if entry.day in moved and entry.day is not None and entry.stage is not None:
            seen[entry.day].add((entry.stage, entry.number))
    return seen


def _is_in_hand(ledger: Ledger, entry: Entry) -> bool:
    """Whether the puppet was certainly there: it is named, or the only one that can be animated.

    A voice or a track reading of a character that has one puppet does not bring it to the stage.
    """
    return entry.said_puppet is not None or ledger.is_footage(entry)


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetInTwoPlaces(_InTwoPlaces):
    """One puppet has entries on two stages on one date."""

    about = "puppet=thing date=day stage=stages"
    scope = "puppet"
    advice = (
        "Ask which copy each stage had, or whether it was carried over. If a copy or a stage "
        "is wrong"
    )

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for code, own in ledger.entries_by_puppet.items():
            seen = _on_stages([entry for entry in own if _is_in_hand(ledger, entry)])
            yield from cls._in(seen, words.puppet(ledger, code))


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonInTwoPlaces(_InTwoPlaces):
    """One person has entries on two stages on one date."""

    about = "person=thing date=day stage=stages"
    scope = "person"
    advice = (
        "Ask whether both are right: the stage, the date or the person may be another; "
        "correct what is wrong"
    )

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for code, own in known.ledger.entries_by_person.items():
            yield from cls._in(_on_stages(own), words.person(known.ledger, code))


def _runs_that_show(own: TakeRuns, stops: list[int], frames: Frames) -> Iterator[Run]:
    """The runs of a take that hold any of the frames; each may come more than once."""
    for first, stop in frames.ranges:
        for run in own.runs[bisect_right(stops, first) :]:
            if run.first >= stop:
                break
            yield run


def _part_on_stages(seen: Mapping[str, _Seen], own: TakeRuns, shown: Iterable[Replacement]) -> None:
    stops = [run.stop for run in own.runs]
    for replacement in shown:
        if replacement.take not in (None, own.take):
            continue
        for run in _runs_that_show(own, stops, replacement.frames):
            for layer in run.kept:
                if layer.character != replacement.character or layer.day is None:
                    continue
                seen[replacement.part][layer.day].update(
                    (claim.stage, number)
                    for claim in layer.claims
                    if claim.stage is not None
                    for number in claim.entries
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class PartInTwoPlaces(_InTwoPlaces):
    """One part is shown by replacements in frames of one date on two stages."""

    about = "part=thing date=day stage=stages"
    scope = "part"
    seen = "The face sheets show {} in frames that were shot"
    advice = (
        "Ask whether there is a second one with the same number, or which face sheet is "
        "wrong; correct the replacements table, or the stage"
    )

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        seen: dict[str, _Seen] = defaultdict(lambda: defaultdict(set))
        for (shot, _), own in known.runs.items():
            shown = known.ledger.replacements_by_shot.get(shot)
            if shown:
                _part_on_stages(seen, own, shown)
        for code, placed in seen.items():
            yield from cls._in(placed, words.part(known.ledger, code))


def _end(fitting: Fitting) -> date:
    return fitting.to_on or date.max


def _overlaps(fittings: Iterable[Fitting]) -> Iterator[tuple[Fitting, Fitting]]:
    """Each fitting that begins while the part is still on another puppet, with the one it meets.

    A part may be taken off a puppet and be on another the same day: the day that one ends and the
    other begins is both's.
    Of all that it meets only the one that ends last is given: n fittings make less than n cases.
    """
    latest: Fitting | None = None
    latest_elsewhere: Fitting | None = None
    for fitting in sorted(fittings, key=lambda f: (f.from_on, _end(f), f.puppet)):
        if _end(fitting) < fitting.from_on:
            continue
        met = latest
        if met is not None and met.puppet == fitting.puppet:
            met = latest_elsewhere
        if met is not None and _end(met) > fitting.from_on:
            yield met, fitting
        if latest is None or _end(fitting) >= _end(latest):
            if latest is not None and latest.puppet != fitting.puppet:
                latest_elsewhere = latest
            latest = fitting
        elif fitting.puppet != latest.puppet and (
            latest_elsewhere is None or _end(fitting) > _end(latest_elsewhere)
        ):
            latest_elsewhere = fitting


def _held(fitting: Fitting) -> str:
    until = f" to {fitting.to_on}" if fitting.to_on else ", without an end"
    return f"{fitting.puppet} (from {fitting.from_on}{until})"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOnTwoPuppets(Check):
    """One part is fitted to two puppets at the same time."""

    about = "part puppet=earlier.puppet puppet=later.puppet"
    scope = "part"
    severity: Severity = Severity.WRONG

    part: words.NamedPart
    earlier: Fitting
    later: Fitting

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for code, fittings in known.ledger.fittings_of_part.items():
            for earlier, later in _overlaps(fittings):
                yield cls(part=words.part(known.ledger, code), earlier=earlier, later=later)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{words.begin(str(self.part))} is fitted to {_held(self.earlier)} and to "
            f"{_held(self.later)} at the same time.",
            f"Ask when it was taken off {self.earlier.puppet}, set to_on of that row in the "
            "fittings table to the last day it was on, and load the table again.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetAfterRetirement(Check):
    """A puppet is animated after it was retired; a question when it was not yet ready.

    limit: the day on which it was retired, or ready. days: those of the entries.
    """

    about = "puppet"
    scope = "puppet"
    severity: Severity = Severity.WRONG

    puppet: words.NamedPuppet
    limit: date
    days: tuple[date, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for puppet in ledger.puppets.values():
            for limit, severity, is_beyond in (
                (puppet.retired_on, Severity.WRONG, gt),
                (puppet.ready_on, Severity.QUESTION, lt),
            ):
                found = [
                    entry
                    for entry in ledger.entries_by_puppet.get(puppet.code, ())
                    if limit is not None
                    and entry.day is not None
                    and is_beyond(entry.day, limit)
                    and claims_frames(ledger, entry)
                ]
                if limit is not None and found:
                    yield cls(
                        puppet=words.puppet(ledger, puppet.code),
                        entries=numbers_of(found),
                        severity=severity,
                        limit=limit,
                        days=days_of(found),
                    )

    def in_words(self) -> tuple[str, str]:
        was = "retired" if self.severity is Severity.WRONG else "ready"
        column = "retired_on" if self.severity is Severity.WRONG else "ready_on"
        return (
            f"{words.begin(str(self.puppet))} was {was} on {self.limit}, and frames are claimed "
            f"with it {words.days(self.days)} ({words.numbers(self.entries)}).",
            f"Correct {column} in the puppets table and load it again; or ask which copy it was, "
            f"then: credits amend {self.entries[-1]} --puppet COPY",
        )


def _without_puppet(ledger: Ledger, character: str) -> dict[str, list[EntryNumber]]:
    """The character's claims that name no puppet, by shot."""
    found: dict[str, list[EntryNumber]] = defaultdict(list)
    for entry in ledger.entries_by_character.get(character, ()):
        if entry.puppet is None and entry.shot is not None and claims_frames(ledger, entry):
            found[entry.shot].append(entry.number)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetUnknown(Check):
    """A character with several puppets is animated, and no puppet is named.

    copies: its puppets.
    """

    about = "character shot"
    scope = "shot"

    character: words.Named
    shot: str
    copies: tuple[str, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for code, copies in ledger.puppets_of.items():
            for shot, own in _without_puppet(ledger, code).items() if len(copies) > 1 else ():
                character = words.character(ledger, code)
                yield cls(character=character, shot=shot, entries=tuple(own), copies=copies)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.character} is animated in shot {self.shot} ({words.numbers(self.entries)}) "
            f"without a word which of {len(self.copies)} puppets it was "
            f"({words.some_of(self.copies)}).",
            f"Ask which copy it was, then: credits amend {self.entries[0]} "
            f"--puppet {words.typed(self.copies[0])}",
        )
