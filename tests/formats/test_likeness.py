"""Rows that are like an entry: one thing at the most is different."""

from __future__ import annotations

import math
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from credits.formats.tables.pairs import WHAT_IT_IS_ABOUT, Likely, like_pairs
from credits.model.facts import Work

works = st.builds(
    Work,
    craft=st.sampled_from(["animation", "paint"]),
    person=st.sampled_from(["ana", "ben"]),
    character=st.sampled_from(["wick", "brine"]),
    take=st.sampled_from([None, 1, 2]),
    finished_on=st.sampled_from([None, date(2026, 3, 2), date(2026, 3, 3)]),
    minutes=st.sampled_from([None, 30, 45]),
)


def likely(work: Work, at: int = 0, keyed: bool = False) -> Likely:
    return Likely(works=(work,), keyed=keyed, at=at, until=math.inf)


def differences(one: Work, other: Work) -> int:
    return sum(getattr(one, name) != getattr(other, name) for name in WHAT_IT_IS_ABOUT)


@given(rows=st.lists(works, max_size=8), entries=st.lists(works, max_size=8))
def test_pairs_are_alike_and_nothing_alike_is_left_on_both_sides(
    rows: list[Work], entries: list[Work]
) -> None:
    found = like_pairs(
        [likely(work, -1) for work in rows], [likely(work, at) for at, work in enumerate(entries)]
    )
    assert len(set(found.values())) == len(found)
    assert all(differences(rows[row], entries[entry]) <= 1 for row, entry in found.items())
    rows_left = [work for at, work in enumerate(rows) if at not in found]
    entries_left = [work for at, work in enumerate(entries) if at not in found.values()]
    assert all(differences(row, entry) > 1 for row in rows_left for entry in entries_left)


ANA = Work(craft="paint", person="ana", character="wick", finished_on=date(2026, 3, 2), minutes=30)


def other(**changes: object) -> Work:
    values = {"craft": "paint", "person": "ana", "character": "wick", "minutes": 30}
    return Work(**{**values, "finished_on": date(2026, 3, 2), **changes})  # type: ignore[arg-type]


def test_the_entry_with_most_columns_equal_is_meant() -> None:
    entries = [likely(other(minutes=45, note="x"), 1), likely(other(minutes=45), 2)]
    assert like_pairs([likely(ANA)], entries) == {0: 1}
    far = [likely(other(person="ben"), 1), likely(other(minutes=45, note="x"), 2)]
    assert like_pairs([likely(ANA)], far) == {0: 1}


def test_begun_and_finished_are_one_day() -> None:
    begun = other(started_on=date(2026, 3, 1), person="ben")
    assert like_pairs([likely(ANA)], [likely(begun)]) == {0: 0}
    assert like_pairs([likely(ANA)], [likely(other(person="ben", take=2))]) == {}


def test_another_day_is_like_between_the_same_neighbours_alone() -> None:
    entries = [likely(other(finished_on=date(2026, 3, 3)), at=5)]

    def between(at: int, until: float | None) -> dict[int, int]:
        return like_pairs([Likely(works=(ANA,), keyed=False, at=at, until=until)], entries)

    assert between(4, 6) == {0: 0}
    assert between(4, math.inf) == {0: 0}
    assert between(5, math.inf) == {}
    assert between(-1, 5) == {}
    assert between(-1, None) == {}


def test_two_keys_are_two_rows() -> None:
    entry = likely(other(minutes=45), keyed=True)
    assert like_pairs([likely(ANA, keyed=True)], [entry]) == {}
    assert like_pairs([likely(ANA)], [entry]) == {0: 0}


def test_many_alike_are_paired_in_their_order() -> None:
    entries = [likely(other(minutes=at, note="old"), at) for at in range(3000)]
    rows = [likely(other(minutes=at, note="new"), -1) for at in range(1000, 4000)]
    found = like_pairs(rows, entries)
    assert found == {at: at for at in range(3000)}
