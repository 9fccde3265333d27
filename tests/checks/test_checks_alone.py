"""A law of checks: the cases of one shot, person, puppet, ... can be found alone.

Whoever keeps what was found asks again only what an entry may have changed.
"""

from __future__ import annotations

from collections.abc import Iterable

from hypothesis import given, settings

from credits.billing.credits import Credits
from credits.checks.alone import alone, rests_on
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Known
from credits.figures.snapshot import Snapshot
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.drawn import drawn
from tests.laws.strategies import productions


def codes_of(scope: str, ledger: Ledger) -> Iterable[str]:
    """Everything of a scope that a case may rest on."""
    if scope == "person":
        return ledger.entries_by_person.keys() | ledger.engagements
    if scope == "day":
        return {day.isoformat() for day in ledger.entries_by_day}
    found: Iterable[str] = getattr(ledger, f"{scope}s")
    return found


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
        if check.scope == "log":
            continue
        codes = codes_of(check.scope, known.ledger)
        parts = {code: tuple(check.find(alone(known, check.scope, code))) for code in codes}
        assert in_order(case for found in parts.values() for case in found) == at_once, check.kind
        assert all(rests_on(case) == code for code, found in parts.items() for case in found)


def test_every_check_says_what_a_case_of_it_rests_on() -> None:
    """Of the log: the cut with all shots, names beside all others, lines, the whole credits."""
    assert {check.kind for check in CHECKS if check.scope == "log"} == {
        "amended-twice",
        "answer-in-the-future",
        "billing-number-twice",
        "cut-shot-unknown",
        "guarantee-against-wish",
        "guarantee-in-other-words",
        "guarantee-missing",
        "guaranteed-twice",
        "headings-alike",
        "left-out",
        "line-alike",
        "line-spaced",
        "line-unconfirmed",
        "name-spaced",
        "name-unconfirmed",
        "names-alike",
        "sort-name-missing",
    }
