"""Edit lists as the CMX 3600 adapter of OpenTimelineIO reads them: wherever it does, the same film.

The adapter calls a clip without a name by its event's number and keeps the sign FF of a freeze of
one frame. A speed of an M2 line it takes by the exact rate alone, never by the 24 frames that
timecode counts at 24000/1001; it refuses a film that begins in a transition.
"""

from __future__ import annotations

import contextlib
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from cut_files import film, log_of, read_cut
from hypothesis import given
from hypothesis import strategies as st

from credits.units.film_time import FrameRate, timecode
from tests.fetched import sample

CMX = "otio-cmx3600-adapter"
EVERY_NAME = r"^(?P<shot>(?!BL$).+)"  # whatever a clip is called is its shot, but black
RATES = ("24", "24000/1001", "25", "30", "30000/1001")
SPEEDS = tuple(map(Fraction, ("1", "0", "1/4", "1/2", "3/2", "2")))

Shown = tuple[str, int] | None
"""What a film frame shows: the clip's name and the source frame; None: nothing."""


def by_the_adapter(text: str, rate: str) -> list[Shown]:
    """What every film frame shows. Raises what the adapter raises."""
    per_second = float(FrameRate.parse(rate).per_second)
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=per_second)
    (track,) = timeline.video_tracks()
    frames: list[Shown] = []
    for item in track:
        if isinstance(item, otio.schema.Transition):
            continue
        first, length = item.source_range.start_time.value, item.source_range.duration.value
        speed = Fraction(1)
        for effect in item.effects:
            speed *= Fraction(effect.time_scalar).limit_denominator(1000)
        name = "" if item.name.isdigit() else item.name.removesuffix(" FF")
        black = getattr(getattr(item, "media_reference", None), "generator_kind", "") == "black"
        blank = black or isinstance(item, otio.schema.Gap)
        frames += [
            None if blank else (name, int(first) + int(step * speed)) for step in range(int(length))
        ]
    return frames


def by_the_product(path: Path, rate: str, named: list[Shown]) -> list[Shown]:
    """The same of the product; without the names that the adapter does not have."""
    reading = read_cut(path, log_of(rate=rate), first_frame=0, shot_pattern=EVERY_NAME)
    frames: list[Shown] = []
    for frame, known in zip(film(reading), named, strict=True):
        shot, _, number = (frame or "").rpartition(":")
        name = shot.removesuffix(" FF") if known and known[0] else ""
        frames.append((name, int(number) - 1) if frame else None)
    return frames


@pytest.mark.parametrize("rate", ["24", "25", "30"])
def test_samples(rate: str) -> None:
    paths = sorted(p for p in sample(CMX, "gap_test.edl").parent.iterdir() if p.suffix == ".edl")
    assert len(paths) >= 18
    read = 0
    for path in paths:
        with contextlib.suppress(ValueError, otio.exceptions.OTIOError):
            expected = by_the_adapter(path.read_text(encoding="utf-8"), rate)
            assert by_the_product(path, rate, expected) == expected, path.name
            read += 1
    assert read >= 8


@st.composite
def edit_lists(draw: st.DrawFn, rate: FrameRate) -> str:
    """Lists of one track: cuts, gaps, transitions, speeds, freezes, black, names of every kind."""
    drop = rate.drops and draw(st.booleans())
    lines = ["TITLE: FILM", f"FCM: {'' if drop else 'NON-'}DROP FRAME"]
    record = draw(st.sampled_from([0, 1790, 86_400]))
    for number in range(1, draw(st.integers(1, 8)) + 1):
        record += draw(st.integers(0, 3))
        shown = draw(st.integers(1, 40))
        speed = draw(st.sampled_from(SPEEDS if rate.per_second == rate.nominal else SPEEDS[:2]))
        frozen = speed == 0 and draw(st.booleans())
        source = draw(st.integers(0, 2000))
        length = max(1, int(shown * speed))
        reel = draw(st.sampled_from(["A001", "010-020", "AX", "BL"][: 3 + (number > 1)]))
        kind = draw(st.sampled_from(["C", "C", "D    012", "W001 012"])) if number > 1 else "C"
        times = [source, source + length, record, record + shown]
        in_out = " ".join(timecode(frame, rate, drop) for frame in times)
        start = f"{number:03}  {reel:8} V     "
        if kind != "C":
            at = timecode(record, rate, drop)
            lines.append(f"{number:03}  A000     V     C        {at} {at} {at} {at}")
        lines.append(f"{start}{kind:8} {in_out}")
        if frozen:
            lines.append("* * FREEZE FRAME")
        elif speed != 1:
            lines.append(
                f"M2   {reel}   {float(speed * rate.nominal):05.1f}   {timecode(source, rate)}"
            )
        if reel != "BL" and draw(st.booleans()):
            which = "FROM" if kind == "C" else "TO"
            lines.append(f"* {which} CLIP NAME:  {draw(st.sampled_from(['010-010', 'Été 7.mov']))}")
        record += shown
    return "\n".join(lines) + "\n"


@given(data=st.data(), rate=st.sampled_from(RATES))
def test_any_list(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rate: str) -> None:
    path = tmp_path_factory.mktemp("any") / "film.edl"
    path.write_text(data.draw(edit_lists(FrameRate.parse(rate))), encoding="utf-8")
    expected = by_the_adapter(path.read_text(encoding="utf-8"), rate)
    assert by_the_product(path, rate, expected) == expected
