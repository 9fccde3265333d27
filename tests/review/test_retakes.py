"""What was taken again: by shot, by week, and what was noted, worked out by hand."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings

from credits.figures.snapshot import Snapshot
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.review.retakes import (
    Again,
    again_together,
    reasons_noted,
    shots_taken,
    taken_again,
    weeks_taken,
)
from tests.drawn import drawn
from tests.laws.strategies import productions
from tests.small_log import small_ledger

AGAIN = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48
    010-020, 010, 48
    010-030, 010, 48

    [takes]
    shot, take, purpose, decision, decided_on
    010-010, 1, shoot, retake, 2026-03-11
    010-010, 2, shoot, accepted, 2026-03-18
    010-010, 3, block, retake, 2026-03-01

    [entries]
    craft, person, character, shot, take, frames, finished_on, note, private
    animation, ana, wick, 010-010, 1, 1-48, 2026-03-02, Flicker from frame 30, yes
    animation, ben, wick, 010-010, 2, 1-48, 2026-03-12, New lamps
    animation, ana, wick, 010-010, 3, 1-48, 2026-03-01, Only a block
    animation, ana, wick, 010-020, 1, 1-40, 2026-03-03, The first go
    animation, ben, wick, 010-020, 1, 31-48, 2026-03-10, Eye line
    animation, ben, brine, 010-020, 1, 31-48, 2026-03-10, Brine joins
    animation, ana, wick, 010-030, 1, 1-48, 2026-03-04, All well
"""


def test_what_was_taken_again_of_each_shot() -> None:
    snapshot = Snapshot(small_ledger(AGAIN))
    every = shots_taken(snapshot.ledger, snapshot.footage.cells)
    # Ten frames of Wick were shot twice; the second time Brine shares them.
    assert every == {
        "010-010": Again(takes=2, retakes=1, shot=96, kept=96, of_retakes=48),
        "010-020": Again(takes=1, shot=58, kept=48),
        "010-030": Again(takes=1, shot=48, kept=48),
    }
    assert list(taken_again(every)) == ["010-010", "010-020"]
    whole = again_together(every.values())
    assert (whole.again, whole.reshot_share) == (10, Fraction(10, 202))


def test_a_persons_retakes_are_of_their_own_frames() -> None:
    snapshot = Snapshot(small_ledger(AGAIN))
    cells = snapshot.footage.of_person("ben").cells
    found = shots_taken(snapshot.ledger, cells)
    assert found["010-010"] == Again(takes=1, shot=48, kept=48)
    assert found["010-020"].again == 0


def test_by_week_frames_stand_where_they_were_shot_and_takes_where_they_were_decided() -> None:
    snapshot = Snapshot(small_ledger(AGAIN))
    found = weeks_taken(snapshot.ledger, snapshot.footage)
    assert [(own.week, own.shot, own.again, own.retakes) for own in found] == [
        ("2026-W10", 136, 10, 0),
        ("2026-W11", 66, 0, 1),
    ]


def test_the_notes_are_those_of_what_was_taken_again_and_of_nothing_else() -> None:
    ledger = small_ledger(AGAIN)
    found = {shot: [r.said for r in reasons_noted(ledger, shot)] for shot in ledger.shots}
    assert found == {
        "010-010": ["Flicker from frame 30", "New lamps"],
        "010-020": ["Eye line"],
        "010-030": [],
    }
    assert [reason.private for reason in reasons_noted(ledger, "010-010")] == [True, False]


@settings(max_examples=drawn(50), deadline=None)
@given(log=productions())
def test_shots_and_weeks_and_people_add_up_to_the_footage(log: WrittenLog) -> None:
    snapshot = Snapshot(replay(log))
    total = snapshot.footage.total.by_shot
    shots = shots_taken(snapshot.ledger, snapshot.footage.cells)
    weeks = weeks_taken(snapshot.ledger, snapshot.footage)
    people = [shots_taken(snapshot.ledger, f.cells) for f in snapshot.footage_by_person.values()]
    of_people = [own for found in people for own in found.values()]
    for parts in (list(shots.values()), weeks, of_people):
        assert sum(own.shot for own in parts) == total.shot
        assert sum(own.again for own in parts) == total.shot - total.kept
    assert again_together(shots.values()).shot == total.shot
