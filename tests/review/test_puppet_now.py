"""Where a puppet is now: by what its entries say, on the last day of the log."""

from __future__ import annotations

from datetime import date

import pytest

from credits.review.hospital import is_open
from credits.review.puppet_now import PuppetNow, puppet_now
from tests.small_log import small_ledger

LOG = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [parts]
    part, kind, character
    coat, costume, wick
    kit-a, face kit, wick
    kit-b, face kit, wick

    [fittings]
    part, puppet, from_on, to_on
    coat, wick-1, 2026-02-01,
    kit-a, wick-1, 2026-02-01, 2026-03-09
    kit-b, wick-1, 2026-03-10,

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48

    [entries]
    craft, person, puppet, shot, frames, started_on, finished_on, minutes, note
    casting, ben, wick-1, , , , 2026-01-15, ,
    animation, ana, wick-1, 010-010, 1-10, , 2026-03-02, ,
    animation, ana, wick-1, 010-010, 11-48, , 2026-03-10, ,
"""


def state(*repairs: str, today: date = date(2026, 3, 10)) -> PuppetNow:
    ledger = small_ledger(LOG + "".join(f"    repair, ben, wick-1, {line}\n" for line in repairs))
    entries = ledger.entries_by_puppet["wick-1"]
    fittings = ledger.fittings_of_puppet["wick-1"]
    return puppet_now(ledger, entries, fittings, filter(ledger.is_repair, entries), today)


@pytest.mark.parametrize(
    ("repair", "open_", "in_hospital"),
    [
        (", , , , , asked for", True, False),
        (", , 2026-03-03, , , begun and photographed since", True, False),
        (", , 2026-03-10, , , begun after it was last seen", True, True),
        (", , 2026-03-10, 2026-03-11, , done", False, False),
        (", , , 2026-03-11, 20, done", False, False),
        (", , , , 20, done on a day that nobody wrote down", False, False),
    ],
)
def test_a_repair_is_open_until_it_is_finished(repair: str, open_: bool, in_hospital: bool) -> None:
    now = state(repair)
    assert [entry.work.note for entry in now.waits_for] == [repair.split(", ", 5)[5]] * open_
    assert all(map(is_open, now.waits_for))
    assert now.in_hospital == in_hospital


@pytest.mark.parametrize(
    ("today", "worn"),
    [
        (date(2026, 1, 31), []),
        (date(2026, 2, 1), ["coat", "kit-a"]),
        (date(2026, 3, 9), ["coat", "kit-a"]),
        (date(2026, 3, 10), ["coat", "kit-b"]),
    ],
)
def test_it_wears_what_is_fitted_on_the_day(today: date, worn: list[str]) -> None:
    assert [fitting.part for fitting in state(today=today).worn] == worn


def test_the_last_repair_is_the_last_that_was_finished() -> None:
    now = state(", , , 2026-03-05, , ear", ", , , 2026-03-03, , wrist", ", , 2026-03-10, , , knee")
    assert now.repaired is not None
    assert now.repaired.work.note == "ear"
    assert now.last is not None
    assert (str(now.last.day), now.last.shot) == ("2026-03-10", "010-010")


def test_a_puppet_of_which_nothing_is_known() -> None:
    ledger = small_ledger(LOG)
    assert puppet_now(ledger, (), (), (), date.min) == PuppetNow(
        last=None, worn=(), repaired=None, waits_for=(), in_hospital=False
    )
