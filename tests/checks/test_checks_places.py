"""Checks of puppets, people and parts in two places on one date."""

from __future__ import annotations

import pytest

from credits.checks.rule import Severity
from tests.checks.small_checks import FILM, checks_of, numbers, the_check_of

ON_BOTH_STAGES = (("date", "2026-03-02"), ("stage", "3"), ("stage", "5"))

# --- puppet-in-two-places


def test_one_puppet_on_two_stages_on_one_date() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, stage, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02
        animation, ben, wick-1, 010-030, 5, 2026-03-02
        animation, ben, wick-1, 010-030, 5, 2026-03-03
    """
    check = the_check_of("puppet-in-two-places", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("puppet", "wick-1"), *ON_BOTH_STAGES)
    assert numbers(check) == ["A-1", "A-2"]
    assert check.message == (
        "The log has puppet wick-1 of Wick (wick) on stages 3 and 5 on 2026-03-02 (A-1 and A-2)."
    )
    assert check.hint.endswith("credits amend A-2 --stage 3")


@pytest.mark.parametrize(
    ("second", "why"),
    [
        ("animation, ben, wick-2, 010-030, 5, 2026-03-02", "another copy"),
        ("animation, ben, wick-1, 010-030, 5, 2026-03-03", "another date"),
        ("animation, ben, wick-1, 010-030, 3, 2026-03-02", "the same stage"),
        ("animation, ben, wick-1, 010-030, , 2026-03-02", "no stage"),
        ("animation, ben, wick-1, 010-030, 5", "no date"),
    ],
)
def test_a_puppet_in_one_place(second: str, why: str) -> None:
    text = f"""
        [entries]
        craft, person, puppet, shot, stage, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02
        {second}
    """
    assert checks_of("puppet-in-two-places", FILM + text) == (), why


def test_the_only_puppet_of_a_character_is_there_without_being_named_but_not_for_its_voice() -> (
    None
):
    text = """
        [entries]
        craft, person, character, puppet, shot, stage, finished_on
        animation, ana, brine, , 010-020, 3, 2026-03-02
        repair, ben, , brine-1, , 5, 2026-03-02
        voice, ana, brine, , , 3, 2026-03-04
        repair, ben, , brine-1, , 5, 2026-03-04
    """
    check = the_check_of("puppet-in-two-places", FILM + text)
    assert check.subjects[:2] == (("puppet", "brine-1"), ("date", "2026-03-02"))
    assert numbers(check) == ["A-1", "A-2"]


def test_work_of_several_days_is_on_the_day_it_was_finished() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, stage, started_on, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02, 2026-03-05
        animation, ben, wick-1, 010-030, 5, , 2026-03-03
        animation, ben, wick-1, 010-030, 5, , 2026-03-05
    """
    found = checks_of("puppet-in-two-places", FILM + text)
    assert [check.subjects[1] for check in found] == [("date", "2026-03-05")]


# --- person-in-two-places


def test_one_person_on_two_stages_on_one_date() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, stage, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02
        rigging, ana, brine-1, 010-030, 5, 2026-03-02
        animation, ben, wick-2, 010-030, 5, 2026-03-02
    """
    check = the_check_of("person-in-two-places", FILM + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ana"), *ON_BOTH_STAGES)
    assert numbers(check) == ["A-1", "A-2"]
    assert "Ana Lind (ana) on stages 3 and 5 on 2026-03-02" in check.message


def test_two_codes_of_one_person_are_in_two_places_together() -> None:
    text = """
        [people]
        person, same_as
        ana
        anna, ana
        [sequences]
        sequence
        010
        [stages]
        stage
        3
        5
        [entries]
        craft, person, stage, finished_on
        rigging, ana, 3, 2026-03-02
        rigging, anna, 5, 2026-03-02
    """
    assert numbers(the_check_of("person-in-two-places", text)) == ["A-1", "A-2"]


def test_a_person_who_moves_the_next_day_is_in_one_place() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, stage, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02
        animation, ana, wick-1, 010-030, 5, 2026-03-03
        animation, ben, wick-1, 010-030, 3, 2026-03-03
    """
    assert checks_of("person-in-two-places", FILM + text) == ()


def test_a_voided_entry_is_nowhere() -> None:
    text = """
        [entries]
        craft, person, puppet, shot, stage, finished_on
        animation, ana, wick-1, 010-020, 3, 2026-03-02
        animation, ana, wick-1, 010-030, 5, 2026-03-02
        [lines]
        verb, corrects
        void, A-2
    """
    assert checks_of("person-in-two-places", FILM + text) == ()


# --- part-in-two-places


SHOT_ON_TWO_STAGES = """
    [entries]
    craft, person, puppet, shot, frames, stage, finished_on
    animation, ana, wick-1, 010-020, 1-48, 3, 2026-03-02
    animation, ben, wick-2, 010-030, 1-48, 5, 2026-03-02
    animation, ben, wick-2, 010-030, 1-24, 5, 2026-03-03
"""


def test_a_part_shown_on_two_stages_on_one_date() -> None:
    text = """
        [replacements]
        shot, take, character, part, frames
        010-020, , wick, smile, 9-12
        010-030, 1, wick, smile, "25-27,40"
    """
    check = the_check_of("part-in-two-places", FILM + SHOT_ON_TWO_STAGES + text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("part", "smile"), *ON_BOTH_STAGES)
    assert numbers(check) == ["A-1", "A-2"]
    assert "part smile (mouth)" in check.message
    assert "stages 3 and 5 on 2026-03-02" in check.message


@pytest.mark.parametrize(
    ("second", "why"),
    [
        ("010-030, 1, wick, smile, 1-24", "those frames were shot again the next day"),
        ("010-030, 2, wick, smile, 25-27", "that take has no claims"),
        ("010-030, 1, brine, smile, 25-27", "that character has no claim there"),
        ("010-020, , wick, smile, 20-30", "the same stage"),
    ],
)
def test_a_part_shown_in_one_place(second: str, why: str) -> None:
    text = f"""
        [replacements]
        shot, take, character, part, frames
        010-020, , wick, smile, 9-12
        {second}
    """
    assert checks_of("part-in-two-places", FILM + SHOT_ON_TWO_STAGES + text) == (), why
