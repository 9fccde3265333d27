"""What is still to shoot: a small production worked out by hand, and what holds for every one."""

from __future__ import annotations

from collections import defaultdict

from hypothesis import given, settings

from credits.figures.snapshot import Snapshot
from credits.footage.remaining import (
    ShotRemaining,
    WantedFrames,
    characters_or_none,
    shots_remaining,
    to_shoot_by,
    wanted_frames,
    wanted_together,
)
from credits.model.facts import Decision, ShotStatus
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.drawn import drawn
from tests.laws.strategies import productions
from tests.small_log import small_ledger

HALF_WAY = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    brine-1, brine

    [stages]
    stage
    north
    south

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames, status
    010-010, 010, 48, shooting
    010-020, 010, 30, shooting
    010-030, 010, 20, planned
    010-040, 010, 99, omitted
    020-010, 020, 40, done

    [takes]
    shot, take, decision
    010-020, 1, retake
    020-010, 1, accepted

    [entries]
    craft, person, character, puppet, shot, take, frames, stage, finished_on
    animation, ana, , wick-1, 010-010, 1, 1-30, north, 2026-03-02
    animation, ben, , brine-1, 010-010, 1, 13-36, south, 2026-03-03
    animation, ana, , wick-1, 010-020, 1, 1-30, north, 2026-03-04
    animation, ana, , wick-1, 020-010, 1, 1-36, north, 2026-03-05
    lip-sync, ben, brine, , 010-030, , , , 2026-03-01
    voice, ben, wick
"""
CUT = """
    [cut]
    shot, first, last
    010-010, 25, 40
    010-020, 1, 10
    010-020, 6, 20
    020-010, 1, 40
"""


def remaining(text: str) -> dict[str, ShotRemaining]:
    snapshot = Snapshot(small_ledger(text))
    wanted = wanted_frames(snapshot.ledger, snapshot.use, snapshot.takes)
    found = shots_remaining(snapshot.ledger, wanted, snapshot.kept_of(wanted))
    return {shot.shot: shot for shot in found}


def test_without_a_cut_the_film_wants_every_shot_that_was_not_omitted() -> None:
    found = remaining(HALF_WAY)
    assert {shot: own.wanted for shot, own in found.items()} == {
        "010-010": WantedFrames(open=36, unshot=12),
        "010-020": WantedFrames(again=30),
        "010-030": WantedFrames(unshot=20),
        "020-010": WantedFrames(accepted=36, unlogged=4),
    }


def test_with_a_cut_it_wants_the_frames_that_the_cut_uses_each_once() -> None:
    found = remaining(HALF_WAY + CUT)
    assert {shot: own.wanted for shot, own in found.items()} == {
        "010-010": WantedFrames(open=12, unshot=4),
        "010-020": WantedFrames(again=20),
        "020-010": WantedFrames(accepted=36, unlogged=4),
    }
    together = wanted_together(own.wanted for own in found.values())
    assert (together.frames, together.to_shoot) == (76, 24)


def test_whoever_the_log_names_in_a_shot_is_in_its_frames_and_the_latest_stage_has_it() -> None:
    found = remaining(HALF_WAY)
    seen = {shot: (own.characters, own.stage) for shot, own in found.items()}
    assert seen == {
        "010-010": (("wick", "brine"), "south"),
        "010-020": (("wick",), "north"),
        "010-030": (("brine",), None),
        "020-010": ((), None),  # nothing is to shoot
    }
    by_character = to_shoot_by(found.values(), characters_or_none)
    assert {who: (own.frames, own.shots) for who, own in by_character.items()} == {
        "wick": (42, 2),
        "brine": (32, 2),
    }
    by_stage = to_shoot_by(found.values(), lambda shot: (shot.stage,))
    assert {stage: own.frames for stage, own in by_stage.items()} == {
        "south": 12,
        "north": 30,
        None: 20,
    }


def test_a_shot_of_which_nothing_is_logged_is_of_no_character_yet() -> None:
    text = "[sequences]\nsequence\n010\n[shots]\nshot, sequence, frames\n010-010, 010, 9"
    found = to_shoot_by(remaining(text).values(), characters_or_none)
    assert {who: own.frames for who, own in found.items()} == {None: 9}


@settings(max_examples=drawn(60), deadline=None)
@given(log=productions())
def test_every_wanted_frame_is_counted_once_as_a_count_of_single_frames_says(
    log: WrittenLog,
) -> None:
    snapshot = Snapshot(replay(log))
    ledger = snapshot.ledger
    wanted = wanted_frames(ledger, snapshot.use, snapshot.takes)
    shots = shots_remaining(ledger, wanted, snapshot.kept_of(wanted))
    # Frame by frame: one is lacking that nobody keeps, or that is kept in a take to be done again.
    lacking: dict[str, int] = defaultdict(int)
    for (shot, take), frames in wanted.items():
        own = snapshot.runs.get((shot, take))
        claimed = own.claimed if own is not None else None
        for first, stop in frames.ranges:
            for frame in range(first, stop):
                is_kept = claimed is not None and frame in claimed
                again = ledger.take(shot, take).decision is Decision.RETAKE
                finished = ledger.shots[shot].status is ShotStatus.DONE
                lacking[shot] += not finished and (not is_kept or again)
    assert {shot.shot: shot.wanted.to_shoot for shot in shots} == lacking
    whole = sum(lacking.values())
    sequences = to_shoot_by(shots, lambda shot: (shot.sequence,))
    stages = to_shoot_by(shots, lambda shot: (shot.stage,))
    assert sum(own.frames for own in sequences.values()) == whole
    assert sum(own.frames for own in stages.values()) == whole
    # A frame counts once with each of its characters: with all of them it is at least once there.
    characters = to_shoot_by(shots, characters_or_none)
    assert sum(own.frames for own in characters.values()) == sum(
        shot.wanted.to_shoot * len(characters_or_none(shot)) for shot in shots
    )
    assert all(own.frames <= whole for own in characters.values())
    together = wanted_together(shot.wanted for shot in shots)
    assert together.frames == sum(frames.count for frames in wanted.values())


def test_undated_work_does_not_say_on_which_stage_a_shot_is() -> None:
    undated = "animation, ben, , brine-1, 010-010, 1, 37-40, north,\n"
    entries = HALF_WAY.rstrip(" ") + undated
    assert remaining(entries)["010-010"].stage == "south"
    only = HALF_WAY.replace("1-30, north, 2026-03-02", "1-30, north, ").replace(
        "13-36, south, 2026-03-03", "13-36, , 2026-03-03"
    )
    assert remaining(only)["010-010"].stage == "north"
