"""In which frames is this work: the hands of a take read hand by hand, one way at a time."""

from __future__ import annotations

from datetime import date

import pytest

from credits.hands.hands import Hands, Spread, shots_in_question
from tests.computed import footage_of
from tests.small_log import WORKED_EXAMPLE, small_ledger

# Two copies of Wick, the first with a costume that was changed on 3 March; Brine has one copy.
# Frames 1-12 are of 2 March (wick-1), 13-24 of 4 March (wick-2), 25-36 of 4 March (unnamed copy).
FILM = """
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
    wick-2, wick
    brine-1, brine

    [parts]
    part, character
    apron, wick
    smock, wick
    smile, wick

    [fittings]
    part, puppet, from_on, to_on
    apron, wick-1, 2026-02-01, 2026-03-02
    smock, wick-1, 2026-03-03,
    smock, wick-2, 2026-01-01, 2026-02-28

    [replacements]
    shot, take, character, part, frames
    010-020, 1, wick, smile, 10-14
    010-020, 2, wick, smile, 1-48

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, character, puppet, shot, frames, finished_on
    animation, ana, wick, wick-1, 010-020, 1-12, 2026-03-02
    animation, ana, wick, wick-2, 010-020, 13-24, 2026-03-04
    animation, ana, wick, , 010-020, 25-36, 2026-03-04
"""


def spreads(entry: str, columns: str = "character") -> list[Spread]:
    """The spread of Ben's entries in take 1."""
    ledger = small_ledger(f"""{FILM}
        [lines]
        verb, craft, person, {columns}
        {entry}
    """)
    runs, _, _ = footage_of(ledger)
    found = Hands(ledger, runs).of_take("010-020", 1)
    return [own for own in found if own.person == "ben"]


def ways(entry: str, columns: str = "character") -> list[tuple[str, str]]:
    """By way of what, and in which frames."""
    return [(own.via.value, own.frames.text) for own in spreads(entry, columns)]


def test_by_way_of_the_frame() -> None:
    # Later than Ana's 2 March, so 5-12 are Ben's; her 4 March has replaced his 13-16.
    again = "record, animation, ben, wick, 010-020, 5-16, 2026-03-03"
    assert ways(again, "character, shot, frames, finished_on") == [("frame", "5-12")]


def test_by_way_of_the_shot_in_its_frames_and_takes() -> None:
    columns = "character, shot, take, frames"
    assert ways("record, voice, ben, wick, 010-020", columns) == [("shot", "1-36")]
    assert ways("record, voice, ben, wick, 010-020, 1, 30-48", columns) == [("shot", "30-36")]
    assert ways("record, voice, ben, wick, 010-020, 2, 30-48", columns) == []
    assert ways("record, voice, ben, wick, 010-020, 1, 37-48", columns) == []
    assert ways("record, voice, ben, brine, 010-020, 1, 1-48", columns) == []


def test_by_way_of_the_sequence() -> None:
    assert ways("record, voice, ben, wick, 010", "character, sequence") == [("sequence", "1-36")]
    assert ways("record, voice, ben, wick, 020", "character, sequence") == []


def test_by_way_of_the_character_as_the_whole_part() -> None:
    # However late the voice was recorded: a performance has no day on which it begins to count.
    voiced = "record, voice, ben, wick, 2026-09-01"
    assert ways(voiced, "character, finished_on") == [("character", "1-36")]


@pytest.mark.parametrize(
    ("day", "frames"),
    [
        ("2026-01-01", [("character", "1-36")]),
        ("2026-03-02", [("character", "1-36")]),  # on the day itself
        ("2026-03-03", [("character", "13-36")]),
        ("2026-03-05", []),
        ("", [("character", "1-36")]),  # undated
    ],
)
def test_by_way_of_the_character_as_it_was_built(day: str, frames: list[tuple[str, str]]) -> None:
    assert ways(f"record, sculpt, ben, wick, {day}", "character, finished_on") == frames


@pytest.mark.parametrize(
    ("day", "shots"), [("2026-03-04", {"010-020"}), ("2026-03-05", set()), ("", {"010-020"})]
)
def test_a_build_is_looked_for_where_the_character_stood_on_its_day_or_later(
    day: str, shots: set[str]
) -> None:
    ledger = small_ledger(f"""{FILM}
        [lines]
        verb, craft, person, character, finished_on
        record, sculpt, ben, wick, {day}
    """)
    (built,) = (entry for entry in ledger.entries if entry.person == "ben")
    assert shots_in_question(ledger, built) == shots


