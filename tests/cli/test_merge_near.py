"""Codes that may be one thing, written differently; and those that count copies."""

from __future__ import annotations

import pytest

from credits.app.logs.merge_near import codes_alike, near_matches
from credits.model.facts import Person, Puppet
from credits.model.merging import Key, Lists
from credits.model.pasts import Past


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("wick-1", "wick_1"),
        ("wick-1", "Wick 01"),
        ("wick-1", "wick1"),
        ("wick-1", "wik-1"),
        ("wick-face-3", "wick-faces-3"),
        ("010-020", "10_20"),
        ("stage-a", "Stage A"),
    ],
)
def test_codes_that_may_be_one(one: str, other: str) -> None:
    assert codes_alike(one, other)
    assert codes_alike(other, one)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("wick-1", "wick-2"),
        ("wick-1", "wick-11"),
        ("wick-a", "wick-b"),
        ("wick-1", "brine-1"),
        ("010-020", "010-030"),
        ("S1", "S2"),
        ("wick-1", "wick-1-head"),
    ],
)
def test_codes_that_are_two(one: str, other: str) -> None:
    assert not codes_alike(one, other)
    assert not codes_alike(other, one)


def lists(**rows: tuple[Person | Puppet, ...]) -> Lists:
    def pasts(table: str) -> dict[Key, Past[object]]:
        return {(row.code,): Past((row,), row) for row in rows.get(table, ())}

    names = ("people", "characters", "puppets", "parts", "stages", "sequences", "shots", "crafts")
    return {name: pasts(name) for name in names}


def found(ours: Lists, theirs: Lists) -> list[tuple[str, str]]:
    return [(match.ours.code, match.theirs.code) for match in near_matches(ours, theirs)]


def person(code: str, name: str, legal: str | None = None) -> Person:
    return Person(code=code, credit_name=name, legal_name=legal)


def test_people_are_compared_by_every_name_that_they_have() -> None:
    ours = lists(people=(person("dora", "Dora Lindt"), person("eve", "Eve Marsh")))
    assert found(ours, lists(people=(person("d1", "Lindt Dora"),))) == [("dora", "d1")]
    assert found(ours, lists(people=(person("d1", "Dodo", "Dora Lint"),))) == [("dora", "d1")]
    assert found(ours, lists(people=(person("evi", "Ivo Brand"),))) == []


def test_whom_either_log_has_under_both_codes_is_not_asked_about() -> None:
    dora, other = person("dora", "Dora Lindt"), person("d1", "Dora Lint")
    assert found(lists(people=(dora,)), lists(people=(dora, other))) == []
    assert found(lists(people=(dora, other)), lists(people=(other,))) == []
    assert found(lists(people=(dora,)), lists(people=(other,))) == [("dora", "d1")]


def test_many_copies_are_compared_in_a_moment() -> None:
    """What they may share is looked up; not every one is held against every other."""
    ours = lists(puppets=tuple(Puppet(code=f"wick-{n}", character="wick") for n in range(3000)))
    theirs = lists(puppets=tuple(Puppet(code=f"brine-{n}", character="brine") for n in range(3000)))
    assert found(ours, theirs) == []
