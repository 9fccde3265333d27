"""How far the film is: frame by frame along the cut, and what each shot lacks first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from credits.figures.snapshot import Snapshot
from credits.footage.how_far import FrameStand, HowFar, ShotLack
from credits.model.facts import Decision
from tests.small_log import WORKED_EXAMPLE, small_ledger

FILM = """
    [people]
    person
    ana

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames, status
    010-010, 010, 20
    010-020, 010, 20
    010-030, 010, 20
    020-010, 020, 20
    020-020, 020, 20, omitted

    [takes]
    shot, take, purpose, decision
    010-010, 1, shoot, accepted
    020-010, 1, block, open
    020-010, 2, shoot, open

    [entries]
    craft, person, character, shot, take, frames
    animation, ana, wick, 010-010, 1, 1-20
    animation, ana, brine, 010-010, 1, 5-20
    animation, ana, wick, 010-020, 1, 1-10
    animation, ana, wick, 020-010, 1, 1-20
    animation, ana, wick, 020-010, 2, 1-20
    animation, ana, wick, 020-020, 1, 1-20
"""
CUT = """shot, take, first, last, film_first
    010-010, 1, 3, 12,
    020-010, 2, 1, 8, 15
    010-020, 1, 6, 15,
    999, 1, 1, 5
"""


def far_of(text: str, cut: str = "") -> HowFar:
    return Snapshot(small_ledger(text, cut)).how_far


def lacks(far: HowFar) -> dict[str, ShotLack | None]:
    return {code: own.lack for code, own in far.shots.items()}


def test_along_the_cut_every_film_frame_of_a_shot_is_accepted_kept_or_missing() -> None:
    far = far_of(FILM, CUT)
    assert far.of_cut
    # Film frames 11-14 are a gap, 33-37 show a shot that the log does not know.
    assert far.stretches == (
        (1, 11, FrameStand.ACCEPTED),
        (15, 23, FrameStand.KEPT),
        (23, 28, FrameStand.KEPT),
        (28, 33, FrameStand.MISSING),
    )
    assert far.frames == {FrameStand.ACCEPTED: 10, FrameStand.KEPT: 13, FrameStand.MISSING: 5}


def test_a_shot_lacks_what_the_cut_wants_of_it_and_one_that_it_leaves_out_a_place() -> None:
    assert lacks(far_of(FILM, CUT)) == {
        "010-010": None,
        "010-020": ShotLack.FRAMES,
        "010-030": ShotLack.PLACE,
        "020-010": ShotLack.ACCEPTANCE,
    }


def test_a_take_that_is_marked_a_retake_is_to_be_shot_again() -> None:
    far = far_of(FILM.replace("020-010, 2, shoot, open", "020-010, 2, shoot, retake"), CUT)
    assert far.frames == {FrameStand.ACCEPTED: 10, FrameStand.KEPT: 5, FrameStand.MISSING: 13}
    assert (lacks(far)["020-010"], far.shots["020-010"].lacking) == (ShotLack.AGAIN, 8)


def test_a_finished_shot_with_frames_that_nobody_logged_is_not_to_be_shot() -> None:
    far = far_of(FILM.replace("010-020, 010, 20", "010-020, 010, 20, done"), CUT)
    assert (lacks(far)["010-020"], far.shots["010-020"].lacking) == (ShotLack.ENTRIES, 5)


def test_frames_that_the_cut_shows_twice_are_wanted_once_and_count_twice_along_the_film() -> None:
    cut = "shot, take, first, last, speed\n010-010, 1, 1, 10, 1/2\n010-010, 1, 5, 14, 1"
    far = far_of(FILM, cut)
    assert far.shots["010-010"].wanted.frames == 14
    assert far.frames[FrameStand.ACCEPTED] == 30


def test_without_a_cut_the_shots_are_laid_end_to_end_each_as_long_as_it_is_planned() -> None:
    far = far_of(FILM)
    assert (far.of_cut, far.length) == (False, 80)
    assert far.stretches == (
        (1, 21, FrameStand.ACCEPTED),
        (21, 31, FrameStand.KEPT),
        (31, 41, FrameStand.MISSING),
        (41, 61, FrameStand.MISSING),
        (61, 81, FrameStand.KEPT),
    )
    # The block of 020-010 counts for nothing; the omitted shot is not there.
    assert lacks(far)["020-010"] is ShotLack.ACCEPTANCE
    assert "020-020" not in far.shots


def test_nothing_is_far_of_an_empty_production() -> None:
    far = far_of("")
    assert (far.length, far.stretches, dict(far.shots)) == (0, (), {})


@pytest.mark.parametrize("decision", [Decision.OPEN, Decision.ACCEPTED])
def test_what_is_accepted_agrees_with_the_footage_on_screen(decision: Decision) -> None:
    ledger = small_ledger(WORKED_EXAMPLE)
    takes = {key: replace(take, decision=decision) for key, take in ledger.takes.items()}
    results = Snapshot(replace(ledger, takes=takes))
    frames, on_screen = results.how_far.frames, results.footage.total.by_shot.screen
    assert frames[FrameStand.ACCEPTED] + frames[FrameStand.KEPT] == on_screen
    is_accepted = decision is Decision.ACCEPTED
    assert frames[FrameStand.ACCEPTED] == (on_screen if is_accepted else 0)


def test_one_frame_that_is_missing_at_an_end_of_a_shot_is_shown() -> None:
    text = FILM.replace("010-020, 1, 1-10", "010-020, 1, 2-19")
    far = far_of(text, "shot, take, first, last\n010-020, 1, 1, 20")
    assert far.stretches == (
        (1, 2, FrameStand.MISSING),
        (2, 20, FrameStand.KEPT),
        (20, 21, FrameStand.MISSING),
    )
