"""Which shot a clip means by what it is called."""

from __future__ import annotations

import pytest
from cut_files import log_of
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.clips import CutShots, media_name, take_number

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


@pytest.mark.parametrize(
    ("name", "shot"),
    [
        ("010_020_v003.mov", "010-020"),
        ("010_020", "010-020"),
        ("010.020.mov", "010-020"),
        ("LAMP 010 020B anim", "010-020b"),
        ("sq1-a.final", "SQ1_A"),
        ("010 - 020", "010-020"),
        # What is spelled so goes before what is so but for separators.
        ("010-020_030 x", "010-020"),
        ("020_030 010-020", "010-020"),
    ],
)
def test_separators_are_equal_where_one_shot_fits(name: str, shot: str) -> None:
    shots = CutShots(log_of("010", "010-020", "010-020b", "020-030", "SQ1_A"))
    for meant in (shots.of_clip(None, (name,), None), shots.of_clip(None, (), None, (name,))):
        assert (meant.shot, meant.known) == (shot, True)


@pytest.mark.parametrize("name", ["010.020", "010 020", "x 010.020_v2.mov"])
def test_two_shots_that_differ_in_separators_alone_are_told_apart_or_told(name: str) -> None:
    shots = CutShots(log_of("010-020", "010_020"))
    meant = shots.of_clip(None, (name,), None)
    assert (meant.known, meant.several) == (False, ("010-020", "010_020"))
    assert shots.of_clip(None, (name.replace(" ", "_").replace(".", "_"),), None).shot == "010_020"
    assert shots.of_clip("010 020", ("x",), None).hint == "Is it 010-020 or 010_020?"


def test_a_code_in_a_key_or_a_table_is_found_but_for_separators() -> None:
    assert SHOTS.of_clip("010_020", ("x",), None).shot == "010-020"
    assert SHOTS.named("010 020").shot == "010-020"


def test_the_name_of_the_media_is_looked_at_last() -> None:
    assert SHOTS.of_clip(None, ("anim final", "A001"), None, ("010-020_v3",)).shot == "010-020"
    assert SHOTS.of_clip(None, ("x 010_020",), None, ("SQ1_A",)).shot == "010-020"
    assert SHOTS.of_clip(None, ("x",), None, ("plate", "sq1_a x")).shot == "SQ1_A"


@pytest.mark.parametrize(
    ("address", "name"),
    [
        ("file:///film/shots/010-020_v3.mov", "010-020_v3"),
        ("file:///film/010%20020.mov", "010 020"),
        ("D:\\shots\\010-010\\010-020.mov", "010-020"),
        ("010.020", "010.020"),
        ("010-020.%04d.exr", "010-020.%04d"),
        ("shots/010-020/", "010-020"),
        (".mov", ".mov"),
        ("", ""),
    ],
)
def test_the_name_of_a_media_file(address: str, name: str) -> None:
    assert media_name(address) == name


@pytest.mark.parametrize("name", ["010-02", "010-02_v003.mov", "LAMP_010-0200_anim.mov"])
def test_a_code_that_is_nearly_one_is_asked_about(name: str) -> None:
    shots = CutShots(log_of("010-020", "SQ1_A"))
    assert shots.of_clip(None, (name,), None).hint == "Is it 010-020?"


def test_every_name_has_its_hint() -> None:
    shots = CutShots(log_of("010-020"))
    hints = {shots.of_clip(None, (f"010-02_v{n:03}.mov",), None).hint for n in range(400)}
    assert hints == {"Is it 010-020?"}


def test_two_codes_are_no_answer() -> None:
    for name in ("from 010-020 to 010-020b", "from 010_020 to 010_020b"):
        meant = SHOTS.of_clip(None, (name,), None)
        assert (meant.known, meant.several) == (False, ("010-020", "010-020b"))
    overlapping = CutShots(log_of("010-020", "020-030")).of_clip(None, ("010_020_030",), None)
    assert (overlapping.known, overlapping.several) == (False, ("010-020", "020-030"))
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
