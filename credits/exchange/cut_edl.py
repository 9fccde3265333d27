"""The cut as a CMX 3600 edit list (``.edl``), by OpenTimelineIO and its CMX 3600 adapter.

An edit list has no frame rate: it is read at the production's. The adapter makes the clips; FCM and
M2 lines, the order of the edits and what transitions come from are read here, since it leaves them
out. A clip is on screen for its record length.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_edl_edits import Edit, edits_of
from credits.exchange.cut_edl_lines import lines_of
from credits.exchange.cut_film import FilmReader
from credits.exchange.cut_parts import CutAsked, CutRead
from credits.exchange.cut_timeline import TimelineReader
from credits.exchange.reading import file_bytes
from credits.units.film_time import FrameRate

_KINDS = {"D": "dissolve", "W": "wipe"}


def read_cut_edl(path: Path, asked: CutAsked) -> CutRead:
    """The clips of the edit list. Raises ProblemsFound."""
    file = path.name
    data = file_bytes(path)
    if b"\0" in data:
        raise ProblemsFound(Finding("is not an edit list: it is not text", "", Place(file)))
    written = lines_of(_text(data), file)
    if not written.events and not written.problems:
        what = "holds no edits" if data.strip() else "is empty"
        hint = "An edit list in the CMX 3600 format has numbered edits with four timecodes."
        raise ProblemsFound(Finding(what, hint, Place(file)))
    edits = edits_of(written, file, asked.rate)
    if not edits:
        raise ProblemsFound(Finding("holds no edits of picture", "", Place(file)))
    rate = _counted_at(asked.rate)
    reader = TimelineReader(file, rate, rows=True)
    part = reader.read(_timeline(edits, file, rate))
    return FilmReader(file, asked).read(part, tuple(_transitions(edits, file)))


def _counted_at(rate: FrameRate) -> FrameRate:
    """The rate that the adapter is told: it knows those of SMPTE timecode alone.

    The edits are given to it in frames, so at any other rate another number serves as well.
    """
    import opentimelineio as otio

    known = otio.opentime.RationalTime.is_smpte_timecode_rate(float(rate.per_second))
    return rate if known else FrameRate.parse("60")


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _transitions(edits: list[Edit], file: str) -> list[Finding]:
    out = []
    for edit in edits:
        line = edit.line
        if line.kind != "C":
            length = f" of {line.frames} frames" if line.frames is not None else ""
            what = f"a {_KINDS[line.kind[0]]}{length}: frames are counted to the edit point"
            out.append(Finding(what, "", Place(file, line.row), "event", line.number))
    return out


def _timeline(edits: list[Edit], file: str, exact: FrameRate) -> Any:
    """The timeline that the adapter makes of the edits, with their speeds, rows and reels.

    Each track begins with the gap that parts it from the earliest edit of all.
    """
    import opentimelineio as otio

    begin = min(edit.record_in for edit in edits)
    rate = float(exact.per_second)
    try:
        timeline = otio.adapters.read_from_string(_plain(edits, begin), "cmx_3600", rate=rate)
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, AttributeError) as error:
        what = f"OpenTimelineIO cannot read it at {exact.text} frames a second ({error})"
        raise ProblemsFound(Finding(what, "", Place(file))) from None
    by_track = groupby(edits, key=lambda edit: edit.line.track)
    for track, (_, own) in zip(timeline.tracks, by_track, strict=True):
        track.source_range = None
        clips = [item for item in track if isinstance(item, otio.schema.Clip)]
        first = None
        for clip, edit in zip(clips, own, strict=True):
            first = edit.record_in - begin if first is None else first
            _complete(otio, clip, edit, rate)
        if first:
            track.insert(0, otio.schema.Gap(duration=otio.opentime.RationalTime(first, rate)))
    return timeline


def _plain(edits: list[Edit], begin: int) -> str:
    """The edits as the adapter reads every one of them: frame numbers, cuts, record lengths."""
    lines = []
    for number, edit in enumerate(edits, 1):
        line = edit.line
        track = "V" if line.track == 1 else f"V{line.track}"
        reel = line.reel.replace(" ", "_")
        record = edit.record_in - begin, edit.record_out - begin
        source = edit.source_in, edit.source_in + record[1] - record[0]
        times = " ".join(str(frame) for frame in (*source, *record))
        lines.append(f"{number:06} {reel} {track} C {times}")
        if edit.name:
            lines.append(f"* FROM CLIP NAME: {_one_line(edit.name)}")
        if edit.file:
            lines.append(f"* FROM FILE: {_one_line(edit.file)}")
    return "\n".join(lines) + "\n"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _complete(otio: Any, clip: Any, edit: Edit, rate: float) -> None:
    clip.source_range = otio.opentime.TimeRange(  # the adapter's clock goes round after 24 hours
        otio.opentime.RationalTime(edit.source_in, rate), clip.source_range.duration
    )
    if not edit.name and not edit.file:
        clip.name = ""  # the adapter puts the number of the edit there
    if clip.media_reference is not None:
        clip.media_reference.available_range = None  # the adapter puts the source range there
    clip.metadata["cmx_3600"] = {"reel": edit.line.reel, "row": edit.line.row}
    if edit.speed == 0:
        clip.effects.append(otio.schema.FreezeFrame())
    elif edit.speed != 1:
        clip.effects.append(otio.schema.LinearTimeWarp(time_scalar=float(edit.speed)))
        clip.metadata["speed"] = str(edit.speed)
