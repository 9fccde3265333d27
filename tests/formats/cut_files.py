"""Timelines and edit lists as tests write them, and the cut that is read from them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

import opentimelineio as otio
from given_tables import EMPTY, csv_text

from credits import apart
from credits.errors import Finding, ProblemsFound
from credits.footage.cut import source_frame
from credits.formats.cut import read as cut_in
from credits.model.facts import Cut, Shot
from credits.model.log import WrittenLog
from credits.units.film_time import FrameRate
from tests.apart_here import read_here


class CutReading(NamedTuple):
    """The cut as it was read and what is not understood, or what is wrong."""

    cut: Cut | None
    problems: tuple[Finding, ...] = ()
    not_understood: tuple[Finding, ...] = ()


def read_cut(path: Path, log: WrittenLog, **options: Any) -> CutReading:
    """Read a cut, whatever is wrong with it."""
    try:
        with patch.object(apart, "read_apart", read_here):
            found = cut_in.read_cut(path, log, **options)
    except ProblemsFound as error:
        return CutReading(None, error.findings)
    return CutReading(found.cut, (), found.not_understood)


Range = tuple[int, int]
RATE = 24.0


def log_of(*shots: str, rate: str = "24", length: int = 200) -> WrittenLog:
    """A log that holds these shots, each of so many frames."""
    production = replace(EMPTY.production, rate=FrameRate.parse(rate))
    return replace(
        EMPTY,
        production=production,
        shots=tuple(Shot(code=code, sequence="010", length=length) for code in shots),
    )


LOG = log_of("010-010", "010-020", "020-010")


def time(frames: float, rate: float = RATE) -> otio.opentime.RationalTime:
    return otio.opentime.RationalTime(frames, rate)


def span(at: Range, rate: float = RATE) -> otio.opentime.TimeRange:
    """First frame and length as OpenTimelineIO has them."""
    return otio.opentime.TimeRange(time(at[0], rate), time(at[1], rate))


def clip(
    name: str,
    seen: Range | None,
    *effects: float | otio.schema.Effect,
    media: Range | None = None,
    rate: float = RATE,
    metadata: dict[str, Any] | None = None,
    enabled: bool = True,
) -> otio.schema.Clip:
    """A clip that shows ``seen`` (first frame, length). An effect that is a number is a speed."""
    made = otio.schema.Clip(
        name=name,
        source_range=None if seen is None else span(seen, rate),
        metadata=metadata or {},
        media_reference=otio.schema.MissingReference(
            available_range=None if media is None else span(media, rate)
        ),
    )
    add_effects(made, *effects)
    made.enabled = enabled
    return made


def add_effects(item: Any, *effects: float | otio.schema.Effect) -> Any:
    for effect in effects:
        if isinstance(effect, int | float):
            effect = otio.schema.LinearTimeWarp(time_scalar=effect)
        item.effects.append(effect)
    return item


def gap(length: int) -> otio.schema.Gap:
    return otio.schema.Gap(duration=time(length))


def row(*items: Any, seen: Range | None = None, kind: str = "Video") -> otio.schema.Track:
    """A track of these items."""
    track = otio.schema.Track(kind=kind, source_range=None if seen is None else span(seen))
    track.extend(items)
    return track


def stack(*layers: Any, seen: Range | None = None) -> otio.schema.Stack:
    """Layers, the last on top."""
    made = otio.schema.Stack(source_range=None if seen is None else span(seen))
    made.extend(layers)
    return made


def saved(path: Path, *tracks: Any) -> Path:
    """A timeline of these tracks, the last on top, as a file; a single other object as it is."""
    root = tracks[0]
    if isinstance(root, otio.schema.Track):
        root = otio.schema.Timeline("film")
        root.tracks.extend(tracks)
    path.write_text(root.to_json_string(), encoding="utf-8")
    return path


def read(folder: Path, *tracks: Any, log: WrittenLog = LOG, **options: Any) -> CutReading:
    return read_cut(saved(folder / "film.otio", *tracks), log, **options)


def read_edl(folder: Path, text: str, log: WrittenLog = LOG, **options: Any) -> CutReading:
    path = folder / "film.edl"
    path.write_text(csv_text(text), encoding="utf-8")
    return read_cut(path, log, **options)


def film(reading: CutReading | Cut) -> list[str | None]:
    """What every film frame shows: shot and shot frame, or None."""
    cut = reading if isinstance(reading, Cut) else reading.cut
    assert cut is not None, [str(p) for p in reading.problems]  # type: ignore[union-attr]
    frames: list[str | None] = [None] * cut.length
    for own in cut.clips:
        for step in range(own.shown):
            at = own.film_first - 1 + step
            assert frames[at] is None, "two clips on one film frame"
            take = "" if own.take is None else f"/{own.take}"
            frames[at] = f"{own.shot}{take}:{source_frame(own, step)}"
    return frames


def runs(reading: CutReading | Cut) -> str:
    """The film in short: ``010-010:5-8 -2 020-010:9x3``, a gap of two frames, a hold of three."""
    out: list[list[Any]] = []
    for frame in film(reading):
        shot, _, number = (frame or "").rpartition(":")
        now = int(number) if number else None
        last = out[-1] if out else None
        if last is None or last[0] != shot:
            out.append([shot, now, now, 1])
        elif now is None or last[3] == 1 or now - last[2] == (last[2] - last[1]) / (last[3] - 1):
            last[2:] = [now, last[3] + 1]
        else:
            out.append([shot, now, now, 1])
    return " ".join(_run(*part) for part in out)


def _run(shot: str, first: int | None, last: int | None, length: int) -> str:
    if first is None or last is None:
        return f"-{length}"
    if length == 1:
        return f"{shot}:{first}"
    if first == last:
        return f"{shot}:{first}x{length}"
    step = Fraction(last - first, length - 1)
    return f"{shot}:{first}-{last}" + ("" if abs(step) == 1 else f"by{abs(step)}")


def said(reading: CutReading) -> list[str]:
    """The problems, or else what was not understood, as people read them."""
    return [str(finding) for finding in reading.problems or reading.not_understood]
