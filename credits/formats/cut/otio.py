"""OpenTimelineIO files, in and out."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from functools import cache
from math import floor
from pathlib import Path
from typing import Any

import opentimelineio as otio

from credits import apart
from credits.apart import CLOSE_OTHERS, MEGABYTES, SECONDS, EndedApartError, Ending
from credits.errors import Finding, Place, ProblemsFound, quoted
from credits.formats.cut.clips import (
    CutReading,
    CutShots,
    FilmReader,
    lowest_frame,
    media_name,
    names_in,
    take_number,
)
from credits.formats.cut.timeline import Nest, Part, Seen, nested
from credits.formats.tables.csv_files import file_bytes
from credits.model.facts import Cut, CutClip
from credits.model.ledger import Ledger
from credits.units.film_time import FrameRate
from credits.units.frames import HIGHEST_FRAME
from credits.units.rounding import decimal_text

_SCHEMA = "OTIO_SCHEMA"


def _object(value: Any, schema: str = "") -> bool:
    named = value.get(_SCHEMA) if isinstance(value, dict) else None
    return isinstance(named, str) and schema in ("", named.partition(".")[0])


def _objects(value: Any) -> bool:
    return isinstance(value, list) and all(map(_object, value))


_NEVER_NONE = {
    "children", "start_time", "duration", "media_references", "kind", "value", "rate",
    "time_scalar",
}  # fmt: skip


def _fits(key: str, value: Any) -> bool:
    """Whether a value has the shape that OpenTimelineIO gives to the key of an object."""
    if value is None:
        return key not in _NEVER_NONE
    match key:
        case "children" | "effects" | "markers":
            return _objects(value)
        case "start_time" | "duration" | "global_start_time" | "in_offset" | "out_offset":
            return _object(value, "RationalTime")
        case "source_range" | "available_range" | "marked_range":
            return _object(value, "TimeRange")
        case "tracks" | "media_reference":
            return _object(value)
        case "media_references":
            return isinstance(value, dict) and all(v is None or _object(v) for v in value.values())
        case "metadata":
            return isinstance(value, dict) and _SCHEMA not in value
        case "name" | "kind":
            return isinstance(value, str)
        case "value" | "rate" | "time_scalar":
            return isinstance(value, int | float) and not isinstance(value, bool)
    return True


def misshapen(root: Any) -> tuple[str, str] | None:
    """Find an object and key, out of metadata, of another shape than OpenTimelineIO gives it."""
    waiting = [root]
    while waiting:
        value = waiting.pop()
        if isinstance(value, list):
            waiting.extend(value)
        elif isinstance(value, dict):
            if _SCHEMA in value:
                for key, inner in value.items():
                    if not _fits(key, inner):
                        return str(value[_SCHEMA]), key
            waiting.extend(inner for key, inner in value.items() if key != "metadata")
    return None


_SAVE_AGAIN = "Ask the editors to save it again."
_ENDED: dict[Ending, tuple[str, str]] = {
    "not begun": ("cannot be read: the system began no other process for it", CLOSE_OTHERS),
    "stopped": ("was not read to its end: the system, or somebody, stopped that", CLOSE_OTHERS),
    "too long": (f"takes more than {SECONDS} seconds to read", _SAVE_AGAIN),
    "too large": (f"takes more than {MEGABYTES} MB of memory to read", _SAVE_AGAIN),
    "crashed": ("is not withstood by OpenTimelineIO, which is to read it", _SAVE_AGAIN),
}
READER = "credits.formats.cut.otio_tried"
_INF = re.compile(r'("(?:[^"\\]|\\.)*")|\bInf\b')  # not within a text


def read_cut_otio(path: Path, shots: CutShots) -> CutReading:
    """Read the clips of the timeline in the file. Raises ProblemsFound."""
    text = _text(path)
    try:
        apart.read_apart(READER, given=text.encode())
    except EndedApartError as error:
        raise ProblemsFound(Finding(*_ENDED[error.how], Place(path.name))) from None
    try:
        root = otio.core.deserialize_json_from_string(text)
    except otio.exceptions.UnsupportedSchemaError:
        schema = newer_schema(text)
        what = f"is written by a newer OpenTimelineIO than is read here ({schema or 'its schema'})"
        hint = "Ask the editors to save it for an older one."
        raise ProblemsFound(Finding(what, hint, Place(path.name))) from None
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, RuntimeError) as error:
        words = str(error).strip("'\"").splitlines()
        what = f"OpenTimelineIO cannot read it ({words[0] if words else type(error).__name__})"
        raise ProblemsFound(Finding(what, _SAVE_AGAIN, Place(path.name))) from None
    reader = TimelineReader(path.name, shots.rate)
    part = reader.read(_timeline(root, path.name))
    return FilmReader(path.name, shots).read(part, reader.notes)


def _text(path: Path) -> str:
    """The text of the file. Raises ProblemsFound when it is damaged, or nested without end.

    It is read as plain JSON before OpenTimelineIO has it: on damaged or bottomless text that can
    take the whole program down. ``Inf`` is how OpenTimelineIO writes what others write Infinity.
    """
    what, hint, row = "", "", None
    try:
        text = file_bytes(path).decode("utf-8-sig")
        if not text.strip():
            raise ProblemsFound(Finding("is empty", "", Place(path.name)))
        try:
            read = json.loads(text)
        except json.JSONDecodeError:
            read = json.loads(_INF.sub(lambda match: match[1] or "Infinity", text))
        if (odd := misshapen(read)) is None:
            return text
        what, hint = f": {odd[1]} of a {odd[0]} is not what it has to be", _SAVE_AGAIN
    except UnicodeDecodeError:
        what = ": it is not UTF-8 text"
    except json.JSONDecodeError as error:
        what, hint, row = f": {error.msg}", _SAVE_AGAIN, error.lineno
    except RecursionError:
        raise ProblemsFound(
            Finding("is nested too deep to be read", "", Place(path.name))
        ) from None
    except ValueError as error:  # a number of thousands of digits
        what = f" ({error})"
    raise ProblemsFound(Finding(f"is not an .otio file{what}", hint, Place(path.name, row)))


_SCHEMA_SAID = re.compile(r'"OTIO_SCHEMA"\s*:\s*"(\w{1,60})\.(\d{1,9})"')


def newer_schema(text: str) -> str | None:
    """Return the first schema in a file that is newer than is read, and the version that is."""
    known = otio.core.type_version_map()
    for match in _SCHEMA_SAID.finditer(text):
        name, version = match[1], int(match[2])
        if version > known.get(name, version):
            return f"{name}.{version}; {name}.{known[name]} is read"
    return None


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


# --- From objects to what is seen


@cache
def meets(written: float, rate: FrameRate) -> bool:
    """Say whether a rate written as a decimal number means this rate, and not another one near it.

    Rates are whole numbers or those times 1000/1001 (SMPTE ST 12-1); at 24 the two are 0.024 apart.
    What is nearer than 0.4 of that distance is meant.
    """
    if not math.isfinite(written):
        return False
    apart = Fraction(rate.nominal, 1001)
    return abs(Fraction(written) - rate.per_second) < apart * Fraction(2, 5)


def rate_text(written: float) -> str:
    """Write a decimal rate as "24", "24000/1001", or its decimals when it is neither."""
    if math.isfinite(written) and 0 < written < 10_000:
        nominal = max(1, math.ceil(written - 1e-6))
        for exact in (Fraction(nominal), Fraction(nominal * 1000, 1001)):
            if meets(written, FrameRate(exact)):
                return FrameRate(exact).text
        return decimal_text(Fraction(written), 3)
    return str(written)


DEEPEST = 60
MOST_SPEEDED = 100_000
"""Frames of nests that are played at another speed: they are gone through one by one."""
_NEAR = 1e-4  # of a frame: what is left of whole frames that were kept as seconds
_VIDEO = "Video"


def said_in(metadata: Mapping[str, Any]) -> dict[str, Any]:
    """Read what metadata says, by key: at the top, else in the first of its groups that says it."""
    top: dict[str, Any] = {}
    below: dict[str, Any] = {}
    for key, value in metadata.items():
        if isinstance(value, Mapping):
            for inner, said in value.items():
                if said is not None and not isinstance(said, Mapping):
                    below.setdefault(inner, said)
        elif value is not None:
            top[key] = value
    return {**below, **top}


def exact_speed(scalar: float, written: object = None) -> Fraction:
    """Return the speed that a time scalar stands for.

    ``written``: the exact speed that may stand in the clip's metadata; it counts when it is that
    scalar. Otherwise the simplest fraction within a part in 10**9: 0.3333333333333333 is 1/3.
    """
    if isinstance(written, str) and len(written) < 40:
        with suppress(ValueError, ZeroDivisionError, OverflowError):
            exact = Fraction(written)
            if float(exact) == scalar:
                return exact
    whole = Fraction(scalar)
    for most in (1000, 1_000_000):
        near = whole.limit_denominator(most)
        if abs(near - whole) <= abs(whole) / 10**9:
            return near
    return whole.limit_denominator(10**9)


def _record_start(part: Part) -> int:
    """The record timecode, in frames, that a track of the CMX 3600 adapter begins at; else 0."""
    if not isinstance(part, Nest) or part.layered or part.first >= 0:
        return 0
    return -part.first if part.length == sum(inner.length for inner in part.parts) else 0


def _files(media: Any) -> tuple[str, ...]:
    """The names of a clip's media: its own, and those of the files that are meant."""
    if media is None:
        return ()
    addresses = (getattr(media, key, None) for key in ("target_url", "target_url_base"))
    named = (media_name(address) for address in addresses if address)
    return names_in((media.name, getattr(media, "name_prefix", None), *named))


