"""The puppet hospital: how far each repair is, and how long it took, worked out by hand."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings

from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.review.hospital import RepairState, repair_sum, repairs, repairs_by
from tests.drawn import drawn
from tests.laws.strategies import productions
from tests.small_log import small_ledger

WARD = """
    [people]
    person
    doc
    wilf

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick
    brine-1, brine

    [parts]
    part, character
    coat, wick

    [fittings]
    part, puppet, from_on, to_on
    coat, wick-2, 2026-03-01, 2026-03-09

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48

    [entries]
    craft, person, puppet, part, character, shot, started_on, finished_on, minutes, wait_minutes
    repair, doc, wick-1, , , , 2026-03-02, 2026-03-05, 90, 20
    repair, doc, wick-1, , , , , 2026-03-09, 30
    repair, wilf, , coat, , , , 2026-03-06, 15
    repair, wilf, , coat, , , , 2026-03-12
    repair, wilf, brine-1, , , 010-010, 2026-03-10, , 10, 45
    repair, doc, , , brine, , , , 25
    paint, doc, wick-1, , , , , 2026-03-20

    [lines]
    craft, person, puppet, shot, logged_at
    repair, doc, wick-2, 010-010, 2026-03-18
    repair, doc, brine-1, , 2026-03-25
"""
# The log ends on 20 March.
SHOT_ON = {date(2026, 3, day) for day in (2, 3, 5, 6, 16, 19)}


def test_how_far_each_repair_is_and_how_long_it_took() -> None:
    found = repairs(small_ledger(WARD), SHOT_ON)
    assert [(str(r.entry.number), r.state, r.puppets, r.days, r.shoot_days) for r in found] == [
        ("A-1", RepairState.BACK, ("wick-1",), 4, 3),
        ("A-2", RepairState.BACK, ("wick-1",), 1, 0),
        ("A-3", RepairState.BACK, ("wick-2",), 1, 1),  # which wore the coat that day
        ("A-4", RepairState.BACK, (), 1, 0),  # nobody wore it any more
        ("A-5", RepairState.IN_WORK, ("brine-1",), 11, 2),
        ("A-6", RepairState.UNDATED, (), None, None),
        ("A-8", RepairState.WAITS, ("wick-2",), 3, 1),
        # Written down after the last day of the log: for how long is not known of it.
        ("A-9", RepairState.WAITS, ("brine-1",), None, None),
    ]
    assert [r.character for r in found] == [
        "wick", "wick", "wick", "wick", "brine", "brine", "wick", "brine",
    ]  # fmt: skip
    since = {str(r.entry.number): r.since for r in found}
    assert since["A-1"] == date(2026, 3, 2)
    assert since["A-2"] == date(2026, 3, 9)
    assert since["A-8"] == date(2026, 3, 18)


def test_the_sums_of_a_puppet_and_of_a_character() -> None:
    found = repairs(small_ledger(WARD), SHOT_ON)
    wick = repairs_by(found, lambda r: r.puppets)["wick-1"]
    assert (wick.repairs, wick.finished, wick.days, wick.shoot_days) == (2, 2, 5, 3)
    assert (wick.longest, wick.back_on, wick.minutes, wick.wait) == (4, date(2026, 3, 9), 120, 20)
    characters = repairs_by(found, lambda r: (r.character,))
    brine = characters["brine"]
    assert (brine.repairs, brine.waiting, brine.in_work, brine.finished) == (3, 1, 1, 0)
    assert (brine.days, brine.longest, brine.back_on) == (0, 0, None)
    assert repair_sum(()).back_on is None


@settings(max_examples=drawn(50), deadline=None)
@given(log=productions())
def test_every_repair_is_counted_once_by_character_and_its_time_is_within_the_log(
    log: WrittenLog,
) -> None:
    ledger = replay(log)
    days = {entry.day for entry in ledger.entries if entry.day is not None}
    found = repairs(ledger, days)
    assert [r.entry for r in found] == sorted(
        filter(ledger.is_repair, ledger.entries), key=lambda entry: entry.number
    )
    by_character = repairs_by(found, lambda r: (r.character,)).values()
    whole = repair_sum(found)
    for name in ("repairs", "waiting", "in_work", "finished", "days", "minutes", "wait"):
        assert sum(getattr(own, name) for own in by_character) == getattr(whole, name)
    for r in found:
        if r.state is RepairState.BACK and r.days is not None:
            assert r.shoot_days is not None
            assert 0 <= r.shoot_days <= r.days
        # Whoever reads that nothing waits can rely on it.
        assert (r.state is RepairState.WAITS) is (r.entry.day is None and not r.entry.minutes)
