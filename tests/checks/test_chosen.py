"""Checks are chosen by day, stage, person and kind: by what they name, or an entry of theirs."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.checks.chosen import CheckFilter
from credits.figures.snapshot import Snapshot
from credits.units.film_time import Period
from tests.checks.test_standing import HOSPITAL, ROUND, rows
from tests.small_log import small_ledger

FIRST = date(2026, 3, 2)


def chosen(text: str, wanted: CheckFilter) -> list[tuple[str, str]]:
    results = Snapshot(small_ledger(text))
    found = wanted.of(results.checks, results.ledger)
    return [(each.kind, " ".join(code for _, code in each.subjects)) for each in found]


def test_without_a_wish_all_are_chosen() -> None:
    results = Snapshot(small_ledger(HOSPITAL))
    assert CheckFilter().of(results.checks, results.ledger) == results.checks
    assert not CheckFilter().is_given


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (CheckFilter(people=frozenset({"ana"})), ["ana"]),
        (CheckFilter(period=Period(FIRST, FIRST)), ["ana"]),
        (CheckFilter(period=Period(FIRST, None)), ["ana", "ben"]),
        (CheckFilter(period=Period(date(2026, 3, 5), None)), []),
        (CheckFilter(stages=frozenset({"S1"})), ["ana", "ben"]),
        (CheckFilter(stages=frozenset({"S3"})), []),
        (CheckFilter(stages=frozenset({"S2"}), period=Period(FIRST, FIRST)), ["ana"]),
    ],
)
def test_a_check_that_names_a_person_is_about_the_days_and_stages_of_its_entries(
    wanted: CheckFilter, found: list[str]
) -> None:
    own = [who for kind, who in chosen(HOSPITAL, wanted) if kind == "no-engagement"]
    assert own == found


def test_one_entry_must_meet_every_wish() -> None:
    text = (
        f"{ROUND}    repair, ana, wick-1, S1, 2026-03-02\n    repair, ana, wick-1, S2, 2026-03-03\n"
    )
    wanted = CheckFilter(stages=frozenset({"S2"}), period=Period(FIRST, FIRST))
    assert chosen(text, wanted) == []


@given(rows=rows, day=st.sampled_from([2, 3, 4]), stage=st.sampled_from(["S1", "S2", None]))
def test_the_questions_of_two_places_are_chosen_as_their_entries_say(
    rows: list[tuple[str, str, str, str]], day: int, stage: str | None
) -> None:
    text = ROUND + "".join(f"    {c}, {p}, wick-1, {s}, {d}\n" for c, p, s, d in rows)
    on = date(2026, 3, day)
    wanted = CheckFilter(
        kinds=frozenset({"person-in-two-places"}),
        period=Period(on, on),
        stages=None if stage is None else frozenset({stage}),
    )
    seen = {
        who: {s for _, p, s, d in rows if p == who and d == on.isoformat()}
        for who in ("ana", "ben")
    }
    expected = [w for w, own in seen.items() if len(own) > 1 and (stage is None or stage in own)]
    assert [subjects.split()[0] for _, subjects in chosen(text, wanted)] == expected
