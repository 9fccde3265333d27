"""Checks of frames and of face sheets."""

from __future__ import annotations

import pytest

from credits.checks.rule import Severity
from tests.checks.small_checks import checks_of, numbers, the_check_of

FILM = """
    [people]
    person
    ana
    ben
    [characters]
    character, silent
    wick
    brine
    moth, yes
    [parts]
    part, kind, character
    smile, mouth, wick
    frown, mouth, wick
    [sequences]
    sequence
    010
    [shots]
    shot, sequence, frames
    010-020, 010, 48
    010-030, 010, 24
"""


# --- frames-beyond-shot


def test_frames_claimed_above_the_length_of_the_shot() -> None:
    text = """
        [entries]
        craft, person, character, shot, take, frames
        animation, ana, wick, 010-020, , 1-48
        animation, ana, wick, 010-020, 2, "31-50,60"
        animation, ben, wick, 010-020, 2, 47-52
    """
    check = the_check_of("frames-beyond-shot", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("shot", "010-020"), ("take", "2"))
    assert numbers(check) == ["A-2", "A-3"]
    assert check.message == (
        "Frames 49-52,60 of take 2 of shot 010-020 are claimed (A-2 and A-3), and the shot has "
        "48 frames."
    )
    assert check.hint.endswith("credits amend A-2 --frames 31-48")


def test_frames_beyond_the_shot_that_are_no_claim() -> None:
    text = """
        [takes]
        shot, take, purpose
        010-020, 1, block
        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, 1-60
        lip-sync, ana, wick, 010-020, 1-60
    """
    assert checks_of("frames-beyond-shot", FILM + text) == ()


# --- frames-unclaimed


def test_frames_of_the_cut_that_nobody_claims() -> None:
    text = """
        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, "1-12,17-30"
        animation, ben, brine, 010-020, 13
    """
    check = the_check_of(
        "frames-unclaimed", FILM + text, cut="shot, first, last\n010-020, 9, 20\n010-020, 25, 33"
    )
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("shot", "010-020"), ("take", "1"))
    assert check.entries == ()
    assert check.message == (
        "The cut uses frames 14-16,31-33 of take 1 of shot 010-020, which have no animator."
    )
    assert check.hint.endswith("credits log animation PERSON CHARACTER 010-020/1 14-16,31-33")


def test_a_shot_in_the_cut_of_which_nothing_is_logged_is_unclaimed_as_a_whole() -> None:
    found = checks_of("frames-unclaimed", FILM, cut="shot, first, last\n010-020, 9, 40")
    assert [check.subjects for check in found] == [(("shot", "010-020"), ("take", "1"))]
    assert "frames 9-40" in found[0].message


@pytest.mark.parametrize("cut", ["", "shot, first, last\n010-020, 9, 40"])
def test_frames_outside_the_cut_may_be_unclaimed(cut: str) -> None:
    text = """
        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, 9-20
        animation, ben, brine, 010-020, 21-40
    """
    assert checks_of("frames-unclaimed", FILM + text, cut) == ()


def test_very_many_ranges_are_counted_instead_of_written() -> None:
    # At double speed the cut shows every other frame: 1, 3, 5, ... 47.
    check = the_check_of("frames-unclaimed", FILM, "shot, first, last, speed\n010-020, 1, 48, 2")
    assert "frames 1,3,5,7,9,11,13,15,17,19,21,23 and 12 more of take 1" in check.message
    assert check.hint.endswith("010-020/1 FRAMES")


# --- replacement-gap


def test_a_face_sheet_with_frames_that_show_nothing() -> None:
    text = """
        [entries]
        craft, person, character, shot, take, frames
        animation, ana, wick, 010-020, 2, 1-30
        [replacements]
        shot, take, character, part, frames
        010-020, , wick, smile, 5-10
        010-020, 2, wick, frown, 17-20
        010-020, 2, wick, smile, 38-40
    """
    check = the_check_of("replacement-gap", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("shot", "010-020"), ("take", "2"), ("character", "wick"))
    assert check.entries == ()
    # Only kept frames: nobody claims 31-37.
    assert check.message == (
        "The face sheet of Wick (wick) in take 2 of shot 010-020 runs from frame 5 to 40 and "
        "shows nothing in frames 11-16,21-30."
    )


def test_a_sheet_without_a_take_has_its_gap_in_every_take_with_claims() -> None:
    text = """
        [entries]
        craft, person, character, shot, take
        animation, ana, wick, 010-020, 2
        animation, ana, wick, 010-020, 10
        [replacements]
        shot, take, character, part, frames
        010-020, , wick, smile, "5-10,12"
    """
    found = checks_of("replacement-gap", FILM + text)
    assert [check.subjects[1] for check in found] == [("take", "2"), ("take", "10")]


@pytest.mark.parametrize(
    ("frames", "why"),
    [
        ("5-16,17-20", "no frame between first and last is empty"),
        ("41-42,47-48", "nobody claims the frames between"),
        ("17", "one frame has nothing between"),
    ],
)
def test_a_face_sheet_without_a_gap(frames: str, why: str) -> None:
    text = f"""
        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, 1-42
        animation, ben, brine, 010-020, 43-46
        [replacements]
        shot, take, character, part, frames
        010-020, 1, wick, smile, "{frames}"
    """
    assert checks_of("replacement-gap", FILM + text) == (), why
