"""The film's own cut written as a timeline and read again."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from cut_files import film, log_of, read_cut, said
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.edl_out import cut_to_edl
from credits.formats.cut.otio import cut_to_otio
from credits.model.facts import Cut, CutClip
from credits.model.replay import replay
from credits.units.film_time import FrameRate

RATES = ("24", "24000/1001", "25", "30000/1001", "12")
NAMES = ("010-010", "لقطة 7", "TITLE", "=1+1", 'a"b<c>')
LONG = 100_000


@st.composite
def cuts(draw: st.DrawFn) -> Cut:
    """Cuts of any clips, one after another, with gaps."""
    at, clips = 1, []
    for order in range(1, draw(st.integers(1, 8)) + 1):
        at += draw(st.integers(0, 3))
        speed = draw(st.one_of(
            st.sampled_from([Fraction(1), Fraction(-1), Fraction(0)]),
            st.fractions(min_value=-9, max_value=9, max_denominator=999),
        ))  # fmt: skip
        shown = draw(st.integers(1, 30))
        first = draw(st.integers(1, 400))
        last = first + int((shown - 1) * abs(speed)) + draw(st.integers(0, 1))
        name = draw(st.sampled_from(NAMES))
        take = draw(st.one_of(st.none(), st.integers(1, 40)))
        clips.append(
            CutClip(
                order=order,
                film_first=at,
                shown=shown,
                shot=name,
                take=take,
                source_first=first,
                source_last=last,
                speed=speed,
            )
        )
        at += shown
    return Cut(
        version=1, source="cut.csv", length=at - 1 + draw(st.integers(0, 5)), clips=tuple(clips)
    )


@given(cut=cuts(), rate=st.sampled_from(RATES))
def test_a_cut_reads_back_as_the_same_frames(
    tmp_path_factory: pytest.TempPathFactory, cut: Cut, rate: str
) -> None:
    log = log_of("010-010", "لقطة 7", "=1+1", rate=rate, length=LONG)
    path = tmp_path_factory.mktemp("cut") / "film.otio"
    path.write_text(cut_to_otio(cut, replay(log)))
    reading = read_cut(path, log)
    assert reading.problems == ()
    assert film(reading) == film(cut)
    assert reading.cut is not None
    assert [clip.speed for clip in reading.cut.clips] == [clip.speed for clip in cut.clips]


def test_what_is_written() -> None:
    clips = (
        CutClip(
            order=1, film_first=3, shown=4, shot="010-010", take=2, source_first=9, source_last=12
        ),
        CutClip(
            order=2,
            film_first=7,
            shown=5,
            shot="TITLE",
            take=None,
            source_first=1,
            source_last=5,
            speed=Fraction(-1),
        ),
        CutClip(
            order=3,
            film_first=12,
            shown=6,
            shot="010-010",
            take=None,
            source_first=7,
            source_last=7,
            speed=Fraction(0),
        ),
    )
    log = log_of("010-010", length=48)
    written = cut_to_otio(Cut(version=3, source="cut.csv", length=20, clips=clips), replay(log))
    timeline = otio.adapters.read_from_string(written)
    assert timeline.name == "The Lamplighter, cut version 3"
    (track,) = timeline.tracks
    assert [type(item).__name__ for item in track] == ["Gap", "Clip", "Clip", "Clip", "Gap"]
    _, shot, title, hold, _ = track
    assert dict(shot.metadata) == {"shot": "010-010", "take": 2}
    assert (shot.source_range.start_time.value, shot.source_range.duration.value) == (9, 4)
    assert shot.available_range().duration == otio.opentime.RationalTime(48, 24)
    assert title.effects[0].time_scalar == -1
    assert isinstance(hold.effects[0], otio.schema.FreezeFrame)


def test_a_thing_that_is_no_shot_is_told_on_the_way_back(tmp_path: Path) -> None:
    cut = Cut(
        version=1,
        source="cut.csv",
        length=2,
        clips=(
            CutClip(
                order=1,
                film_first=1,
                shown=2,
                shot="TITLE",
                take=None,
                source_first=1,
                source_last=2,
            ),
        ),
    )
    log = log_of("010-010")
    (tmp_path / "film.otio").write_text(cut_to_otio(cut, replay(log)))
    assert "clip 'TITLE'" in said(read_cut(tmp_path / "film.otio", log))[0]


@pytest.mark.parametrize(
    ("speed", "last", "shown", "places"),
    [
        (Fraction(1), 8, 8, "00:00:00:01 00:00:00:09 00:00:00:00 00:00:00:08"),
        # Ten frames of the shot go by while five are on screen; two while four are.
        (Fraction(2), 10, 5, "00:00:00:01 00:00:00:11 00:00:00:00 00:00:00:05"),
        (Fraction(1, 2), 2, 4, "00:00:00:01 00:00:00:03 00:00:00:00 00:00:00:04"),
        (Fraction(-1), 8, 8, "00:00:00:01 00:00:00:09 00:00:00:00 00:00:00:08"),
    ],
)
def test_an_edit_list_says_how_many_frames_of_the_shot_go_by(
    speed: Fraction, last: int, shown: int, places: str
) -> None:
    clip = CutClip(
        order=1, film_first=1, shown=shown, shot="010-010", take=None, source_first=1,
        source_last=last, speed=speed,
    )  # fmt: skip
    cut = Cut(version=1, source="cut.csv", length=shown, clips=(clip,))
    text = cut_to_edl(cut, FrameRate.parse("24"), "Film")
    assert next(line for line in text.split("\n") if line.startswith("001")).endswith(places)
