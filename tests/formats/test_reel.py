"""A show reel: what the cut shows of somebody's work, written as files and read again."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from cut_files import log_of, read_cut
from hypothesis import given
from hypothesis import strategies as st
from test_cut_out import LONG, RATES, cuts

from credits.footage.cut import CutUse, source_frame
from credits.formats.cut.edl_out import cut_to_edl
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.reel import Work, reel_of
from credits.model.facts import Cut, CutClip
from credits.model.replay import replay
from credits.units.film_time import FrameRate
from credits.units.frames import Frames

SHOTS = ("010-010", "لقطة 7", "TITLE", "=1+1", 'a"b<c>')


def use_of(cut: Cut) -> CutUse:
    """A cut whose clips say their takes."""
    return CutUse(cut=cut, clips=cut.clips, used={}, clips_of={}, distinct_frames=0)


def shown(cut: Cut) -> list[tuple[str, int | None, int]]:
    """The shot, the take and the frame of every film frame, one after the other."""
    clips = sorted(cut.clips, key=lambda clip: clip.film_first)
    return [
        (clip.shot, clip.take, source_frame(clip, step))
        for clip in clips
        for step in range(clip.shown)
    ]


@st.composite
def work(draw: st.DrawFn) -> Work:
    """Frames of some shots, in some takes or in whichever is used."""
    found = {}
    for shot in SHOTS[:3]:
        take = draw(st.one_of(st.none(), st.integers(1, 40)))
        first = draw(st.integers(1, 300))
        found[shot, take] = Frames.span(first, first + draw(st.integers(0, 200)))
    return found


@given(cut=cuts(), work=work())
def test_a_reel_has_the_film_frames_that_show_the_work_and_no_others(cut: Cut, work: Work) -> None:
    reel = reel_of(use_of(cut), work, "reel").cut
    wanted = [
        one
        for one in shown(cut)
        if any(one[2] in work.get((one[0], take), Frames()) for take in {one[1], None})
    ]
    assert shown(reel) == wanted
    ends = [clip.film_first + clip.shown for clip in reel.clips]
    assert [clip.film_first for clip in reel.clips] == [1, *ends][: len(ends)]
    assert reel.length == len(wanted)


@given(cut=cuts(), rate=st.sampled_from(RATES))
def test_an_edit_list_reads_back_as_the_same_frames(
    tmp_path_factory: pytest.TempPathFactory, cut: Cut, rate: str
) -> None:
    log = log_of(*SHOTS, rate=rate, length=LONG)
    path = tmp_path_factory.mktemp("cut") / "film.edl"
    path.write_text(cut_to_edl(cut, FrameRate.parse(rate), "A film"), "utf-8")
    reading = read_cut(path, log)
    assert reading.problems == ()
    assert reading.cut is not None
    # An edit list begins where its first edit does, and has no takes.
    begin = min(clip.film_first for clip in cut.clips) - 1
    end = max(clip.film_first + clip.shown for clip in cut.clips) - 1
    assert reading.cut.length == end - begin
    assert [one[::2] for one in shown(reading.cut)] == [one[::2] for one in shown(cut)]


CLIPS = (
    CutClip(
        order=1, film_first=1, shown=24, shot="010-010", take=2, source_first=1, source_last=24,
    ),
    CutClip(
        order=2, film_first=25, shown=48, shot="010-020", take=1, source_first=11, source_last=34,
        speed=Fraction(1, 2),
    ),
)  # fmt: skip
OWN: Work = {("010-010", 2): Frames.span(13, 40), ("010-020", None): Frames.span(1, 14)}


def test_what_a_reel_holds_and_where_the_film_has_it() -> None:
    cut = Cut(version=3, source="cut.csv", length=72, clips=CLIPS)
    reel = reel_of(use_of(cut), OWN, "Ana")
    said = [(c.film_first, c.shot, c.take, c.source_first, c.source_last) for c in reel.cut.clips]
    assert said == [(1, "010-010", 2, 13, 24), (13, "010-020", 1, 11, 14)]
    assert reel.film_firsts == (13, 25)
    assert (reel.cut.version, reel.cut.source, reel.cut.length) == (3, "Ana", 20)


def test_other_readers_read_both_files(tmp_path: Path) -> None:
    log = log_of("010-010", "010-020")
    cut = Cut(version=3, source="cut.csv", length=72, clips=CLIPS)
    reel = reel_of(use_of(cut), OWN, "Ana").cut
    (tmp_path / "reel.otio").write_text(cut_to_otio(reel, replay(log), "Ana"))
    (tmp_path / "reel.edl").write_text(cut_to_edl(reel, log.production.rate, "Ana", ["A", "B"]))
    for name, options in (("reel.otio", {}), ("reel.edl", {"rate": 24.0})):
        timeline = otio.adapters.read_from_file(str(tmp_path / name), **options)
        assert timeline.name == "Ana"
        clips = list(timeline.find_clips())
        assert [clip.name for clip in clips] == ["010-010", "010-020"]
        starts = [clip.source_range.start_time.value for clip in clips]
        assert starts == [13, 11]
        assert sum(clip.duration().value for clip in clips) == 20
