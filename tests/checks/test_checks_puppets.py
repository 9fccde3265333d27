"""Checks of puppets and of the parts fitted to them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.credits import Credits
from credits.checks.places import PartOnTwoPuppets
from credits.checks.rule import Known, Severity
from credits.figures.snapshot import Snapshot
from credits.model.facts import Fitting
from tests.checks.small_checks import FILM, checks_of, numbers, the_check_of
from tests.small_log import small_ledger

# --- part-on-two-puppets


def test_a_part_fitted_to_two_puppets_at_the_same_time() -> None:
    text = """
        [fittings]
        part, puppet, from_on, to_on
        smile, wick-1, 2026-03-01, 2026-03-09
        smile, wick-2, 2026-03-08
    """
    check = the_check_of("part-on-two-puppets", FILM + text)
    assert check.severity is Severity.WRONG
    assert check.subjects == (("part", "smile"), ("puppet", "wick-1"), ("puppet", "wick-2"))
    assert check.entries == ()
    assert check.message == (
        "Part smile (mouth) is fitted to wick-1 (from 2026-03-01 to 2026-03-09) and to wick-2 "
        "(from 2026-03-08, without an end) at the same time."
    )
    assert "fittings table" in check.hint


@pytest.mark.parametrize(
    ("puppet", "from_on"),
    [("wick-2", "2026-03-10"), ("wick-2", "2026-03-09"), ("wick-1", "2026-03-05")],
    ids=["the day after it was taken off", "the same day", "on the same puppet once more"],
)
def test_a_part_on_one_puppet_at_a_time(puppet: str, from_on: str) -> None:
    text = f"""
        [fittings]
        part, puppet, from_on, to_on
        smile, wick-1, 2026-03-01, 2026-03-09
        smile, {puppet}, {from_on}, 2026-03-20
    """
    assert checks_of("part-on-two-puppets", FILM + text) == ()


DAYS = st.integers(0, 12).map(lambda days: date(2026, 3, 1) + timedelta(days))


@given(st.lists(st.tuples(st.sampled_from("abc"), DAYS, st.one_of(st.none(), DAYS)), max_size=7))
def test_each_fitting_that_meets_another_puppet_is_found_once(
    rows: list[tuple[str, date, date | None]],
) -> None:
    fittings = tuple(
        Fitting(part="smile", puppet=puppet, from_on=from_on, to_on=to_on)
        for puppet, from_on, to_on in rows
    )
    ledger = small_ledger("", fittings=fittings)
    known = Known(ledger=ledger, runs={}, use=None, credits=Credits(plan=""))
    cases = list(PartOnTwoPuppets.find(known))

    def days(fitting: Fitting) -> set[date]:
        every = (date(2026, 3, 1) + timedelta(n) for n in range(13))
        return {day for day in every if fitting.holds_on(day)}

    def meet(one: Fitting, other: Fitting) -> bool:
        both = days(one) & days(other)
        is_handed_over = len(both) == 1 and (
            one.to_on == other.from_on or other.to_on == one.from_on
        )
        return one.puppet != other.puppet and bool(both) and not is_handed_over

    in_order = sorted(fittings, key=lambda f: (f.from_on, f.to_on or date.max, f.puppet))
    meeting = [
        fitting
        for place, fitting in enumerate(in_order)
        if any(meet(earlier, fitting) for earlier in in_order[:place])
    ]
    assert [case.subjects[2] for case in cases] == [("puppet", f.puppet) for f in meeting]
    for case, later in zip(cases, meeting, strict=True):
        assert any(
            meet(earlier, later) and case.subjects[1] == ("puppet", earlier.puppet)
            for earlier in in_order
        )


def test_on_the_day_that_a_part_changes_puppets_work_on_it_is_in_the_frames_of_both() -> None:
    text = """
        [fittings]
        part, puppet, from_on, to_on
        smile, wick-1, 2026-03-01, 2026-03-09
        smile, wick-2, 2026-03-09
        [entries]
        craft, person, puppet, part, shot, frames, finished_on
        animation, ana, wick-1, , 010-020, 1-10, 2026-03-09
        animation, ana, wick-2, , 010-030, 1-20, 2026-03-09
        faces, ben, , smile, , , 2026-02-01
    """
    results = Snapshot(small_ledger(FILM + text))
    for shot, frames in (("010-020", "1-10"), ("010-030", "1-20")):
        (made,) = (each for each in results.hands.of_take(shot, 1) if each.part == "smile")
        assert (made.person, made.frames.text) == ("ben", frames)


# --- puppet-after-retirement


def test_a_puppet_claimed_after_it_was_retired_cannot_be() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, finished_on
        animation, ana, wick-1, 010-020, 2026-03-10
        animation, ana, wick-1, 010-020, 2026-03-11
        animation, ben, wick-1, 010-030, 2026-03-13
        animation, ben, wick-1, 010-030
        animation, ben, wick-2, 010-030, 2026-03-13
    """
    check = the_check_of("puppet-after-retirement", FILM + text)
    assert check.severity is Severity.WRONG
    assert check.subjects == (("puppet", "wick-1"),)
    assert numbers(check) == ["A-2", "A-3"]
    assert check.message == (
        "Puppet wick-1 of Wick (wick) was retired on 2026-03-10, and frames are claimed with it "
        "on 2 days from 2026-03-11 to 2026-03-13 (A-2 and A-3)."
    )


