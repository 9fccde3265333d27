"""The film's own cut as an OpenTimelineIO file, which ``credits cut`` reads again."""

from __future__ import annotations

import os
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_steps import frame_at
from credits.model.facts import Cut, CutClip
from credits.model.ledger import Ledger


def cut_to_otio(cut: Cut, ledger: Ledger, path: Path) -> None:
    """Write a version of the cut as a timeline with one video track.

    A clip has its shot and take as metadata ``shot`` and ``take``, its shot frames as source range,
    and the frames of its shot as its media's range. Read again, every film frame shows the same
    shot frame. Raises ProblemsFound when the file cannot be written; it is whole or not there.
    """
    text = _timeline(cut, ledger).to_json_string()
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                out.write(text + "\n")
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise ProblemsFound(Finding(what, "", Place(path.name))) from None


def _timeline(cut: Cut, ledger: Ledger) -> Any:
    import opentimelineio as otio

    rate = float(ledger.production.rate.per_second)

    def time(frames: int) -> Any:
        return otio.opentime.RationalTime(frames, rate)

    timeline = otio.schema.Timeline(f"{ledger.production.title}, cut {cut.version}")
    track = otio.schema.Track("picture", kind=otio.schema.TrackKind.Video)
    at = 1
    for clip in sorted(cut.clips, key=lambda clip: clip.film_first):
        if clip.film_first > at:
            track.append(otio.schema.Gap(duration=time(clip.film_first - at)))
        track.append(_clip(otio, clip, ledger, time))
        at = clip.film_first + clip.shown
    if cut.length >= at:
        track.append(otio.schema.Gap(duration=time(cut.length - at + 1)))
    timeline.tracks.append(track)
    return timeline


def _clip(otio: Any, clip: CutClip, ledger: Ledger, time: Any) -> Any:
    span = otio.opentime.TimeRange
    shot = ledger.shots.get(clip.shot)
    frames = None if shot is None else span(time(1), time(shot.length))
    metadata: dict[str, object] = {"shot": clip.shot}
    if clip.take is not None:
        metadata["take"] = clip.take
    scalar = float(clip.speed)
    if Fraction(scalar) != clip.speed:
        metadata["speed"] = str(clip.speed)
    written = otio.schema.Clip(
        name=clip.shot,
        media_reference=otio.schema.MissingReference(available_range=frames),
        source_range=span(time(_lowest(clip)), time(clip.shown)),
        metadata=metadata,
    )
    if clip.speed == 0:
        written.effects.append(otio.schema.FreezeFrame())
    elif clip.speed != 1:
        written.effects.append(otio.schema.LinearTimeWarp(time_scalar=scalar))
    return written


def _lowest(clip: CutClip) -> int:
    """The lowest shot frame that the clip shows."""
    if clip.speed >= 0:
        return clip.source_first
    return clip.source_last - frame_at(0, clip.shown, clip.speed, 0)
