"""The editors' cut as an OpenTimelineIO timeline: what each film frame shows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest
from cut_files import (
    LOG,
    add_effects,
    clip,
    gap,
    log_of,
    read,
    read_cut,
    row,
    runs,
    said,
    saved,
    span,
    stack,
    time,
)
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.otio import meets, rate_text
from credits.model.facts import CutClip
from credits.units.film_time import FrameRate


def transition(before: int, after: int, kind: str = "SMPTE_Dissolve") -> otio.schema.Transition:
    return otio.schema.Transition(
        transition_type=kind, in_offset=time(before), out_offset=time(after)
    )


def test_clips_and_gaps_follow_each_other(tmp_path: Path) -> None:
    reading = read(tmp_path, row(clip("010-010", (5, 4)), gap(2), clip("020-010", (1, 3)), gap(1)))
    assert said(reading) == []
    assert reading.cut is not None
    assert reading.cut.clips == (
        CutClip(
            order=1, film_first=1, shown=4, shot="010-010", take=None, source_first=5, source_last=8
        ),
        CutClip(
            order=2, film_first=7, shown=3, shot="020-010", take=None, source_first=1, source_last=3
        ),
    )
    assert (reading.cut.length, reading.cut.source) == (10, "film.otio")


@pytest.mark.parametrize(
    ("tracks", "seen"),
    [
        # What is on top counts.
        (
            [row(clip("010-010", (1, 10))), row(gap(3), clip("020-010", (1, 4)))],
            "010-010:1-3 020-010:1-4 010-010:8-10",
        ),
        # A clip that is switched off is not seen, nor is a track; both keep their length.
        (
            [row(clip("010-010", (1, 4))), row(clip("020-010", (1, 9), enabled=False))],
            "010-010:1-4 -5",
        ),
        # Sound is no picture.
        ([row(clip("010-010", (1, 4))), row(clip("020-010", (1, 9)), kind="Audio")], "010-010:1-4"),
        # Three layers; the lowest is seen where both others have gaps.
        (
            [
                row(clip("010-010", (1, 9))),
                row(gap(2), clip("010-020", (1, 5))),
                row(gap(4), clip("020-010", (1, 1))),
            ],
            "010-010:1-2 010-020:1-2 020-010:1 010-020:4-5 010-010:8-9",
        ),
        # A track trimmed by its own range, and one that begins before its first clip.
        ([row(clip("010-010", (1, 4)), clip("020-010", (1, 4)), seen=(3, 3))],
         "010-010:4 020-010:1-2"),
        ([row(clip("010-010", (1, 9)), seen=(-2, 8))], "-2 010-010:1-6"),
    ],
)  # fmt: skip
def test_layers(tmp_path: Path, tracks: list[Any], seen: str) -> None:
    assert runs(read(tmp_path, *tracks)) == seen


def test_a_track_that_is_switched_off_is_not_seen(tmp_path: Path) -> None:
    top = row(clip("020-010", (1, 4)))
    top.enabled = False
    assert runs(read(tmp_path, row(clip("010-010", (1, 3))), top)) == "010-010:1-3 -1"


@pytest.mark.parametrize(
    ("item", "seen"),
    [
        (stack(clip("010-010", (11, 9)), seen=(2, 3)), "010-010:13-15"),
        (stack(row(clip("010-010", (11, 9))), row(gap(3), clip("020-010", (1, 2))), seen=(2, 4)),
         "010-010:13 020-010:1-2 010-010:16"),
        (row(clip("010-010", (1, 2)), clip("010-020", (1, 2)), seen=(1, 2)), "010-010:2 010-020:1"),
        (stack(stack(clip("010-010", (1, 9)), seen=(2, 6)), seen=(1, 3)), "010-010:4-6"),
        (stack(clip("010-010", (1, 2)), seen=(0, 5)), "010-010:1-2 -3"),
        # A nest that is played as a whole at another speed.
        (add_effects(stack(clip("010-010", (1, 9)), seen=(0, 4)), 2.0), "010-010:1-7by2"),
        (add_effects(stack(row(clip("010-010", (1, 2)), clip("010-020", (1, 2))), seen=(0, 4)), -1),
         "010-020:2-1 010-010:2-1"),
        (add_effects(row(clip("010-010", (1, 9)), seen=(4, 3)), otio.schema.FreezeFrame()),
         "010-010:5x3"),
        (add_effects(stack(clip("010-010", (1, 9), 0.5), seen=(0, 3)), 2.0), "010-010:1-3"),
    ],
)  # fmt: skip
def test_nested_stacks_and_tracks(tmp_path: Path, item: Any, seen: str) -> None:
    film = runs(read(tmp_path, row(clip("020-010", (9, 1)), item)))
    assert film == f"020-010:9 {seen}"


@pytest.mark.parametrize(
    ("effects", "seen"),
    [
        ((2.0,), "010-010:5-11by2"),
        ((-1.0,), "010-010:8-5"),
        ((-2.0,), "010-010:11-5by2"),
        ((0.0,), "010-010:5x4"),
        ((otio.schema.FreezeFrame(),), "010-010:5x4"),
        ((2.0, 0.5), "010-010:5-8"),
    ],
)
def test_speeds_count_frames_as_they_are_shown(
    tmp_path: Path, effects: tuple[Any, ...], seen: str
) -> None:
    assert runs(read(tmp_path, row(clip("010-010", (5, 4), *effects)))) == seen


def test_a_speed_of_a_third_is_exact(tmp_path: Path) -> None:
    reading = read(tmp_path, row(clip("010-010", (1, 9), 1 / 3)))
    assert runs(reading) == "010-010:1x3 010-010:2x3 010-010:3x3"
    assert reading.cut is not None
    assert reading.cut.clips[0].speed.denominator == 3


def test_slow_motion_that_is_partly_covered_keeps_its_frames(tmp_path: Path) -> None:
    below = row(clip("010-010", (1, 8), 0.5))
    above = row(gap(2), clip("020-010", (1, 1)))
    assert runs(read(tmp_path, below, above)) == (
        "010-010:1x2 020-010:1 010-010:2-3 010-010:3-4 010-010:4"
    )


@pytest.mark.parametrize(
    ("kind", "word"), [("SMPTE_Dissolve", "dissolve"), ("SMPTE_Wipe", "wipe"), ("", "transition")]
)
def test_a_transition_leaves_each_clip_its_frames(tmp_path: Path, kind: str, word: str) -> None:
    track = row(clip("010-010", (1, 4)), transition(2, 3, kind), clip("010-020", (1, 4)))
    reading = read(tmp_path, track)
    assert runs(reading) == "010-010:1-4 010-020:1-4"
    assert said(reading) == [
        f"film.otio: a {word} of 5 frames from '010-010' to '010-020': "
        "frames are counted to the edit point."
    ]


class TestFadesAtTheEnds:
    """A track with a transition at an end lasts as long as OpenTimelineIO says it does."""

    def test_they_count_in_the_length_of_the_film(self, tmp_path: Path) -> None:
        track = row(transition(2, 3), clip("010-010", (5, 9)), transition(4, 6))
        assert track.available_range().duration.value == 17
        assert runs(read(tmp_path, track)) == "-2 010-010:5-13 -6"

    def test_a_fade_within_the_clip_adds_nothing(self, tmp_path: Path) -> None:
        track = row(transition(0, 3), clip("010-010", (5, 9)), transition(4, 0))
        assert runs(read(tmp_path, track)) == "010-010:5-13"

    def test_a_range_of_the_track_counts_from_its_first_clip(self, tmp_path: Path) -> None:
        own = transition(2, 3), clip("010-010", (5, 9)), transition(4, 6)
        assert runs(read(tmp_path, row(*own, seen=(1, 3)))) == "010-010:6-8"

    def test_other_tracks_begin_with_the_first_clip(self, tmp_path: Path) -> None:
        low = row(transition(2, 3), clip("010-010", (5, 9)))
        top = row(gap(1), clip("010-020", (1, 2)))
        seen = "-2 010-010:5 010-020:1-2 010-010:8-13"
        assert runs(read(tmp_path, low, top)) == seen
        off = row(gap(1), clip("010-020", (1, 2)))
        low.enabled = False
        assert runs(read(tmp_path, low, off)) == "-3 010-020:1-2 -6"

    def test_within_a_nest(self, tmp_path: Path) -> None:
        own = row(transition(2, 3), clip("010-010", (5, 3)), transition(4, 1))
        track = row(clip("010-020", (1, 2)), stack(own), clip("020-010", (1, 1)))
        assert runs(read(tmp_path, track)) == "010-020:1-2 -2 010-010:5-7 -1 020-010:1"


@pytest.mark.parametrize(("schema", "newer"), [("Clip.2", "Clip.9"), ("Timeline.1", "Timeline.7")])
def test_a_newer_schema_is_said_to_be_newer(tmp_path: Path, schema: str, newer: str) -> None:
    path = saved(tmp_path / "film.otio", row(clip("010-010", (1, 4))))
    text = path.read_text()
    assert schema in text
    path.write_text(text.replace(schema, newer))
    assert said(read_cut(path, LOG)) == [
        f"film.otio: is written by a newer OpenTimelineIO than is read here ({newer}; {schema} is "
        "read). Ask the editors to save it for an older one."
    ]


def test_a_time_effect_that_is_not_linear_is_said(tmp_path: Path) -> None:
    curve = otio.schema.TimeEffect(name="ramp", effect_name="Ramp")
    reading = read(tmp_path, row(clip("010-010", (1, 4), curve)))
    assert runs(reading) == "010-010:1-4"
    assert said(reading) == [
        "film.otio: clip '010-010': a time effect that is not linear (Ramp). "
        "Its frames are counted at normal speed."
    ]


def test_an_effect_on_the_picture_changes_no_frame(tmp_path: Path) -> None:
    resize = otio.schema.Effect(name="resize", effect_name="Resize")
    reading = read(tmp_path, row(clip("010-010", (1, 4), resize)))
    assert (runs(reading), said(reading)) == ("010-010:1-4", [])


class TestWhichFrames:
    def test_the_media_range_says_what_frame_1_is(self, tmp_path: Path) -> None:
        track = row(clip("010-010", (86_405, 4), media=(86_400, 48)))
        assert runs(read(tmp_path, track)) == "010-010:6-9"

    def test_else_the_first_frame_that_is_given(self, tmp_path: Path) -> None:
        track = row(clip("010-010", (1005, 4)))
        assert runs(read(tmp_path, track, first_frame=1001)) == "010-010:5-8"

    def test_the_first_frame_that_is_given_goes_before_the_media_range(
        self, tmp_path: Path
    ) -> None:
        """Media with handles of eight frames: the shot's frame 1 is the ninth of them."""
        track = row(clip("010-010", (86_410, 4), media=(86_400, 216)))
        reading = read(tmp_path, track, first_frame=86_408)
        assert (runs(reading), said(reading)) == ("010-010:3-6", [])

    def test_the_first_frame_that_is_given_may_be_1(self, tmp_path: Path) -> None:
        track = row(clip("010-010", (5, 4), media=(0, 200)))
        assert runs(read(tmp_path, track, first_frame=1)) == "010-010:5-8"
        assert runs(read(tmp_path, track)) == "010-010:6-9"

    def test_media_longer_than_the_shot_is_said_once_a_shot(self, tmp_path: Path) -> None:
        one, other = ("010-010", (1008, 216)), ("010-020", (0, 200))
        clips = [clip(name, (media[0] + 9, 4), media=media) for name, media in (one, one, other)]
        reading = read(tmp_path, row(*clips))
        assert runs(reading) == "010-010:10-13 010-010:10-13 010-020:10-13"
        assert said(reading) == [
            "film.otio: clip '010-010': its media has 216 frames (1008 to 1223), shot 010-010 has "
            "200: 1008 was taken for frame 1 of the shot. With handles it is another: say with "
            "--first-frame which number frame 1 has."
        ]

    @pytest.mark.parametrize(
        ("seen", "speed", "ends"),
        [((98, 4), 1, "98 to 101"), ((95, 4), 2, "95 to 101"), ((98, 4), -1, "98 to 101")],
    )
    def test_a_clip_beyond_its_media_is_said(
        self, tmp_path: Path, seen: tuple[int, int], speed: float, ends: str
    ) -> None:
        reading = read(tmp_path, row(clip("010-010", seen, speed, media=(1, 100))))
        assert said(reading) == [
            f"film.otio: clip '010-010': at 00:00:00:00 of the film: shows frames {ends} of its "
            "media, which has 1 to 100. Correct the clip, or the range of its media."
        ]

    def test_media_as_long_as_the_shot_is_said_once(self, tmp_path: Path) -> None:
        (told,) = said(read(tmp_path, row(clip("010-010", (199, 4), media=(1, 200)))))
        assert "shows frames 199 to 202 of shot 010-010, which has 200" in told

    def test_a_clip_that_ends_with_its_media_is_not_said(self, tmp_path: Path) -> None:
        assert said(read(tmp_path, row(clip("010-010", (97, 4), media=(1, 100))))) == []

    def test_a_clip_before_its_media_is_said(self, tmp_path: Path) -> None:
        track = row(clip("010-010", (995, 4), media=(1000, 100)))
        reading = read(tmp_path, track, first_frame=990)
        assert runs(reading) == "010-010:6-9"
        assert "995 to 998 of its media, which has 1000 to 1099" in said(reading)[0]

    def test_a_clip_without_a_source_range_is_its_media(self, tmp_path: Path) -> None:
        track = row(clip("010-010", None, media=(100, 3)))
        assert runs(read(tmp_path, track)) == "010-010:1-3"

    def test_a_clip_without_any_range_is_refused(self, tmp_path: Path) -> None:
        bare = otio.schema.Clip(name="010-020")
        bare.media_reference = None
        found = said(read(tmp_path, row(clip("010-010", None), bare, clip("020-010", (1, 3)))))
        assert [line.split(":")[1] for line in found] == [" clip '010-010'", " clip '010-020'"]
        assert all("has neither a source range nor a media range" in line for line in found)

    def test_a_frame_before_the_first_is_refused(self, tmp_path: Path) -> None:
        found = said(read(tmp_path, row(clip("010-010", (0, 4)))))
        assert found == [
            "film.otio: clip '010-010': at 00:00:00:00 of the film: shows frames 0 to 3 of shot "
            "010-010. Its first frame is 0 in the file: say with --first-frame which number frame "
            "1 of a shot has there."
        ]
        assert runs(read(tmp_path, row(clip("010-010", (0, 4))), first_frame=0)) == "010-010:1-4"

    def test_frames_beyond_the_shot_are_said(self, tmp_path: Path) -> None:
        reading = read(tmp_path, row(clip("010-010", (199, 4))))
        assert said(reading) == [
            "film.otio: clip '010-010': at 00:00:00:00 of the film: shows frames 199 to 202 of "
            "shot 010-010, which has 200. Is the shot's length right, or --first-frame?"
        ]


