"""Causes are found by trying: what is tried, what is named, and when the search stops."""

from __future__ import annotations

from collections.abc import Callable
from itertools import permutations

import pytest

from credits.app.end_credits.cause_words import PLAN, CauseWords
from credits.billing.compared.causes import (
    LEAST_TRIES,
    OF_PEOPLE,
    TRIES_A_CHANGE,
    Candidate,
    CauseSearch,
)
from credits.billing.compared.changes import CreditChange, changes_told
from credits.billing.compared.edits import edits_between
from credits.billing.compared.plan_changes import PlanChange, PlanEdit
from credits.billing.credits import Credits, Line, Section
from tests.small_log import WORKED_EXAMPLE, small_ledger

KEYS = tuple(f"entry {number}" for number in range(1, 9))
CANDIDATES = tuple(
    Candidate(key, ("lines", "ana" if n % 2 else "ben")) for n, key in enumerate(KEYS)
)


def with_people(*people: str, heading: str = "Animators") -> Credits:
    lines = tuple(
        Line(person=code, name=code.capitalize(), confirmed=True, because=()) for code in people
    )
    return Credits(plan="a plan", sections=(Section(heading=heading, lines=lines),))


BEFORE, AFTER = with_people("ben"), with_people("ana", "ben")


class Tried:
    """Compiles the newer credits without some entries, and counts."""

    def __init__(self, is_undone: Callable[[frozenset[object]], bool]) -> None:
        self.count = 0
        self._is_undone = is_undone

    def __call__(self, undone: frozenset[object], people: object) -> Credits:  # noqa: ARG002
        self.count += 1
        return BEFORE if self._is_undone(undone) else AFTER


def the_change() -> CreditChange:
    (change,) = changes_told(edits_between(BEFORE, AFTER), BEFORE, AFTER)
    return change


def search(tried: Tried, closed: Callable[[frozenset[object]], frozenset[object]]) -> CauseSearch:
    return CauseSearch(BEFORE, AFTER, CANDIDATES, tried, closed, {})


def alone(undone: frozenset[object]) -> frozenset[object]:
    return undone


@pytest.mark.parametrize(
    "cause",
    [{"entry 3"}, {"entry 8"}, {"entry 2", "entry 4"}, {"entry 1", "entry 8"}, set(KEYS)],
)
def test_the_smallest_set_that_undoes_the_change_is_found(cause: set[str]) -> None:
    tried = Tried(lambda undone: undone >= cause)
    assert search(tried, alone).causes_of(the_change(), ()) == cause
    assert tried.count <= TRIES_A_CHANGE + 2


def test_where_one_of_two_is_enough_the_likelier_is_named() -> None:
    tried = Tried(lambda undone: bool(undone & {"entry 3", "entry 6"}))
    found = search(tried, alone).causes_of(the_change(), [["entry 6"]])
    assert found == {"entry 6"}


def test_nothing_is_named_where_nothing_undoes_the_change() -> None:
    tried = Tried(lambda _: False)
    looked = search(tried, alone)
    assert looked.causes_of(the_change(), [["entry 3"]]) == frozenset()
    assert not looked.is_spent
    assert tried.count == 2  # as it is, and without all that came later


def test_nothing_is_named_where_the_newer_credits_are_compiled_otherwise_now() -> None:
    tried = Tried(lambda _: True)
    assert search(tried, alone).causes_of(the_change(), ()) == frozenset()


def test_what_cannot_be_without_another_is_undone_with_it() -> None:
    def closed(undone: frozenset[object]) -> frozenset[object]:
        return undone | {"entry 5"} if "entry 4" in undone else undone

    tried = Tried(lambda undone: "entry 4" in undone)
    assert search(tried, closed).causes_of(the_change(), ()) == {"entry 4", "entry 5"}


def test_what_was_tried_for_one_change_is_not_tried_again() -> None:
    tried = Tried(lambda undone: "entry 3" in undone)
    looked = search(tried, alone)
    change = the_change()
    looked.causes_of(change, ())
    count = tried.count
    assert looked.causes_of(change, ()) == {"entry 3"}
    assert tried.count == count


def test_tries_are_counted_and_end() -> None:
    whole = {key: number for number, key in enumerate(KEYS)}
    tried = Tried(lambda undone: len(undone) >= 4 and sum(whole[str(key)] for key in undone) > 20)
    looked = search(tried, alone)
    for _ in range(60):
        looked.causes_of(the_change(), ())
    assert tried.count <= OF_PEOPLE + LEAST_TRIES + 2


def test_causes_in_a_plan_are_told_by_their_places_however_they_were_found() -> None:
    words = CauseWords(
        ledger=small_ledger(WORKED_EXAMPLE), lines={}, rows={}, words={}, cut=(None, None)
    )
    keys = [
        (PLAN, PlanChange(edit=PlanEdit.SET, field="title", old="A", new="B")),
        (PLAN, PlanChange(edit=PlanEdit.SET, at=2, heading="Cast", field="note", new="x")),
        (PLAN, PlanChange(edit=PlanEdit.NEW, at=2, heading="Cast")),
        (PLAN, PlanChange(edit=PlanEdit.NEW, at=10, heading="Crew")),
    ]
    told = [words.why(order, "") for order in permutations(keys)]
    assert len(told[0]) == len(keys)
    assert set(told) == {told[0]}
    assert "section" not in told[0][0]
    assert "'Crew'" in told[0][-1]
