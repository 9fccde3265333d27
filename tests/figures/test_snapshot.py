"""A snapshot: figures of one state of a production, computed when asked for and kept."""

from __future__ import annotations

import pytest

from credits.billing import compile as compiling
from credits.figures import snapshot
from credits.figures.snapshot import Snapshot
from tests.small_log import WORKED_EXAMPLE, small_ledger


def test_a_figure_is_computed_when_it_is_asked_for_and_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[str] = []
    for room, name in (
        (snapshot, "claim_runs"),
        (compiling, "compile_credits"),
        (snapshot, "find_checks"),
    ):
        computed = getattr(room, name)
        monkeypatch.setattr(room, name, lambda *a, n=name, c=computed: (asked.append(n), c(*a))[1])
    film = Snapshot(small_ledger(WORKED_EXAMPLE))
    assert asked == []
    assert film.footage is film.footage
    assert asked == ["claim_runs"]
    assert film.open_checks is film.open_checks
    assert asked == ["claim_runs", "compile_credits", "find_checks"]


def test_the_parts_of_footage_are_the_whole() -> None:
    film = Snapshot(small_ledger(WORKED_EXAMPLE))
    whole = film.footage.total
    for parts in (film.footage_by_person, film.footage_by_character, film.footage_by_shot):
        assert sum(part.total.by_shot.kept for part in parts.values()) == whole.by_shot.kept


def test_every_check_is_open_or_answered() -> None:
    film = Snapshot(small_ledger(WORKED_EXAMPLE))
    assert {*film.open_checks, *(each.check for each in film.settled)} == set(film.checks)