class TestWhichShot:
    @pytest.mark.parametrize(
        ("name", "metadata", "means"),
        [
            ("title", {"shot": "010-010"}, "010-010:1"),
            ("020-010", {"shot": "010-010", "take": 3}, "010-010/3:1"),
            ("x", {"edit": {"shot": "010-020", "take": "2"}}, "010-020/2:1"),
            ("x", {"shot": {"note": "no code"}, "edit": {"shot": "010-020"}}, "010-020:1"),
            ("x", {"reel": "020-010"}, "020-010:1"),
            ("x", {"cmx_3600": {"reel": "020-010"}}, "020-010:1"),
            ("LAMP_010-020_v3.mov", {"take": 2.0}, "010-020/2:1"),
            ("010-020", {"take": "late"}, "010-020:1"),
            ("010-020", {"take": True}, "010-020:1"),
        ],
    )
    def test_key_name_reel_and_code_in_the_name(
        self, tmp_path: Path, name: str, metadata: dict[str, Any], means: str
    ) -> None:
        assert runs(read(tmp_path, row(clip(name, (1, 1), metadata=metadata)))) == means

    @pytest.mark.parametrize(
        "media",
        [
            otio.schema.ExternalReference("file:///film/010-010/LAMP_010-020_v3.mov"),
            otio.schema.ExternalReference("D:\\film\\010_020.mov"),
            otio.schema.MissingReference(name="010-020"),
            otio.schema.ImageSequenceReference("file:///film/x/", "010-020.", ".exr", 1, 1, 24),
            otio.schema.ImageSequenceReference("file:///film/010-020/", "f.", ".exr", 1, 1, 24),
        ],
    )
    def test_the_names_of_the_media(self, tmp_path: Path, media: Any) -> None:
        for name, shot in (("final", "010-020"), ("020-010", "020-010")):
            own = clip(name, (1, 1))
            own.media_reference = media.clone()
            assert runs(read(tmp_path, row(own))) == f"{shot}:1"

    def test_the_pattern_goes_before_all(self, tmp_path: Path) -> None:
        track = row(clip("010-010 x020t7", (1, 1), metadata={"shot": "010-010"}))
        log = log_of("010-010", "020")
        pattern = r"x(?P<shot>\d+)t(?P<take>\d+)"
        assert runs(read(tmp_path, track, log=log, shot_pattern=pattern)) == "020/7:1"

    def test_a_clip_that_names_no_shot_is_a_gap_and_is_said_once(self, tmp_path: Path) -> None:
        title = clip("MAIN TITLE", (1, 6))
        reading = read(
            tmp_path,
            row(clip("010-010", (1, 2)), title, clip("010-020", (1, 2))),
            row(gap(4), clip("020-010", (1, 1))),
        )
        assert runs(reading) == "010-010:1-2 -2 020-010:1 -3 010-020:1-2"
        assert said(reading) == [
            "film.otio: clip 'MAIN TITLE': at 00:00:00:02 of the film, 2 frames: names no shot of "
            "the log. A title or a slug may stay as it is."
        ]

    def test_what_a_title_lies_over_is_said(self, tmp_path: Path) -> None:
        over = row(gap(1), clip("A TITLE", (1, 4)))
        reading = read(tmp_path, row(clip("010-010", (1, 3)), clip("010-020", (1, 9))), over)
        assert runs(reading) == "010-010:1 -4 010-020:3-9"
        assert (
            "names no shot of the log. A title or a slug may stay as it is. It lies over 2 frames "
            "of 010-010, 2 frames of 010-020; if"
        ) in said(reading)[0]

    def test_a_name_with_two_shots_is_said(self, tmp_path: Path) -> None:
        reading = read(tmp_path, row(clip("010-010 to 010-020", (1, 2)), clip("020-010", (1, 2))))
        assert "names several shots (010-010, 010-020). Say which one" in said(reading)[0]

    def test_a_shot_that_the_file_states_stays_in_the_cut(self, tmp_path: Path) -> None:
        stated = clip("x", (1, 2), metadata={"shot": "030-010"})
        reading = read(tmp_path, row(stated, clip("010-010", (1, 1))))
        assert runs(reading) == "030-010:1-2 010-010:1"
        assert len(said(reading)) == 1

    def test_black_is_nothing_to_ask_about(self, tmp_path: Path) -> None:
        black = clip("BL", (1, 2))
        black.media_reference = otio.schema.GeneratorReference(generator_kind="black")
        reading = read(tmp_path, row(clip("010-010", (1, 4))), row(gap(1), black))
        assert (runs(reading), said(reading)) == ("010-010:1 -2 010-010:4", [])


