"""Which shot a clip means by what it is called."""

from __future__ import annotations

import pytest
from cut_files import log_of
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.clips import CutShots, take_number

SHOTS = CutShots(log_of("010", "010-020", "010-020b", "SQ1_A", "لقطة-7", "🎬"))


@pytest.mark.parametrize(
    ("name", "shot"),
    [
        ("010-020", "010-020"),
        ("010-020B", "010-020b"),
        ("LAMP_010-020_v3.mov", "010-020"),
        ("lamp (010-020) take 3", "010-020"),
        ("x.010-020b.x", "010-020b"),
        ("010-020 010-020", "010-020"),
        ("sq1_a_final", "SQ1_A"),
        ("شريط لقطة-7 نهائي", "لقطة-7"),
        ("🎬", "🎬"),
        ("roll 010", "010"),
    ],
)
def test_a_code_as_a_whole_or_between_separators(name: str, shot: str) -> None:
    meant = SHOTS.of_clip(None, (name,), None)
    assert (meant.shot, meant.known) == (shot, True)


@pytest.mark.parametrize("name", ["", "0100", "x010-020", "0100-0201", "SQ1A", "title", "a" * 5000])
def test_part_of_a_word_is_no_code(name: str) -> None:
    meant = SHOTS.of_clip(None, (name,) if name else (), None)
    assert (meant.known, meant.said, meant.several) == (False, False, ())


def test_two_codes_are_no_answer() -> None:
    meant = SHOTS.of_clip(None, ("from 010-020 to 010-020b",), None)
    assert (meant.known, meant.several) == (False, ("010-020", "010-020b"))


def test_a_pattern_that_does_not_match_leaves_the_usual_ways() -> None:
    shots = CutShots(log_of("010"), r"^(?P<shot>\d+)/(?P<take>\d+)$")
    assert shots.of_clip(None, ("x 010",), None).shot == "010"
    meant = shots.of_clip("010", ("77/4",), None)
    assert (meant.shot, meant.take, meant.known, meant.said) == ("77", 4, False, True)


@pytest.mark.parametrize(
    ("value", "take"),
    [(3, 3), ("3", 3), ("03", 3), (3.0, 3), (0, None), (-1, None), (2.5, None), ("3b", None),
     (True, None), (None, None), ("", None), ("٣", None), (10**12, None), ([3], None)],
)  # fmt: skip
def test_a_take_is_a_whole_number_from_1(value: object, take: int | None) -> None:
    assert take_number(value) == take


@given(st.text(max_size=60), st.text(max_size=10))
def test_any_name_is_a_shot_or_is_not(name: str, key: str) -> None:
    meant = SHOTS.of_clip(key, (name,), None)
    assert meant.known or meant.shot in (name, key.strip(), meant.shot)