def test_by_way_of_the_puppet_that_was_named() -> None:
    (own,) = spreads("record, repair, ben, wick-2, 2026-03-04", "puppet, finished_on")
    assert (own.via.value, own.puppet, own.part, own.frames.text) == (
        "puppet",
        "wick-2",
        None,
        "13-24",
    )
    assert own.since == date(2026, 3, 4)
    assert [str(number) for number in own.entries] == ["A-4"]
    # In frames 25-36 the copy is unknown: nothing is guessed.
    assert ways("record, repair, ben, wick-2, ", "puppet, finished_on") == [("puppet", "13-24")]
    assert ways("record, repair, ben, brine-1, ", "puppet, finished_on") == []


def test_by_way_of_a_part_that_was_fitted_on_the_day() -> None:
    assert ways("record, costume, ben, apron", "part") == [("part", "1-12")]
    # The smock came to wick-1 the day after, and left wick-2 before.
    assert ways("record, costume, ben, smock", "part") == []


def test_by_way_of_a_part_that_the_face_sheet_shows() -> None:
    assert ways("record, faces, ben, smile", "part") == [("part", "10-14")]
    assert ways("record, paint, ben, smile, 2026-03-04", "part, finished_on") == [("part", "13-14")]


def test_a_build_counts_on_the_most_particular_thing_it_names() -> None:
    columns = "character, puppet, part"
    assert ways("record, paint, ben, wick, wick-1, apron", columns) == [("part", "1-12")]
    assert ways("record, paint, ben, wick, wick-2, ", columns) == [("puppet", "13-24")]
    assert ways("record, paint, ben, wick, , ", columns) == [("character", "1-36")]


def test_one_persons_entries_of_one_craft_are_one_hand() -> None:
    (own,) = spreads(
        "record, paint, ben, wick, 2026-03-03\n        record, paint, ben, wick, 2026-03-02",
        "character, finished_on",
    )
    assert own.frames.text == "1-36"
    assert own.since == date(2026, 3, 2)
    assert [str(number) for number in own.entries] == ["A-4", "A-5"]


def test_in_undated_frames_everything_was_built_and_fitted() -> None:
    ledger = small_ledger("""
        [people]
        person
        ana
        [characters]
        character
        wick
        [puppets]
        puppet, character
        wick-1, wick
        [parts]
        part, character
        apron, wick
        [fittings]
        part, puppet, from_on, to_on
        apron, wick-1, 2026-05-01, 2026-05-02
        [sequences]
        sequence
        010
        [shots]
        shot, sequence, frames
        010-020, 010, 12
        [entries]
        craft, person, character, part, shot, finished_on
        animation, ana, wick, , 010-020,
        sculpt, ana, wick, , , 2027-01-01
        costume, ana, , apron, , 2027-01-01
    """)
    runs, _, _ = footage_of(ledger)
    found = Hands(ledger, runs).of_take("010-020", 1)
    assert {(own.craft, own.via.value, own.frames.text) for own in found} == {
        ("animation", "frame", "1-12"),
        ("sculpt", "character", "1-12"),
        ("costume", "part", "1-12"),
    }


def test_a_take_without_claims_has_nobodys_hands_in_it() -> None:
    ledger = small_ledger(f"{FILM}\n    voice, ana, wick, , 010-020, 1-48, 2026-03-02")
    runs, _, _ = footage_of(ledger)
    assert Hands(ledger, runs).of_take("010-020", 7) == ()


def test_the_worked_example() -> None:
    ledger = small_ledger(WORKED_EXAMPLE)
    runs, _, _ = footage_of(ledger)
    found = Hands(ledger, runs).of_take("010-020", 1)
    assert [
        (own.character, own.via.value, own.craft, own.person, own.frames.text)
        for own in found
        if own.character == "wick"
    ] == [
        ("wick", "frame", "animation", "ana", "1-24"),
        ("wick", "frame", "animation", "ben", "25-48"),
        ("wick", "character", "voice", "ana", "1-48"),
        ("wick", "character", "sculpt", "cai", "1-48"),
        ("wick", "puppet", "repair", "ana", "25-48"),
    ]