class TestRates:
    @pytest.mark.parametrize(
        ("written", "production", "met"),
        [
            (24.0, "24", True),
            (23.976, "24000/1001", True),
            (23.98, "24000/1001", True),
            (23.976023976023978, "24000/1001", True),
            (29.97, "30000/1001", True),
            (59.94, "60000/1001", True),
            (23.976, "24", False),
            (23.98, "24", False),
            (24.0, "24000/1001", False),
            (29.97, "30", False),
            (25.0, "24", False),
            (0.0, "24", False),
            (float("nan"), "24", False),
            (float("inf"), "24", False),
        ],
    )
    def test_decimal_rates(self, written: float, production: str, met: bool) -> None:
        assert meets(written, FrameRate.parse(production)) is met

    @pytest.mark.parametrize(
        ("written", "text"),
        [
            (24.0, "24"),
            (23.98, "24000/1001"),
            (29.97, "30000/1001"),
            (12.5, "12.500"),
            (0.0, "0.0"),
        ],
    )
    def test_rates_in_words(self, written: float, text: str) -> None:
        assert rate_text(written) == text

    @given(st.sampled_from([24, 25, 30, 48, 50, 60, 12, 15]), st.booleans())
    def test_a_rate_meets_itself_and_not_its_neighbour(self, nominal: int, slowed: bool) -> None:
        rates = [FrameRate.parse(f"{nominal}"), FrameRate.parse(f"{nominal * 1000}/1001")]
        own, other = rates[slowed], rates[not slowed]
        assert meets(float(own.per_second), own)
        assert not meets(float(own.per_second), other)
        assert rate_text(float(own.per_second)) == own.text

    def test_another_rate_is_refused_once_with_both(self, tmp_path: Path) -> None:
        track = row(*(clip(f"010-0{n}0", (1, 4), rate=25.0) for n in (1, 2, 3)))
        assert said(read(tmp_path, track)) == [
            "film.otio: '010-010' and 2 more: 25 frames a second, but the production has 24. "
            "Ask the editors for the cut at the production's rate."
        ]

    def test_a_decimal_rate_of_the_production_is_read(self, tmp_path: Path) -> None:
        log = log_of("010-010", rate="24000/1001")
        track = row(clip("010-010", (1, 4), rate=23.98))
        assert runs(read(tmp_path, track, log=log)) == "010-010:1-4"

    def test_the_rate_of_the_timeline_counts(self, tmp_path: Path) -> None:
        timeline = otio.schema.Timeline("reel 1", global_start_time=time(90_000, 25.0))
        timeline.tracks.append(row(clip("010-010", (1, 4))))
        assert "'reel 1': 25 frames a second" in said(read(tmp_path, timeline))[0]

    def test_a_length_between_frames_is_refused(self, tmp_path: Path) -> None:
        broken = clip("010-010", (1, 4))
        broken.source_range = otio.opentime.TimeRange(time(1), time(4.5))
        assert (
            "a length of 4.5 frames is not a whole number" in said(read(tmp_path, row(broken)))[0]
        )


