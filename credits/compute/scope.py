"""What an account of who made what is about: the film, a character or a shot, and what belongs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from credits.compute.hand import build_target
from credits.compute.results import Results
from credits.footage.claims import Layer
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


def in_scope(results: Results, scope: Scope) -> InScope:
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


def _of_character(results: Results, character: str) -> InScope:
    ledger = results.ledger
    copies = ledger.puppets_of.get(character, ())
    fittings = tuple(f for copy in copies for f in ledger.fittings_of_puppet.get(copy, ()))
    shown = tuple(r for r in ledger.replacements if r.character == character)
    parts = {f.part for f in fittings} | {r.part for r in shown}
    numbers = {e.number for e in ledger.entries_by_character.get(character, ())}
    for part in parts:
        numbers.update(e.number for e in ledger.entries_by_part.get(part, ()))
    return InScope(_entries(results, numbers), fittings, shown)


def _of_shot(results: Results, shot: str) -> InScope:
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


def _worn(results: Results, layers: Iterable[Layer]) -> Iterator[Fitting]:
    for layer in layers:
        for puppet in sorted(layer.puppets):
            for fitting in results.ledger.fittings_of_puppet.get(puppet, ()):
                if layer.day is None or fitting.holds_on(layer.day):
                    yield fitting


def _entries(results: Results, numbers: set[EntryNumber]) -> tuple[Entry, ...]:
    return tuple(entry for entry in results.ledger.entries if entry.number in numbers)


def thing_of(entry: Entry) -> tuple[str, str] | None:
    """Kind and code of what a build entry was done on: a part, a puppet or a character."""
    target = build_target(entry)
    return None if target is None else (str(target[0]), target[1])