def _before(part: Part) -> int:
    return part.before if isinstance(part, Nest) else 0


def _put(part: Part, start: int, after: int) -> Part:
    """A track, its window moved by ``start``, with ``after`` empty frames before it."""
    if isinstance(part, Nest):
        part = replace(part, first=part.first + start)
    return nested((Nest(length=after), part))


class TimelineReader:
    """Reads one timeline. Findings gather in ``problems`` and ``notes`` while it is read."""

    def __init__(self, file: str, rate: FrameRate) -> None:
        self._place = Place(file)
        self._rate = rate
        self._other_rates: dict[float, list[str]] = {}
        self._speeded = 0
        self.problems: list[Finding] = []
        self.notes: list[Finding] = []

    def read(self, root: Any) -> Part:
        """Read the timeline as parts. Raises ProblemsFound with everything that is wrong in it."""
        if isinstance(root, otio.schema.Timeline):
            if root.global_start_time is not None:
                self._frames(root.global_start_time, root.name or "the timeline")
            root = root.tracks
        part = Nest(length=0) if root is None else self._part(root, 0)
        for rate, names in self._other_rates.items():
            more = f" and {len(names) - 1} more" if len(names) > 1 else ""
            what = (
                f"{quoted(names[0])}{more}: {rate_text(rate)} frames a second, but the production "
                f"has {self._rate.text}"
            )
            hint = "Ask the editors for the cut at the production's rate."
            self.problems.insert(0, Finding(what, hint, self._place))
        if self.problems:
            raise ProblemsFound(*self.problems)
        return part

    def _problem(self, what: str, clip: str | None = None, hint: str = "") -> None:
        column = None if clip is None else "clip"
        self.problems.append(Finding(what, hint, self._place, column, clip))

    def _part(self, item: Any, depth: int) -> Part:
        if depth > DEEPEST:
            what = f"stacks are nested more than {DEEPEST} deep"
            raise ProblemsFound(Finding(what, "", self._place))
        part: Part
        match item:
            case otio.schema.Clip():
                part = self._clip(item)
            case otio.schema.Gap():
                part = Nest(length=self._window(item, None)[1])
            case otio.schema.Stack():
                part = self._nest(item, *self._layers(item, depth), layered=True)
            case otio.schema.Track():
                part = self._nest(item, *self._row(item, depth), layered=False)
            case _:
                kind = quoted(type(item).__name__)
                self._problem(f"holds {kind}: neither clip, gap, track nor stack")
                return Nest(length=0)
        return part if item.enabled else Nest(length=part.length, before=_before(part))

    def _row(self, track: Any, depth: int) -> tuple[list[Part], int]:
        """The parts of a track, and the frames of a fade that it has before its time 0.

        A transition at an end goes on beyond the clip there: these frames are of the film, too.
        """
        parts: list[Part] = []
        fade = 0
        for at, item in enumerate(track):
            if isinstance(item, otio.schema.Transition):
                before = track[at - 1].name if at else ""
                after = track[at + 1].name if at + 1 < len(track) else ""
                into, out = self._transition(item, before, after)
                if at == 0:
                    fade = into
                    parts.append(Nest(length=into))
                if at + 1 == len(track):
                    parts.append(Nest(length=out))
            else:
                parts.append(self._part(item, depth + 1))
        return parts, fade

    def _layers(self, stack: Any, depth: int) -> tuple[list[Part], int]:
        """The layers of a stack, its sound left out, and the frames before their time 0.

        Tracks as the CMX 3600 adapter leaves them, with the record timecode as a start below 0 and
        exactly their own length, are put where that timecode says, from the earliest on.
        """
        shown = [item for item in stack if getattr(item, "kind", _VIDEO) == _VIDEO]
        parts = [self._part(item, depth + 1) for item in shown]
        starts = [_record_start(part) for part in parts]
        if not any(starts):
            before = max(map(_before, parts), default=0)
            moved = ((before - _before(part), part) for part in parts)
            return [
                nested((Nest(length=gap), part)) if gap else part for gap, part in moved
            ], before
        begin = min(starts)
        return [
            part if start == begin == 0 else _put(part, start, start - begin)
            for part, start in zip(parts, starts, strict=True)
        ], 0

    def _nest(self, item: Any, parts: list[Part], before: int, *, layered: bool) -> Nest:
        whole = nested(parts, layered)
        first, length = self._window(item, whole.length)
        if item.source_range is not None:
            first, before = first + before, 0
        speed = self._speed(item)
        if speed != 1:
            self._speeded += length
            if self._speeded > MOST_SPEEDED:
                what = f"nests at another speed have more than {MOST_SPEEDED:,} frames together"
                hint = "Ask the editors to give the clips in them their speed."
                raise ProblemsFound(Finding(what, hint, self._place))
        return replace(whole, first=first, length=length, speed=speed, before=before)

    def _clip(self, clip: Any) -> Part:
        media = clip.media_reference
        available = media.available_range if media is not None else None
        if clip.source_range is None and available is None:
            what = "has neither a source range nor a media range, so its length is not known"
            hint = "Give it a source range; what follows it cannot be placed without."
            self._problem(what, clip.name, hint)
            return Nest(length=0)
        first, length = self._window(clip, None, available)
        said = said_in(clip.metadata)
        shot = said.get("shot")
        if shot is None and media is not None:
            shot = said_in(media.metadata).get("shot")
        media_first, media_length = None, 0
        if available is not None and available.duration.value > 0:
            media_first = self._frames(available.start_time, clip.name, "a media range")
            media_length = self._frames(available.duration, clip.name, "a media range")
        return Seen(
            length=length,
            first=first,
            speed=self._speed(clip, said.get("speed")),
            media_first=media_first,
            media_length=media_length,
            name=clip.name,
            said=str(shot) if isinstance(shot, str | int) else None,
            names=names_in((clip.name, said.get("reel"))),
            files=_files(media),
            take=take_number(said.get("take")),
            black=getattr(media, "generator_kind", None) == "black",
        )

    def _speed(self, item: Any, written: object = None) -> Fraction:
        """The speed of an item: the product of its linear time effects."""
        speed = Fraction(1)
        for effect in item.effects:
            if not effect.enabled:
                continue
            if isinstance(effect, otio.schema.LinearTimeWarp):
                scalar = float(effect.time_scalar)
                if not math.isfinite(scalar) or abs(scalar) > HIGHEST_FRAME:
                    self._problem(f"has a speed of {scalar}", item.name)
                else:
                    speed *= exact_speed(scalar, written)
            elif isinstance(effect, otio.schema.TimeEffect):
                what = f"a time effect that is not linear ({effect.effect_name or effect.name})"
                hint = "Its frames are counted at normal speed."
                self.notes.append(Finding(what, hint, self._place, "clip", item.name))
        return speed

    def _transition(self, item: Any, before: str, after: str) -> tuple[int, int]:
        """Tell of a transition; return its frames before and after the edit point."""
        kind = (item.transition_type or item.name or "transition").lower()
        word = next((word for word in ("dissolve", "wipe") if word in kind), "transition")
        into, out = (self._frames(time, item.name) for time in (item.in_offset, item.out_offset))
        length = into + out
        between = f" from {quoted(before)} to {quoted(after)}" if before or after else ""
        what = f"a {word} of {length} frames{between}: frames are counted to the edit point"
        self.notes.append(Finding(what, "", self._place))
        return max(into, 0), max(out, 0)

    def _window(self, item: Any, inside: int | None, available: Any = None) -> tuple[int, int]:
        """The first frame and the length that are seen of an item that holds ``inside`` frames."""
        seen = item.source_range if item.source_range is not None else available
        if seen is None:
            return 0, inside or 0
        first = self._frames(seen.start_time, item.name)
        length = self._frames(seen.duration, item.name, "a length", whole=True)
        if not 0 <= length <= HIGHEST_FRAME:
            hint = f"A length is 0 to {HIGHEST_FRAME} frames."
            self._problem(f"has a length of {length} frames", item.name, hint)
            return first, 0
        return first, length

    def _frames(self, time: Any, name: str, what: str = "a time", whole: bool = False) -> int:
        """A time in frames of the production; the frame that is seen then, when it is between."""
        value, rate = float(time.value), float(time.rate)
        if not value:
            return 0
        if not meets(rate, self._rate):
            names = self._other_rates.setdefault(rate, [])
            if name not in names[-1:]:
                names.append(name)
            return 0
        if not math.isfinite(value):
            self._problem(f"{what} is {value}", name)
            return 0
        near = round(value)
        if abs(near - value) <= _NEAR:
            return near
        if whole:
            self._problem(f"{what} of {value:g} frames is not a whole number of frames", name)
        return floor(value)


