"""Checks of finished shots before there is a cut, and of two faces at a time."""

from __future__ import annotations

import pytest
from hypothesis import given

from credits.checks.frames import TwoFaces
from credits.checks.rule import Known
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from tests.checks.small_checks import FILM, checks_of, the_check_of
from tests.laws.strategies import productions

DONE = FILM.replace("shot, sequence, frames", "shot, sequence, frames, status").replace(
    "010-020, 010, 48", "010-020, 010, 48, done"
)
ANIMATED = """
    [entries]
    craft, person, puppet, shot, take, frames
    animation, ana, wick-1, 010-020, 1, 1-30
"""

# --- shot-unfinished


def test_a_finished_shot_with_frames_that_nobody_animated() -> None:
    check = the_check_of("shot-unfinished", DONE + ANIMATED)
    assert check.subjects == (("shot", "010-020"),)
    assert check.message == (
        "Shot 010-020 is finished, and frames 31-48 of take 1 have no animator."
    )
    assert check.hint.endswith("credits log animation PERSON CHARACTER 010-020/1 31-48")


def test_a_finished_shot_that_nobody_animated_at_all() -> None:
    assert "frames 1-48 of take 1" in the_check_of("shot-unfinished", DONE).message


def test_only_the_accepted_take_counts() -> None:
    takes = "[takes]\nshot, take, decision\n010-020, 1, retake\n010-020, 2, accepted\n"
    more = "animation, ana, wick-1, 010-020, 2, 1-47\n"
    check = the_check_of("shot-unfinished", DONE + takes + ANIMATED + more)
    assert "frame 48 of take 2 has no animator" in check.message


@pytest.mark.parametrize("status", ["planned", "shooting", "omitted"])
def test_a_shot_that_is_not_finished_may_lack_frames(status: str) -> None:
    assert checks_of("shot-unfinished", DONE.replace("48, done", f"48, {status}")) == ()


def test_once_there_is_a_cut_it_says_which_frames_are_needed() -> None:
    cut = "shot, first, last\n010-020, 1, 40"
    assert checks_of("shot-unfinished", DONE + ANIMATED, cut) == ()
    assert len(checks_of("frames-unclaimed", DONE + ANIMATED, cut)) == 1


# --- two-faces

FACES = """
    [parts]
    part, kind, character
    smile, mouth, wick
    grin, Mouth, wick
    blink, eyelids, wick
    frown, mouth, brine
"""
WITH_FACES = FILM.replace(
    "[parts]\n    part, kind, character\n    smile, mouth, wick\n", FACES.strip() + "\n"
)


def _shown(*rows: str) -> str:
    head = "[replacements]\nshot, take, character, part, frames\n"
    return WITH_FACES + head + "\n".join(rows)


def test_two_parts_of_one_kind_in_one_frame_of_one_character() -> None:
    text = _shown('010-020, 1, wick, smile, "1-20,40"', '010-020, , wick, grin, "15-30,40-44"')
    check = the_check_of("two-faces", text)
    assert check.subjects == (("shot", "010-020"), ("character", "wick"))
    assert check.message == (
        "In frames 15-20,40 of shot 010-020 are 2 parts of the kind mouth on Wick (wick) (grin and "
        "smile)."
    )


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ("010-020, 1, wick, grin, 21-30", "other frames"),
        ("010-020, 2, wick, grin, 1-20", "another take"),
        ("010-020, 1, wick, blink, 1-20", "another kind"),
        ("010-020, 1, brine, frown, 1-20", "another character"),
        ("010-030, 1, wick, grin, 1-20", "another shot"),
    ],
)
def test_one_face_at_a_time(other: str, why: str) -> None:
    assert checks_of("two-faces", _shown("010-020, 1, wick, smile, 1-20", other)) == (), why


def _each(frames: Frames) -> set[int]:
    return {frame for first, stop in frames.ranges for frame in range(first, stop)}


@given(productions())
def test_two_faces_are_found_frame_by_frame(log: WrittenLog) -> None:
    kinds = {part.code: part.kind.lower() for part in log.parts}
    expected: dict[tuple[str, str, str], set[int]] = {}
    for one in log.replacements:
        for other in log.replacements:
            together = (one.shot, one.character) == (other.shot, other.character)
            same_take = one.take is None or other.take is None or one.take == other.take
            same_kind = kinds[one.part] == kinds[other.part] and one.part != other.part
            frames = _each(one.frames) & _each(other.frames)
            if together and same_take and same_kind and frames:
                key = (one.shot, one.character, kinds[one.part])
                expected[key] = expected.get(key, set()) | frames
    known = Known(ledger=replay(log), runs={})
    found = {
        (each.shot, each.character.code, each.kind_of_part.lower()): _each(each.frames)
        for each in TwoFaces.find(known)
    }
    assert found == expected