class TestFiles:
    def test_a_collection_of_one_timeline(self, tmp_path: Path) -> None:
        timeline = otio.schema.Timeline("film")
        timeline.tracks.append(row(clip("010-010", (1, 4))))
        one = otio.schema.SerializableCollection("bin", [timeline, clip("x", (1, 1))])
        assert runs(read(tmp_path, one)) == "010-010:1-4"
        two = otio.schema.SerializableCollection("bin", [timeline.clone(), timeline.clone()])
        assert "holds 2 timelines. Ask" in said(read(tmp_path, two))[0]

    def test_a_byte_order_mark_is_accepted(self, tmp_path: Path) -> None:
        path = saved(tmp_path / "FILM.OTIO", row(clip("010-010", (1, 4))))
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
        assert runs(read_cut(path, LOG)) == "010-010:1-4"

    @pytest.mark.parametrize(
        ("data", "words"),
        [
            (b"", "is empty"),
            (b" \n", "is empty"),
            (b"\x89PNG\r\n\xff\xfe", "it is not UTF-8 text"),
            (b'{"OTIO_SCHEMA": "Timeline.1", "tracks": {', "row 1: is not an .otio file"),
            (b"TITLE: a film", "row 1: is not an .otio file"),
            (b"[1, 2]", "holds no timeline"),
            (b"null", "holds no timeline"),
            (b'{"OTIO_SCHEMA": "Marker.2", "name": "x"}', "OpenTimelineIO cannot read it"),
            (b'{"OTIO_SCHEMA": "Wobble.7"}', "holds no timeline"),
            (b'{"OTIO_SCHEMA": "Timeline.99"}', "written by a newer OpenTimelineIO"),
            (b'{"OTIO_SCHEMA": "Timeline.1", "tracks": "x"}', "tracks of a Timeline.1 is not"),
            (
                b'{"OTIO_SCHEMA": "Stack.1", "children": [{"OTIO_SCHEMA": "Clip.1", '
                b'"media_reference": [{"OTIO_SCHEMA": "Clip.1"}]}]}',
                "media_reference of a Clip.1 is not what it has to be",
            ),
            (
                b'{"OTIO_SCHEMA": "Clip.1", "source_range": {"OTIO_SCHEMA": "TimeRange.1", '
                b'"start_time": {"OTIO_SCHEMA": "RationalTim9.1", "value": 1, "rate": 24}}}',
                "start_time of a TimeRange.1 is not what it has to be",
            ),
            (b"[" * 100_000, "nested too deep"),
            (b'{"a": Inf, "b": ' + b"[" * 300_000, "nested too deep"),
            (b"[" * 950 + b"]" * 950, ""),
        ],
    )
    def test_what_is_no_timeline_is_said(self, tmp_path: Path, data: bytes, words: str) -> None:
        path = tmp_path / "film.otio"
        path.write_bytes(data)
        reading = read_cut(path, LOG)
        assert reading.cut is None
        assert words in said(reading)[0]

    def test_stacks_in_stacks_without_end(self, tmp_path: Path) -> None:
        nest: Any = clip("010-010", (1, 4))
        for _ in range(100):
            nest = stack(nest)
        assert "stacks are nested more than 60 deep" in said(read(tmp_path, row(nest)))[0]

    def test_an_empty_timeline_and_one_of_titles(self, tmp_path: Path) -> None:
        assert "holds no clips, so there is no cut" in said(read(tmp_path, row()))[0]
        only = read(tmp_path, row(clip("TITLE", (1, 4))))
        assert "holds no clips of shots, so" in said(only)[0]
        assert "names no shot" in said(only)[1]

    @pytest.mark.parametrize(
        ("first", "length"),
        [(1, -4), (1, 10**12), (10**9, 4), (float("nan"), 4), (1, float("inf"))],
    )
    def test_impossible_ranges(self, tmp_path: Path, first: float, length: float) -> None:
        odd = clip("010-010", (1, 1))
        odd.source_range = otio.opentime.TimeRange(time(first), time(length))
        reading = read(tmp_path, row(odd))
        assert reading.cut is None
        assert said(reading)

    @given(data=st.data())
    def test_a_damaged_file_gives_a_cut_or_words(
        self, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
    ) -> None:
        folder = tmp_path_factory.mktemp("damaged")
        path = saved(folder / "film.otio", row(clip("010-010", (1, 4), 2.0, media=(1, 9)), gap(2)))
        text = json.dumps(json.loads(path.read_text()), separators=(",", ":"))
        at = data.draw(st.integers(0, len(text) - 1))
        other = data.draw(st.sampled_from(['"', "{", "}", "0", "9", "-", "null", "1e999", "é", ""]))
        path.write_text(text[:at] + other + text[at + 1 :], encoding="utf-8")
        reading = read_cut(path, LOG)
        assert (reading.cut is None) == bool(reading.problems)

    def test_the_adapter_s_record_start_is_no_gap(self, tmp_path: Path) -> None:
        """The CMX 3600 adapter notes the record timecode as a start below 0."""
        low = row(clip("010-010", (1, 4)), seen=(-86_400, 4))
        top = row(clip("020-010", (1, 3)), seen=(-86_402, 3))
        assert runs(read(tmp_path, low, top)) == "010-010:1-2 020-010:1-3"

    def test_span_is_what_the_file_has(self) -> None:
        assert span((5, 4)).end_time_inclusive() == time(8)
