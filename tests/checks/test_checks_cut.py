"""Checks of the current cut."""

from __future__ import annotations

import pytest

from credits.checks.rule import Severity
from tests.checks.small_checks import checks_of, the_check_of

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


# --- cut-shot-unknown


def test_the_cut_names_a_shot_that_the_log_does_not_have() -> None:
    check = the_check_of(
        "cut-shot-unknown",
        FILM,
        cut="shot, first, last\n010-020, 1, 10\n099-010, 1, 5\n010-030, 1, 4\n099-010, 7, 8",
    )
    assert check.severity is Severity.WRONG
    assert check.subjects == (("shot", "099-010"),)
    assert check.message == (
        "The cut (version 1) uses shot 099-010 2 times, first at film frame 11, and the log has "
        "no such shot."
    )


@pytest.mark.parametrize("cut", ["", "shot, first, last\n010-020, 1, 10\n010-030, 1, 5"])
def test_a_cut_of_known_shots(cut: str) -> None:
    assert checks_of("cut-shot-unknown", FILM, cut) == ()


# --- cut-take-not-accepted


@pytest.mark.parametrize(
    ("take", "said"),
    [
        ("3", "still open; accepted is take 1"),
        ("2", "to be shot again; accepted is take 1"),
        ("4", "a block and still open; accepted is take 1"),
    ],
)
def test_the_cut_uses_a_take_that_is_not_accepted(take: str, said: str) -> None:
    text = """
        [takes]
        shot, take, purpose, decision
        010-020, 1, shoot, accepted
        010-020, 2, shoot, retake
        010-020, 4, block
    """
    check = the_check_of(
        "cut-take-not-accepted",
        FILM + text,
        cut=f"shot, take, first, last\n010-020, {take}, 9, 40\n010-020, 1, 1, 8",
    )
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("shot", "010-020"), ("take", take))
    assert check.message == (
        f"The cut uses frames 9-40 of take {take} of shot 010-020, which is {said}."
    )


def test_a_cut_that_names_no_take_means_the_accepted_one() -> None:
    text = """
        [takes]
        shot, take, decision
        010-020, 1, accepted
        010-020, 2, retake
        [entries]
        craft, person, character, shot, take
        animation, ana, wick, 010-020, 2
    """
    cut = "shot, first, last\n010-020, 9, 40"
    assert checks_of("cut-take-not-accepted", FILM + text, cut) == ()


# --- nobody-voices


def test_a_character_in_the_cut_without_a_voice() -> None:
    text = """
        [entries]
        craft, person, character, shot
        animation, ana, wick, 010-020
        animation, ben, brine, 010-020
        voice, ana, wick
        singing, ana, brine
    """
    check = the_check_of("nobody-voices", FILM + text, cut="shot, first, last\n010-020, 9, 40")
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("character", "brine"),)
    assert check.message == "Brine (brine) is in the cut, and nobody voices this character."
    assert check.hint.endswith("credits log voice PERSON brine")


@pytest.mark.parametrize(
    ("character", "why"),
    [("moth", "marked silent"), ("wick", "not in the cut: it appears after frame 40")],
)
def test_a_character_that_needs_no_voice(character: str, why: str) -> None:
    text = f"""
        [entries]
        craft, person, character, shot, frames
        animation, ana, {character}, 010-020, {"1-48" if character == "moth" else "41-48"}
    """
    cut = "shot, first, last\n010-020, 9, 40"
    assert checks_of("nobody-voices", FILM + text, cut) == (), why
