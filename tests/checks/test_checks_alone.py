"""A law of checks: the cases of one shot, person, puppet, ... can be found alone.

Whoever keeps what was found asks again only what an entry may have changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from operator import attrgetter
from typing import Any

from hypothesis import given, settings

from credits.billing.credits import Credits
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Known
from credits.figures.snapshot import Snapshot
from credits.model.ledger import Entry, Ledger
from credits.model.log import WrittenLog
from credits.model.replay import grouped, replay
from tests.drawn import drawn
from tests.laws.strategies import productions

BY_WHAT = ("person", "shot", "character", "puppet", "part")


def only(table: Mapping[str, Any], code: str) -> dict[str, Any]:
    """The row of one code alone."""
    return {code: table[code]} if code in table else {}


def with_entries(ledger: Ledger, wanted: Callable[[Entry], bool]) -> Ledger:
    """A ledger that holds some entries only."""
    entries = tuple(filter(wanted, ledger.entries))
    look_ups: dict[str, Any] = {
        f"entries_by_{name}": grouped(entries, attrgetter(name)) for name in BY_WHAT
    }
    return replace(ledger, entries=entries, **look_ups)


def of_shot(known: Known, shot: str) -> Known:
    """What is known of one shot."""
    ledger = replace(
        with_entries(known.ledger, lambda entry: entry.shot == shot),
        shots=only(known.ledger.shots, shot),
        takes_of=only(known.ledger.takes_of, shot),
        replacements_by_shot=only(known.ledger.replacements_by_shot, shot),
    )
    runs = {key: own for key, own in known.runs.items() if key[0] == shot}
    use = known.use
    if use is not None:
        use = replace(use, used={key: f for key, f in use.used.items() if key[0] == shot})
    return replace(known, ledger=ledger, runs=runs, use=use)


def of_person(known: Known, person: str) -> Known:
    """What is known of one person."""
    ledger = with_entries(known.ledger, lambda entry: entry.person == person)
    engagements = only(known.ledger.engagements, person)
    return replace(known, ledger=replace(ledger, engagements=engagements))


def of_puppet(known: Known, puppet: str) -> Known:
    """What is known of one puppet."""
    ledger = with_entries(known.ledger, lambda entry: entry.puppet == puppet)
    return replace(known, ledger=replace(ledger, puppets=only(known.ledger.puppets, puppet)))


def of_part(known: Known, part: str) -> Known:
    """What is known of one part: its fittings, and the shots that show it."""
    shown = [own for own in known.ledger.replacements if own.part == part]
    shots = {own.shot for own in shown}
    ledger = replace(
        with_entries(known.ledger, lambda entry: entry.shot in shots),
        fittings_of_part=only(known.ledger.fittings_of_part, part),
        replacements_by_shot=grouped(shown, attrgetter("shot")),
    )
    runs = {key: own for key, own in known.runs.items() if key[0] in shots}
    return replace(known, ledger=ledger, runs=runs)


def of_character(known: Known, character: str) -> Known:
    """What is known of one character."""
    ledger = with_entries(known.ledger, lambda entry: entry.character == character)
    characters = only(known.ledger.characters, character)
    return replace(known, ledger=replace(ledger, characters=characters))


def of_day(known: Known, day: object) -> Known:
    """What is known of one day."""
    return replace(known, ledger=with_entries(known.ledger, lambda entry: entry.day == day))


def alone(known: Known, scope: str) -> Iterable[Known]:
    """What is known, in parts of a scope: each shot, each person, ..."""
    ledger = known.ledger
    match scope:
        case "shot":
            return (of_shot(known, code) for code in ledger.shots)
        case "person":
            people = ledger.entries_by_person.keys() | ledger.engagements
            return (of_person(known, code) for code in people)
        case "puppet":
            return (of_puppet(known, code) for code in ledger.puppets)
        case "part":
            return (of_part(known, code) for code in ledger.parts)
        case "character":
            return (of_character(known, code) for code in ledger.characters)
        case "day":
            return (of_day(known, day) for day in {entry.day for entry in ledger.entries})
        case "log":
            return (known,)
    raise ValueError(scope)


def in_order(cases: Iterable[Check]) -> list[Check]:
    return sorted(cases, key=lambda case: (case.place, repr(case)))


@settings(max_examples=drawn(120), deadline=None)
@given(log=productions())
def test_cases_found_one_thing_at_a_time_are_those_found_at_once(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    appearance = tuple(character for character, _ in results.first_seen)
    known = Known(
        ledger=results.ledger,
        runs=results.runs,
        use=results.use,
        credits=Credits(plan="a plan", order_of_appearance=appearance),
    )
    for check in CHECKS:
        at_once = in_order(check.find(known))
        parts = [in_order(check.find(part)) for part in alone(known, check.scope)]
        assert in_order(case for found in parts for case in found) == at_once, check.kind


def test_every_check_says_what_a_case_of_it_rests_on() -> None:
    """Of the log: the cut with all shots, names beside all others, lines, the whole credits."""
    assert {check.kind for check in CHECKS if check.scope == "log"} == {
        "amended-twice",
        "cut-shot-unknown",
        "left-out",
        "name-unconfirmed",
        "names-alike",
        "sort-name-missing",
    }
