"""The worked example of the rules: every figure of its table, the hands, and the reach."""

from __future__ import annotations

import pytest

from credits.figures.snapshot import Snapshot
from credits.footage.footage import Measures
from credits.hands.hands import Hand
from tests.small_log import WORKED_EXAMPLE, small_ledger


@pytest.fixture(scope="module")
def results() -> Snapshot:
    return Snapshot(small_ledger(WORKED_EXAMPLE))


@pytest.mark.parametrize(
    ("person", "shot", "kept", "accepted", "cut"),
    [("ana", 30, 24, 24, 16), ("ben", 24, 24, 24, 16), ("cai", 36, 36, 36, 28)],
)
def test_character_footage(
    results: Snapshot, person: str, shot: int, kept: int, accepted: int, cut: int
) -> None:
    totals = results.footage.by(lambda cell: cell.person)[person]
    # The cut shows every frame once: on screen is what is in the cut.
    assert totals.character == Measures(
        shot=shot, kept=kept, accepted=accepted, cut=cut, screen=cut
    )


@pytest.mark.parametrize(
    ("person", "shot", "kept", "accepted", "cut"),
    [("ana", 30, 18, 18, 10), ("ben", 12, 12, 12, 8), ("cai", 24, 18, 18, 14)],
)
def test_shot_footage(
    results: Snapshot, person: str, shot: int, kept: int, accepted: int, cut: int
) -> None:
    totals = results.footage.by(lambda cell: cell.person)[person]
    assert totals.by_shot == Measures(shot=shot, kept=kept, accepted=accepted, cut=cut, screen=cut)


def test_the_sums_are_the_claimed_frames(results: Snapshot) -> None:
    total = results.footage.total
    assert total.character.kept == 48 + 36  # Wick in 1-48, Brine in 13-48
    assert total.by_shot.kept == 48
    assert total.character.cut == 32 + 28  # of 9-40
    assert total.by_shot.cut == 32


def hands_of_wick(results: Snapshot, frame: int) -> set[tuple[str, str, str, str | None]]:
    def shown(hand: Hand) -> tuple[str, str, str, str | None]:
        return hand.person, hand.craft, hand.via.value, hand.puppet

    return {
        shown(hand)
        for run in results.hands.runs_of_take("010-020", 1)
        if run.first <= frame < run.stop
        for hand in run.hands
        if hand.character == "wick"
    }


def test_hands_in_wick_at_frame_9(results: Snapshot) -> None:
    # Ana mended wick-1 on 3 March: not yet in the frames of 2 March.
    assert hands_of_wick(results, 9) == {
        ("ana", "animation", "frame", "wick-1"),
        ("ana", "voice", "character", None),
        ("cai", "sculpt", "character", None),
    }


def test_hands_in_wick_at_frame_25(results: Snapshot) -> None:
    assert hands_of_wick(results, 25) == {
        ("ben", "animation", "frame", "wick-1"),
        ("ana", "voice", "character", None),
        ("ana", "repair", "puppet", "wick-1"),
        ("cai", "sculpt", "character", None),
    }


def test_the_entries_behind_the_hands_at_frame_25(results: Snapshot) -> None:
    run = next(r for r in results.hands.runs_of_take("010-020", 1) if r.first <= 25 < r.stop)
    entries = {(hand.person, hand.craft): [str(n) for n in hand.entries] for hand in run.hands}
    assert entries == {
        ("ben", "animation"): ["A-2"],
        ("cai", "animation"): ["A-3"],
        ("cai", "sculpt"): ["A-4"],
        ("ana", "voice"): ["A-6"],
        ("ana", "repair"): ["A-7"],
    }


def test_a_puppet_that_was_never_photographed_reaches_no_frame(results: Snapshot) -> None:
    crafts = {hand.craft for run in results.hands.runs_of_take("010-020", 1) for hand in run.hands}
    assert "fabrication" not in crafts


def test_reach_in_the_cut(results: Snapshot) -> None:
    assert {person: own.frames for person, own in results.reach.items()} == {
        "ana": 32,
        "ben": 16,
        "cai": 32,
    }
    assert {person: own.screen_frames for person, own in results.reach.items()} == {
        "ana": 32,
        "ben": 16,
        "cai": 32,
    }
