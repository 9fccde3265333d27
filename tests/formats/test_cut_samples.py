"""Editorial files that others wrote: the samples of opentimelineio and otio-cmx3600-adapter.

Totals of the edit lists: counted by hand and by other programs. Frames, feet and frames of 35 mm,
16 a foot.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from cut_files import CutReading, film, log_of, read_cut, said

from credits.units.film_time import Gauge, feet_text
from tests.fetched import sample

OTIO, CMX = "opentimelineio", "otio-cmx3600-adapter"
EVERY_NAME = r"(?P<shot>.+)"  # whatever a clip is called is its shot
SCREENING = [31, 50, 28, 115, 101, 161, 170, 136, 257]


def read(source: str, name: str, rate: str = "24") -> CutReading:
    log = log_of(rate=rate)
    return read_cut(sample(source, name), log, first_frame=-10, shot_pattern=EVERY_NAME)


@pytest.mark.parametrize(("source", "name"), [(CMX, "screening_example.edl"),
                                              (OTIO, "screening_example.otio"),
                                              (CMX, "no_spaces_test.edl")])  # fmt: skip
def test_screening_example(source: str, name: str) -> None:
    reading = read(source, name)
    assert reading.cut is not None
    assert [clip.shown for clip in reading.cut.clips] == SCREENING
    assert reading.cut.length == sum(SCREENING) == 1049
    assert feet_text(1049, Gauge.parse("35mm-4perf")) == "65+09"


def test_speed_effects() -> None:
    reading = read(CMX, "speed_effects.edl")
    assert reading.cut is not None
    assert (len(reading.cut.clips), reading.cut.length) == (548, 30_330)
    assert feet_text(30_330, Gauge.parse("35mm-4perf")) == "1895+10"
    assert sum(1 for clip in reading.cut.clips if clip.speed == 0) == 7
    assert sum(1 for clip in reading.cut.clips if clip.speed not in (0, 1)) == 10


def test_25_frames_a_second() -> None:
    reading = read(CMX, "25fps.edl", "25")
    assert reading.cut is not None
    assert [clip.shown for clip in reading.cut.clips] == [161, 200, 86, 49]
    assert reading.cut.length == 496


def test_timecode_mismatch_is_refused_with_event_and_line() -> None:
    reading = read(CMX, "timecode_mismatch.edl", "25")
    assert reading.cut is None
    assert said(reading)[0].startswith(
        "timecode_mismatch.edl row 13: event '004': its source is 49 frames and its record 47"
    )


@pytest.mark.parametrize(
    ("name", "lengths"),
    [
        ("dissolve_test.edl", [9, 10, 1]),
        ("dissolve_test_2.edl", [5, 10, 5]),
        ("dissolve_test_3.edl", [61, 30, 46]),
        ("wipe_test.edl", [9, 10, 1]),
        ("gap_test.edl", [24, 24, 24]),
    ],
)
def test_small_lists(name: str, lengths: list[int]) -> None:
    """Lengths read off the record timecodes in the files."""
    reading = read(CMX, name)
    assert reading.cut is not None
    assert [clip.shown for clip in reading.cut.clips] == lengths


def test_sound_alone_is_no_cut() -> None:
    assert said(read(CMX, "multi_audio.edl")) == ["multi_audio.edl: holds no edits of picture."]


def test_layers_are_seen_as_their_makers_flattened_them() -> None:
    """preflattened.otio is multitrack.otio with its three tracks made one by hand."""
    layers, flat = read(OTIO, "multitrack.otio"), read(OTIO, "preflattened.otio")
    assert layers.cut is not None
    assert layers.cut.length == 3282
    assert film(layers) == film(flat)


def test_nested_stacks() -> None:
    """238 + 31 + 33 + 29 + 63 + 4 + 238 frames by the source ranges in the file."""
    reading = read(OTIO, "nested_example.otio")
    assert reading.cut is not None
    assert reading.cut.length == 636
    assert film(reading)[-242:-238] == ["Clip Inside A Track:482"] * 4  # a freeze frame


def test_a_clip_at_half_the_rate_is_refused_with_both() -> None:
    found = said(read(OTIO, "premiere_example.otio", "30"))
    assert "15 frames a second, but the production has 30" in found[0]


def test_every_sample_gives_a_cut_or_words() -> None:
    paths = sorted(path for source in (OTIO, CMX) for path in _of(source))
    assert len(paths) >= 30
    for path in paths:
        reading = read_cut(path, log_of(), first_frame=-10, shot_pattern=EVERY_NAME)
        assert (reading.cut is None) == bool(reading.problems), path.name


def _of(source: str) -> list[Path]:
    some = {OTIO: "simple_cut.otio", CMX: "gap_test.edl"}[source]
    return list(sample(source, some).parent.iterdir())


def test_fifteen_hundred_events_are_quick(tmp_path: Path) -> None:
    """As many as a feature has, every clip with its shot inside its name; processor seconds."""
    log = log_of(*(f"{n:03}-{m:03}" for n in range(10, 160) for m in (10, 20)))
    codes = [shot.code for shot in log.shots]
    lines = []
    for n in range(1500):
        at = n * 10
        lines.append(f"{n % 999:03}  A{n:07} V     C        1 11 {at} {at + 10}")
        lines.append(f"* FROM CLIP NAME: LAMP_{codes[n % 300]}_anim_v{n % 7}.mov")
    path = tmp_path / "film.edl"
    path.write_text("\n".join(lines))
    begin = time.process_time()
    reading = read_cut(path, log)
    assert time.process_time() - begin < 1.5
    assert reading.cut is not None
    assert (len(reading.cut.clips), reading.cut.length) == (1500, 15_000)


def test_a_missing_sample_says_how_to_fetch_it() -> None:
    with pytest.raises(FileNotFoundError, match=r"Fetch it: python -m tests\.fetched"):
        sample(CMX, "no_such_sample.edl")
