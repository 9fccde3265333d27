"""Which of two logs says it later: by what each has known, never by a clock."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.model.pasts import Later, Past, last_in_common, later, later_value, to_be_noted


def past(text: str) -> Past[str]:
    """A past of single letters; a dash: it was taken out. The last one is what is said."""
    values = tuple(None if sign == "-" else sign for sign in text)
    return Past(values, values[-1] if values else None)


@pytest.mark.parametrize(
    ("ours", "theirs", "found"),
    [
        ("a", "a", Later.SAME),
        ("a", "ab", Later.THEIRS),
        ("abc", "ab", Later.OURS),
        ("ab", "ac", Later.APART),
        ("", "a", Later.THEIRS),  # it is new there
        ("a-", "a", Later.OURS),  # we have taken it out
        ("a-", "ab", Later.APART),
        ("a-a", "a", Later.SAME),
        ("a-a", "a-", Later.OURS),  # and brought it back
        ("ab", "aba", Later.THEIRS),  # they went back to what it was, and knew what it had become
        ("abab", "aba", Later.OURS),
        ("aba", "abc", Later.APART),  # we went back, while they went on
        ("ab", "ba", Later.APART),  # each made it by itself
    ],
)
def test_whoever_knows_what_the_other_says_says_it_later(
    ours: str, theirs: str, found: Later
) -> None:
    turned = {Later.OURS: Later.THEIRS, Later.THEIRS: Later.OURS}
    assert later(past(ours), past(theirs)) is found
    assert later(past(theirs), past(ours)) is turned.get(found, found)


@pytest.mark.parametrize(
    ("ours", "theirs", "base"), [("ab", "ac", "a"), ("abx", "aby", "b"), ("a", "b", None)]
)
def test_the_last_value_that_both_have_had(ours: str, theirs: str, base: str | None) -> None:
    assert last_in_common(past(ours), past(theirs)) == base
    assert last_in_common(past(theirs), past(ours)) == base


pasts = st.text("abc-", max_size=5).map(past)


def taken_in(ours: Past[str], theirs: Past[str], decided: str | None) -> Past[str]:
    """What ours has known and says when it has taken in theirs."""
    said = later_value(ours, theirs, decided)
    known = [*ours.values]
    if said != ours.said:
        known.append(said)
    noted = to_be_noted(ours, theirs, said)
    return Past((*known, *noted.elements()), said)


@given(pasts, pasts, st.sampled_from(["a", "b", None]))
def test_both_come_to_say_the_same_whoever_takes_in_whom(
    ours: Past[str], theirs: Past[str], decided: str | None
) -> None:
    one, other = taken_in(ours, theirs, decided), taken_in(theirs, ours, decided)
    assert one.said == other.said
    assert Counter(one.values) == Counter(other.values)
    assert taken_in(one, theirs, None) == one  # once more says nothing new
    assert taken_in(theirs, one, None).said == one.said  # and nobody is asked again


@given(pasts, pasts, st.sampled_from(["a", "b", None]), st.sampled_from(["c", "d", None]))
def test_what_is_said_after_that_is_later_for_both(
    ours: Past[str], theirs: Past[str], decided: str | None, new: str | None
) -> None:
    one = taken_in(ours, theirs, decided)
    other = taken_in(theirs, one, None)
    after = Past((*other.values, new), new)
    if new != other.said:
        assert later(one, after) is Later.THEIRS
