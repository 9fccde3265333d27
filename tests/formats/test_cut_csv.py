"""The editors' cut as a table."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from cut_files import CutReading, read_cut
from given_tables import EMPTY, csv_text, film
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.read import speed
from credits.formats.tables.cells import Unreadable
from credits.model.facts import CutClip


def cut(folder: Path, text: str, **options: object) -> CutReading:
    path = folder / "cut.csv"
    path.write_text(csv_text(text), encoding="utf-8")
    return read_cut(path, film(folder), **options)  # type: ignore[arg-type]


def problems(folder: Path, text: str, **options: object) -> list[str]:
    reading = cut(folder, text, **options)
    assert reading.cut is None
    return [str(problem) for problem in reading.problems]


def test_clips_follow_each_other_on_the_film(tmp_path: Path) -> None:
    text = """
        shot,take,first,last,speed,shown
        010-020,,9,40,,
        020-010,2,1,48,2,
        020-010,2,1,48,-1/2,96
        010-020,,17,17,0,12
    """
    reading = cut(tmp_path, text)
    assert (reading.problems, reading.not_understood) == ((), ())
    assert reading.cut is not None
    assert reading.cut.clips == (
        CutClip(
            order=1,
            film_first=1,
            shown=32,
            shot="010-020",
            take=None,
            source_first=9,
            source_last=40,
        ),
        CutClip(
            order=2,
            film_first=33,
            shown=24,
            shot="020-010",
            take=2,
            source_first=1,
            source_last=48,
            speed=Fraction(2),
        ),
        CutClip(
            order=3,
            film_first=57,
            shown=96,
            shot="020-010",
            take=2,
            source_first=1,
            source_last=48,
            speed=Fraction(-1, 2),
        ),
        CutClip(
            order=4,
            film_first=153,
            shown=12,
            shot="010-020",
            take=None,
            source_first=17,
            source_last=17,
            speed=Fraction(0),
        ),
    )
    assert (reading.cut.length, reading.cut.source) == (164, "cut.csv")


def test_a_shot_that_the_log_does_not_have_stays_in_the_cut_and_is_said(tmp_path: Path) -> None:
    reading = cut(tmp_path, "shot,first,last\n010-02,1,8\nTITLE,1,24")
    assert reading.cut is not None
    assert [clip.shot for clip in reading.cut.clips] == ["010-02", "TITLE"]
    assert [str(f) for f in reading.not_understood] == [
        "cut.csv row 2: shot '010-02': the log has no such shot. Is it 010-020?",
        "cut.csv row 3: shot 'TITLE': the log has no such shot. "
        "A title or a slug may stay as it is.",
    ]


def test_the_first_frame_may_have_another_number_in_the_file(tmp_path: Path) -> None:
    reading = cut(tmp_path, "shot,first,last\n010-020,1001,1048", first_frame=1001)
    assert reading.cut is not None
    clip = reading.cut.clips[0]
    assert (clip.source_first, clip.source_last) == (1, 48)
    (found,) = problems(tmp_path, "shot,first,last\n010-020,9,48", first_frame=1001)
    assert "first '9': lies before frame 1001, the first of every shot." in found


def test_a_pattern_finds_shot_and_take(tmp_path: Path) -> None:
    text = "shot,first,last\nLAMP_010-020_t03,1,8"
    reading = cut(tmp_path, text, shot_pattern=r"_(?P<shot>[0-9-]+)_t(?P<take>\d+)")
    assert reading.cut is not None
    assert (reading.cut.clips[0].shot, reading.cut.clips[0].take) == ("010-020", 3)
    assert "is not a regular expression" in problems(tmp_path, text, shot_pattern="(")[0]
    assert "has no group shot" in problems(tmp_path, text, shot_pattern="x")[0]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("010-020,40,9,,", "last '9': lies before first (40). Exchange the two;"),
        ("010-020,0,9,,", "first '0': lies before frame 1, the first of every shot."),
        ("010-020,1,9,fast,", "speed 'fast': is not a speed. Write 1, -1, 2, 1/2 or 0.5;"),
        ("010-020,1,9,50 %,", "speed '50 %': is not a speed. Write 1/2."),
        ("010-020,1,9,1/0,", "speed '1/0': divides by 0."),
        ("010-020,9,9,0,", "shown: is empty, and at speed 0 nothing else says how long"),
        ("010-020,1,9,0,12", "speed '0': speed 0 holds one frame, but first and last differ."),
        ("010-020,1,9,2,9", "shown '9': 9 frames at speed 2 are 5 on screen. Write 5,"),
        ("010-020,1,9,2,4", "shown '4': 9 frames at speed 2 are 5 on screen. Write 5,"),
        (",1,9,,", "shot: is empty."),
        ("010-020,,9,,", "first: is empty."),
    ],
)
def test_what_cannot_be_in_a_cut_is_refused(tmp_path: Path, row: str, said: str) -> None:
    (found,) = problems(tmp_path, f"shot,first,last,speed,shown\n{row}")
    assert found.startswith(f"cut.csv row 2: {said}")


def test_files_that_hold_no_cut(tmp_path: Path) -> None:
    assert problems(tmp_path, "") == ["cut.csv: holds no clips, so there is no cut to import."]
    assert "column 'last': this column is missing" in problems(tmp_path, "shot,first\n010-020,1")[0]
    (tmp_path / "cut.mov").write_text("")
    reading = read_cut(tmp_path / "cut.mov", film(tmp_path))
    assert str(reading.problems[0]).startswith("cut.mov: a cut is not read from .mov. These are")
    gone = read_cut(tmp_path / "gone.csv", film(tmp_path))
    assert "gone.csv: cannot be read" in str(gone.problems[0])


@pytest.mark.parametrize(
    ("text", "exact"),
    [
        ("1", Fraction(1)),
        ("-1", Fraction(-1)),
        ("−1/3", Fraction(-1, 3)),
        ("0.1", Fraction(1, 10)),
        ("+2", Fraction(2)),
    ],
)
def test_speeds_are_exact(text: str, exact: Fraction) -> None:
    assert speed(text) == exact


@given(st.text(max_size=10))
def test_any_text_is_a_speed_or_says_what_to_write(text: str) -> None:
    try:
        found: Fraction | str = speed(text)
    except Unreadable as problem:
        found = problem.hint
    assert isinstance(found, Fraction) or found.startswith("Write ")


@given(
    first=st.integers(1, 500),
    n=st.integers(1, 500),
    rate=st.fractions(min_value=-8, max_value=8, max_denominator=12).filter(bool),
)
def test_every_film_frame_of_a_clip_shows_a_frame_that_it_names(
    tmp_path_factory: pytest.TempPathFactory, first: int, n: int, rate: Fraction
) -> None:
    folder = tmp_path_factory.mktemp("cut")
    path = folder / "cut.csv"
    path.write_text(f"shot,first,last,speed\nx,{first},{first + n - 1},{rate}\n")
    clip = read_cut(path, EMPTY).cut.clips[0]  # type: ignore[union-attr]
    for k in (0, clip.shown - 1):
        step = int(k * abs(rate))
        frame = clip.source_first + step if rate > 0 else clip.source_last - step
        assert clip.source_first <= frame <= clip.source_last
    assert int(clip.shown * abs(rate)) >= n
