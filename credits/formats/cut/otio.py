"""OpenTimelineIO files, in and out."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import opentimelineio as otio

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutRead
from credits.formats.cut.film import FilmReader
from credits.formats.cut.timeline import TimelineReader, frame_at
from credits.formats.tables.csv import file_bytes
from credits.model.facts import Cut, CutClip
from credits.model.ledger import Ledger

_SCHEMA = "OTIO_SCHEMA"


def _object(value: Any) -> bool:
    return isinstance(value, dict) and isinstance(value.get(_SCHEMA), str)


def _object_or_none(value: Any) -> bool:
    return value is None or _object(value)


def _objects(value: Any) -> bool:
    return isinstance(value, list) and all(map(_object, value))


def _named_objects(value: Any) -> bool:
    return isinstance(value, dict) and all(map(_object_or_none, value.values()))


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _plain(value: Any) -> bool:
    return value is None or (isinstance(value, dict) and _SCHEMA not in value)


SHAPES: dict[str, Callable[[Any], bool]] = {
    "children": _objects,
    "effects": lambda value: value is None or _objects(value),
    "markers": lambda value: value is None or _objects(value),
    "tracks": _object_or_none,
    "media_reference": _object_or_none,
    "media_references": _named_objects,
    "source_range": _object_or_none,
    "available_range": _object_or_none,
    "marked_range": _object_or_none,
    "global_start_time": _object_or_none,
    "start_time": _object,
    "duration": _object,
    "in_offset": _object_or_none,
    "out_offset": _object_or_none,
    "metadata": _plain,
    "name": lambda value: value is None or isinstance(value, str),
    "kind": lambda value: isinstance(value, str),
    "value": _number,
    "rate": _number,
    "time_scalar": _number,
}


def misshapen(root: Any) -> tuple[str, str] | None:
    """The first object and key that has another shape than OpenTimelineIO gives it, or None.

    Metadata is not looked into: anything may stand there.
    """
    waiting = [root]
    while waiting:
        value = waiting.pop()
        if isinstance(value, list):
            waiting.extend(value)
        elif isinstance(value, dict):
            if _SCHEMA in value:
                for key, fits in SHAPES.items():
                    if key in value and not fits(value[key]):
                        return str(value[_SCHEMA]), key
            waiting.extend(inner for key, inner in value.items() if key != "metadata")
    return None


_INF = re.compile(r'("(?:[^"\\]|\\.)*")|\bInf\b')  # not within a text


def read_cut_otio(path: Path, asked: CutAsked) -> CutRead:
    """The clips of the timeline in the file. Raises ProblemsFound."""
    root = _timeline(_read(path), path.name)
    reader = TimelineReader(path.name, asked.rate)
    part = reader.read(root)
    return FilmReader(path.name, asked).read(part, tuple(reader.notes))


def _read(path: Path) -> Any:
    """Whatever the file holds, as OpenTimelineIO reads it. Raises ProblemsFound."""

    text = _text(path)
    _require_json(text, path.name)
    try:
        return otio.core.deserialize_json_from_string(text)
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, RuntimeError) as error:
        words = str(error).strip("'\"").splitlines()
        what = f"OpenTimelineIO cannot read it ({words[0] if words else type(error).__name__})"
        hint = "Ask the editors to save it again."
        raise ProblemsFound(Finding(what, hint, Place(path.name))) from None


def _text(path: Path) -> str:
    try:
        text = file_bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        what = "is not an .otio file: it is not UTF-8 text"
        raise ProblemsFound(Finding(what, "", Place(path.name))) from None
    if not text.strip():
        raise ProblemsFound(Finding("is empty", "", Place(path.name)))
    return text


def _require_json(text: str, file: str) -> None:
    """Raises ProblemsFound when the text is damaged, or nested without end.

    It is read as plain JSON before OpenTimelineIO has it: on damaged or bottomless text that can
    take the whole program down. ``Inf`` is how OpenTimelineIO writes what others write Infinity.
    """
    try:
        try:
            read = json.loads(text)
        except json.JSONDecodeError:
            read = json.loads(_INF.sub(lambda match: match[1] or "Infinity", text))
        if odd := misshapen(read):
            what = f"is not an .otio file: {odd[1]} of a {odd[0]} is not what it has to be"
            raise ProblemsFound(Finding(what, "Ask the editors to save it again.", Place(file)))
    except json.JSONDecodeError as error:
        hint = "Ask the editors to save it again."
        what = f"is not an .otio file: {error.msg}"
        raise ProblemsFound(Finding(what, hint, Place(file, error.lineno))) from None
    except RecursionError:
        raise ProblemsFound(Finding("is nested too deep to be read", "", Place(file))) from None
    except ValueError as error:  # a number of thousands of digits
        raise ProblemsFound(Finding(f"is not an .otio file ({error})", "", Place(file))) from None


def _timeline(root: Any, file: str) -> Any:
    """The timeline of a file: what it holds, or the only timeline in its collection."""

    schema = otio.schema
    found = [root]
    if isinstance(root, schema.SerializableCollection):
        found = [item for item in root if isinstance(item, schema.Timeline)]
    if len(found) == 1 and isinstance(found[0], schema.Timeline | otio.core.Item):
        return found[0]
    what = f"holds {len(found)} timelines" if len(found) > 1 else "holds no timeline"
    hint = "Ask the editors for a file with the timeline of the film alone."
    raise ProblemsFound(Finding(what, hint, Place(file)))


def cut_to_otio(cut: Cut, ledger: Ledger) -> str:
    """Return a version of the cut as an OpenTimelineIO timeline with one video track.

    A clip has its shot and take as metadata ``shot`` and ``take``, its shot frames as source range,
    and the frames of its shot as its media's range. Read again, every film frame shows the same
    shot frame.
    """
    rate = float(ledger.production.rate.per_second)

    def time(frames: int) -> Any:
        return otio.opentime.RationalTime(frames, rate)

    timeline = otio.schema.Timeline(f"{ledger.production.title}, cut {cut.version}")
    track = otio.schema.Track("picture", kind=otio.schema.TrackKind.Video)
    at = 1
    for clip in sorted(cut.clips, key=lambda clip: clip.film_first):
        if clip.film_first > at:
            track.append(otio.schema.Gap(duration=time(clip.film_first - at)))
        track.append(_clip(clip, ledger, time))
        at = clip.film_first + clip.shown
    if cut.length >= at:
        track.append(otio.schema.Gap(duration=time(cut.length - at + 1)))
    timeline.tracks.append(track)
    text: str = timeline.to_json_string()
    return f"{text}\n"


def _clip(clip: CutClip, ledger: Ledger, time: Any) -> Any:
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
