"""Who made what, of the film, a character or a shot: agents, works and things."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from credits.figures.snapshot import Snapshot
from credits.footage.claims import Layer
from credits.hands.hands import build_target
from credits.model.facts import EntryNumber, Fitting, Replacement
from credits.model.ledger import Entry


class About(StrEnum):
    """The kinds of thing that an account can be about."""

    FILM = "film"
    CHARACTER = "character"
    SHOT = "shot"


@dataclass(frozen=True, slots=True)
class Scope:
    """What an account is about. ``code``: of the production, the character or the shot."""

    about: About
    code: str


@dataclass(frozen=True, slots=True)
class InScope:
    """The current entries, fittings and replacements that belong to a scope, in ledger order."""

    entries: tuple[Entry, ...]
    fittings: tuple[Fitting, ...]
    replacements: tuple[Replacement, ...]


def in_scope(results: Snapshot, scope: Scope) -> InScope:
    """What belongs to the film, the character or the shot.

    A character: the work on it, on its copies and on what was ever fitted to them or shown. A shot:
    the work on the shot, and the work of all hands that are in its frames (rule 3.6). Raises
    KeyError for a code that the ledger does not have.
    """
    ledger = results.ledger
    if scope.about is About.FILM:
        return InScope(ledger.entries, ledger.fittings, ledger.replacements)
    if scope.about is About.CHARACTER:
        return _of_character(results, ledger.characters[scope.code].code)
    return _of_shot(results, ledger.shots[scope.code].code)


def _of_character(results: Snapshot, character: str) -> InScope:
    ledger = results.ledger
    copies = ledger.puppets_of.get(character, ())
    fittings = tuple(f for copy in copies for f in ledger.fittings_of_puppet.get(copy, ()))
    shown = tuple(r for r in ledger.replacements if r.character == character)
    parts = {f.part for f in fittings} | {r.part for r in shown}
    numbers = {e.number for e in ledger.entries_by_character.get(character, ())}
    for part in parts:
        numbers.update(e.number for e in ledger.entries_by_part.get(part, ()))
    return InScope(_entries(results, numbers), fittings, shown)


def _of_shot(results: Snapshot, shot: str) -> InScope:
    ledger = results.ledger
    takes = [take for code, take in results.runs if code == shot]
    numbers = {e.number for e in ledger.entries_by_shot.get(shot, ())}
    for take in takes:
        for run in results.hands_of(shot, take):
            numbers.update(number for hand in run.hands for number in hand.entries)
    worn: dict[Fitting, None] = {}
    for take in takes:
        for run_of_take in results.runs[shot, take].runs:
            worn.update(dict.fromkeys(_worn(results, run_of_take.kept)))
    return InScope(
        _entries(results, numbers), tuple(worn), ledger.replacements_by_shot.get(shot, ())
    )


def _worn(results: Snapshot, layers: Iterable[Layer]) -> Iterator[Fitting]:
    for layer in layers:
        for puppet in sorted(layer.puppets):
            for fitting in results.ledger.fittings_of_puppet.get(puppet, ()):
                if layer.day is None or fitting.holds_on(layer.day):
                    yield fitting


def _entries(results: Snapshot, numbers: set[EntryNumber]) -> tuple[Entry, ...]:
    return tuple(entry for entry in results.ledger.entries if entry.number in numbers)


def thing_of(entry: Entry) -> tuple[str, str] | None:
    """Kind and code of what a build entry was done on: a part, a puppet or a character."""
    target = build_target(entry)
    return None if target is None else (str(target[0]), target[1])


ANONYMOUS = ""
UNCREDITED = "uncredited"

Thing = tuple[str, str]


class AgentSaid(Protocol):
    """A person. ``key`` is the code; ANONYMOUS for all who asked to be uncredited, together."""

    @property
    def key(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def isni(self) -> str: ...


class ThingSaid(Protocol):
    """A character, puppet, part or shot. ``frames``: the length of a shot."""

    @property
    def thing(self) -> Thing: ...
    @property
    def name(self) -> str: ...
    @property
    def character(self) -> str: ...
    @property
    def frames(self) -> int: ...


class WorkSaid(Protocol):
    """A piece of work by an agent. ``made``: what came of it; ``used``: what was in hand for it."""

    @property
    def key(self) -> str: ...
    @property
    def craft(self) -> str: ...
    @property
    def craft_name(self) -> str: ...
    @property
    def agent(self) -> str: ...
    @property
    def character(self) -> str: ...
    @property
    def made(self) -> Sequence[Thing]: ...
    @property
    def used(self) -> Sequence[Thing]: ...
    @property
    def shot(self) -> str: ...
    @property
    def take(self) -> int | None: ...
    @property
    def frames(self) -> str: ...
    @property
    def sequence(self) -> str: ...
    @property
    def started_on(self) -> date | None: ...
    @property
    def finished_on(self) -> date | None: ...
    @property
    def stage(self) -> str: ...
    @property
    def note(self) -> str: ...
    @property
    def minutes(self) -> int | None: ...
    @property
    def wait_minutes(self) -> int | None: ...


class DerivedSaid(Protocol):
    """A thing that comes of another: ``how`` is fitted, cast or shown. ``work``: by which work."""

    @property
    def thing(self) -> Thing: ...
    @property
    def of(self) -> Thing: ...
    @property
    def how(self) -> str: ...
    @property
    def work(self) -> str: ...
    @property
    def from_on(self) -> date | None: ...
    @property
    def to_on(self) -> date | None: ...
    @property
    def take(self) -> int | None: ...
    @property
    def frames(self) -> str: ...


class Account(Protocol):
    """The whole account. ``about``: ("film", its code), ("character", ...) or ("shot", ...)."""

    @property
    def title(self) -> str: ...
    @property
    def code(self) -> str: ...
    @property
    def about(self) -> Thing: ...
    @property
    def edition(self) -> str: ...
    @property
    def as_of(self) -> str: ...
    @property
    def cautions(self) -> Sequence[str]: ...
    @property
    def agents(self) -> Sequence[AgentSaid]: ...
    @property
    def things(self) -> Sequence[ThingSaid]: ...
    @property
    def works(self) -> Sequence[WorkSaid]: ...
    @property
    def derived(self) -> Sequence[DerivedSaid]: ...