def test_a_puppet_claimed_before_it_was_ready_is_a_question() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, finished_on
        animation, ana, wick-1, 010-020, 2026-01-31
        animation, ana, wick-1, 010-020, 2026-02-01
    """
    check = the_check_of("puppet-after-retirement", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("puppet", "wick-1"),)
    assert numbers(check) == ["A-1"]
    assert "was ready on 2026-02-01" in check.message
    assert "ready_on" in check.hint


def test_a_puppet_of_which_only_the_last_day_is_known() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, finished_on
        animation, ana, wick-2, 010-020, 2026-12-31
        animation, ana, wick-2, 010-020, 2027-01-01
    """
    check = the_check_of("puppet-after-retirement", FILM + text)
    assert check.subjects == (("puppet", "wick-2"),)
    assert numbers(check) == ["A-2"]
    assert "on 2027-01-01 (A-2)" in check.message


def test_a_retired_puppet_may_be_mended_and_rehearsed_with() -> None:
    text = """
        [takes]
        shot, take, purpose
        010-020, 1, rehearsal
        [entries]
        craft, person, puppet, shot, take, finished_on
        repair, ana, wick-1, , , 2026-03-12
        animation, ana, wick-1, 010-020, 1, 2026-03-12
    """
    assert checks_of("puppet-after-retirement", FILM + text) == ()


# --- puppet-unknown


def test_a_claim_that_does_not_say_which_copy_it_was() -> None:
    text = """
        [entries]
        craft, person, character, puppet, shot, frames
        animation, ana, wick, , 010-020, 1-20
        animation, ben, wick, , 010-020, 21-48
        animation, ben, wick, wick-2, 010-030
        animation, ben, brine, , 010-030
        voice, ben, wick, , 010-030
    """
    check = the_check_of("puppet-unknown", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("character", "wick"), ("shot", "010-020"))
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == (
        "Wick (wick) is animated in shot 010-020 (A-1 and A-2) without a word which of 2 puppets "
        "it was (wick-1 and wick-2)."
    )
    assert check.hint == "Ask which copy it was, then: credits amend A-1 --puppet wick-1"


def test_a_character_without_puppets_asks_for_none() -> None:
    text = """
        [people]
        person
        ana
        [characters]
        character
        echo
        [sequences]
        sequence
        010
        [shots]
        shot, sequence, frames
        010-020, 010, 48
        [entries]
        craft, person, character, shot
        animation, ana, echo, 010-020
    """
    assert checks_of("puppet-unknown", text) == ()
