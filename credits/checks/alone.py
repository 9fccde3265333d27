"""What is known of one shot, person, puppet alone: enough to find the cases that rest on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from operator import attrgetter
from typing import Any

from credits.checks.rule import Check, Known
from credits.model.ledger import Entry, Ledger
from credits.model.replay import BY_WHAT, grouped, looked_at

SCOPES = ("shot", "person", "puppet", "part", "character", "day")


def _only(table: Mapping[Any, Any], code: Any) -> dict[Any, Any]:
    return {code: table[code]} if code in table else {}


def _with(ledger: Ledger, entries: Iterable[Entry]) -> Ledger:
    """Return a ledger that has some entries only."""
    own = tuple(entries)
    look_ups: dict[str, Any] = {
        f"entries_by_{name}": grouped(own, attrgetter(name)) for name in BY_WHAT
    }
    return replace(ledger, entries=own, brief=own, **looked_at(own, ledger.crafts), **look_ups)


def _of_shot(known: Known, shot: str) -> Known:
    ledger = replace(
        _with(known.ledger, known.ledger.entries_by_shot.get(shot, ())),
        shots=_only(known.ledger.shots, shot),
        takes_of=_only(known.ledger.takes_of, shot),
        replacements_by_shot=_only(known.ledger.replacements_by_shot, shot),
    )
    runs = {take: known.runs[take] for take in known.runs if take[0] == shot}
    use = known.use
    if use is not None:
        use = replace(use, used={take: f for take, f in use.used.items() if take[0] == shot})
    return replace(known, ledger=ledger, runs=runs, use=use)


def _of_person(known: Known, person: str) -> Known:
    ledger = _with(known.ledger, known.ledger.entries_by_person.get(person, ()))
    return replace(
        known, ledger=replace(ledger, engagements=_only(known.ledger.engagements, person))
    )


def _of_puppet(known: Known, puppet: str) -> Known:
    ledger = _with(known.ledger, known.ledger.entries_by_puppet.get(puppet, ()))
    return replace(known, ledger=replace(ledger, puppets=_only(known.ledger.puppets, puppet)))


def _of_part(known: Known, part: str) -> Known:
    """What is known of a part: its fittings, and the shots that show it."""
    whole = known.ledger
    shown = [own for own in whole.replacements if own.part == part]
    shots = dict.fromkeys(own.shot for own in shown)
    entries = (entry for shot in shots for entry in whole.entries_by_shot.get(shot, ()))
    ledger = replace(
        _with(whole, entries),
        fittings_of_part=_only(whole.fittings_of_part, part),
        replacements_by_shot=grouped(shown, attrgetter("shot")),
    )
    runs = {take: known.runs[take] for take in known.runs if take[0] in shots}
    return replace(known, ledger=ledger, runs=runs)


def _of_character(known: Known, character: str) -> Known:
    ledger = _with(known.ledger, known.ledger.entries_by_character.get(character, ()))
    characters = _only(known.ledger.characters, character)
    return replace(known, ledger=replace(ledger, characters=characters))


def _of_day(known: Known, day: str) -> Known:
    found = known.ledger.entries_by_day.get(date.fromisoformat(day), ())
    return replace(known, ledger=_with(known.ledger, found))


_KNOWN_OF = {
    "shot": _of_shot,
    "person": _of_person,
    "puppet": _of_puppet,
    "part": _of_part,
    "character": _of_character,
    "day": _of_day,
}


def alone(known: Known, scope: str, code: str) -> Known:
    """Return what is known of one thing, from which its cases are found, no more and no less.

    scope: one of SCOPES. code: of the shot, the person, ...; a day as 2026-03-02.
    """
    return _KNOWN_OF[scope](known, code)


def rests_on(case: Check) -> str:
    """Return the code of what a case rests on, by the scope of its check."""
    kind = "date" if case.scope == "day" else case.scope
    named = next((code for each, code in case.subjects if each == kind), None)
    if named is not None:
        return named
    value = getattr(case, case.scope)
    return str(getattr(value, "code", value))