# --- Out


def cut_to_otio(cut: Cut, ledger: Ledger, name: str = "", indent: int = 4) -> str:
    """Return a version of the cut as an OpenTimelineIO timeline with one video track.

    name: of the timeline; without one it is the film's with the version. indent: 0: all on one
    line, without what a reader takes for granted, a quarter as long.

    Metadata has shot and take, the media's range the shot's frames. Read again, every film frame
    shows the same shot frame.
    """
    rate = float(ledger.production.rate.per_second)

    def time(frames: int) -> Any:
        return otio.opentime.RationalTime(frames, rate)

    timeline = otio.schema.Timeline(name or f"{ledger.production.title}, cut version {cut.version}")
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
    text: str = timeline.to_json_string(indent)
    if not indent:
        text = json.dumps(_told(json.loads(text)), separators=(",", ":"))
    return f"{text}\n"


_TAKEN_FOR_GRANTED: dict[str, object] = {
    "metadata": {}, "effects": [], "markers": [], "color": None, "enabled": True, "name": "",
    "source_range": None, "global_start_time": None, "available_image_bounds": None,
}  # fmt: skip
"""What OpenTimelineIO reads where a field is not there."""


def _told(value: Any) -> Any:
    """Return what was written without the fields that say what is taken for granted."""
    if isinstance(value, list):
        return [_told(one) for one in value]
    if not isinstance(value, dict):
        return value
    granted = _TAKEN_FOR_GRANTED
    own = ((key, held) for key, held in value.items() if key not in granted or held != granted[key])
    return {key: _told(held) for key, held in own}


def _clip(clip: CutClip, ledger: Ledger, time: Any) -> Any:
    span = otio.opentime.TimeRange
    shot = ledger.shots.get(clip.shot)
    frames = None if shot is None else span(time(1), time(shot.length))
    metadata: dict[str, object] = {"shot": clip.shot}
    if clip.take is not None:
        metadata["take"] = clip.take
    lowest = lowest_frame(clip)
    scalar = float(clip.speed)
    if Fraction(scalar) != clip.speed:
        metadata["speed"] = str(clip.speed)
    written = otio.schema.Clip(
        name=clip.shot,
        media_reference=otio.schema.MissingReference(available_range=frames),
        source_range=span(time(lowest), time(clip.shown)),
        metadata=metadata,
    )
    if clip.speed == 0:
        written.effects.append(otio.schema.FreezeFrame())
    elif clip.speed != 1:
        written.effects.append(otio.schema.LinearTimeWarp(time_scalar=scalar))
    return written
