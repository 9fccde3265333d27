"""Pairing rows with entries one to one."""

from __future__ import annotations

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from credits.formats.tables.pairs import most_pairs


def test_an_offer_goes_to_the_one_that_has_no_other() -> None:
    assert set(most_pairs(["a", "b"], [{"a", "b"}, {"a"}])) == {0, 1}


def test_equal_rows_need_an_offer_each() -> None:
    assert set(most_pairs(["a", "a", "a"], [{"a"}, {"a", "b"}])) == {0, 1}


def most_by_trial(wanted: list[str], offered: list[set[str]]) -> int:
    spare = offered + [set[str]()] * len(wanted)
    return max(
        sum(thing in offer for thing, offer in zip(wanted, order, strict=False))
        for order in permutations(spare, len(wanted))
    )


@given(
    wanted=st.lists(st.sampled_from("abc"), max_size=4),
    offered=st.lists(st.sets(st.sampled_from("abc"), max_size=3), max_size=3),
)
def test_no_other_way_of_pairing_has_more_pairs(wanted: list[str], offered: list[set[str]]) -> None:
    paired = set(most_pairs(wanted, offered))
    assert len(paired) == most_by_trial(wanted, offered)
    assert paired <= set(range(len(wanted)))
