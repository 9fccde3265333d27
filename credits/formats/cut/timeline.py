"""Timelines: which frames of which clip are seen, through nests, gaps and speeds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor
from typing import Any

import opentimelineio as otio

from credits.errors import Finding, Place, ProblemsFound, quoted
from credits.formats.cut.clips import meets, names_in, rate_text, take_number
from credits.units.film_time import FrameRate
from credits.units.frames import HIGHEST_FRAME


@dataclass(frozen=True, slots=True)
class Played:
    """Frames ``first .. last`` played at one speed for ``shown`` film frames (see CutClip)."""

    shown: int
    first: int
    last: int
    speed: Fraction


def frame_at(first: int, length: int, speed: Fraction, step: int) -> int:
    """The frame that a clip shows at its film frame ``step`` (from 0).

    ``first`` is the lowest frame shown, ``length`` the clip's film frames: a clip that runs
    backwards begins with its highest frame and ends on ``first``.
    """
    if speed < 0:
        return first + floor((length - 1) * -speed) - floor(step * -speed)
    return first + floor(step * speed)


def played(frames: Sequence[int], wished: Fraction = Fraction(1)) -> list[Played]:
    """Few stretches, each at one speed from its first frame, that show these frames in order.

    The last of them is as long as ``wished`` shows it. So is written what remains of a clip in slow
    motion that begins between two of its frames: ``2, 3, 3, 4, 4`` at 1/2 is a 2, and 3 to 4.
    """
    tail = next(
        (at for at in range(min(len(frames), wished.denominator)) if _shows(frames, at, wished)),
        len(frames),
    )
    out = []
    at = 0
    while at < tail:
        shown, speed = _longest(frames[:tail], at, wished)
        out.append(_stretch(frames[at : at + shown], speed))
        at += shown
    if tail < len(frames):
        out.append(_stretch(frames[tail:], wished))
    return out


def _stretch(frames: Sequence[int], speed: Fraction) -> Played:
    ends = (frames[0], frames[-1])
    return Played(len(frames), min(ends), max(ends), speed)


def _shows(frames: Sequence[int], at: int, speed: Fraction) -> bool:
    """Whether the frames from ``at`` to the end are played at this speed."""
    way = -1 if speed < 0 else 1
    return all(
        (frames[k] - frames[at]) * way == floor((k - at) * abs(speed))
        for k in range(at, len(frames))
    )


def _longest(frames: Sequence[int], at: int, wished: Fraction) -> tuple[int, Fraction]:
    """How many frames from ``at`` one speed shows, and a speed that does.

    Frame k lies d away when floor(k * s) = d, so s is in [d/k, (d+1)/k) for every k; the stretch
    ends where these have nothing in common. The lower end is then a speed that does.
    """
    low, high = Fraction(0), None
    sign = 0
    shown = 1
    for steps in range(1, len(frames) - at):
        distance = frames[at + steps] - frames[at]
        way = (distance > 0) - (distance < 0)
        if way and sign and way != sign:
            break
        away = abs(distance)
        most = Fraction(away + 1, steps)
        new_low = max(low, Fraction(away, steps))
        new_high = most if high is None else min(high, most)
        if new_low >= new_high:
            break
        low, high, sign, shown = new_low, new_high, sign or way, steps + 1
    same_way = sign in (0, 1 if wished > 0 else -1)
    if wished and same_way and low <= abs(wished) and (high is None or abs(wished) < high):
        return shown, wished
    return shown, low * (sign or 1)


@dataclass(frozen=True, slots=True)
class Seen:
    """One clip of a timeline. ``first``: the lowest source frame, in the numbering of the file.

    ``media_first``: the number of the first frame that the media has, if the file says so. ``row``:
    the line of the file. ``black``: a slug, which is nothing to look at. ``number``: a running
    number, so that no two clips are equal.
    """

    number: int
    length: int
    first: int
    speed: Fraction
    media_first: int | None
    name: str
    said: str | None
    names: tuple[str, ...]
    take: int | None
    row: int | None = None
    black: bool = False

    @property
    def shown_name(self) -> str:
        """What people know it by: its name, else its reel."""
        return self.name or next(iter(self.names), "")

    def frame(self, step: int) -> int:
        """The source frame at the clip's film frame ``step``."""
        return frame_at(self.first, self.length, self.speed, step)


@dataclass(frozen=True, slots=True)
class Blank:
    """Nothing, for so many frames: a gap, or what is switched off."""

    length: int


@dataclass(frozen=True, slots=True)
class Nest:
    """Parts in a row, or in layers, the last on top; seen from ``first`` for ``length`` frames.

    ``speed`` plays the whole: film frame k shows its frame ``first + floor(k * speed)``.
    """

    parts: tuple[Part, ...]
    layered: bool
    first: int
    length: int
    speed: Fraction = Fraction(1)


Part = Seen | Blank | Nest


@dataclass(frozen=True, slots=True)
class ClipPiece:
    """A stretch of film from frame ``at`` on that shows the steps of one clip."""

    at: int
    steps: Sequence[int]
    clip: Seen

    @property
    def stop(self) -> int:
        """The first film frame after it."""
        return self.at + len(self.steps)

    def between(self, first: int, stop: int, moved: int = 0) -> ClipPiece:
        """What of it lies in film frames ``first .. stop - 1``, moved later by so many frames."""
        begin = max(first, self.at)
        end = min(stop, self.stop)
        return ClipPiece(begin + moved, self.steps[begin - self.at : end - self.at], self.clip)


def pieces(part: Part, shows: Callable[[Seen], bool]) -> list[ClipPiece]:
    """The pieces that are seen, in film order; none overlap. ``shows`` False: a clip is as blank.

    Cost follows the clips, not the frames, but where a nest is played at another speed.
    """
    if isinstance(part, Blank):
        return []
    if isinstance(part, Seen):
        return [ClipPiece(0, range(part.length), part)] if part.length and shows(part) else []
    inside = (_layers if part.layered else _row)(part.parts, shows)
    if part.speed == 1:
        return list(_window(inside, part.first, part.length))
    return list(_speeded(inside, part))


def _row(parts: Sequence[Part], shows: Callable[[Seen], bool]) -> list[ClipPiece]:
    at = 0
    out: list[ClipPiece] = []
    for part in parts:
        out.extend(
            ClipPiece(piece.at + at, piece.steps, piece.clip) for piece in pieces(part, shows)
        )
        at += part.length
    return out


def _layers(parts: Sequence[Part], shows: Callable[[Seen], bool]) -> list[ClipPiece]:
    seen: list[ClipPiece] = []
    for part in reversed(parts):
        below = list(_uncovered(pieces(part, shows), seen))
        seen = sorted([*seen, *below], key=lambda piece: piece.at) if seen else below
    return seen


def _uncovered(below: Sequence[ClipPiece], above: Sequence[ClipPiece]) -> Iterator[ClipPiece]:
    """What of the pieces below is seen where none lies above; both are in film order."""
    nearest = 0
    for piece in below:
        while nearest < len(above) and above[nearest].stop <= piece.at:
            nearest += 1
        begin, at = piece.at, nearest
        while at < len(above) and above[at].at < piece.stop:
            if begin < above[at].at:
                yield piece.between(begin, above[at].at)
            begin = above[at].stop
            at += 1
        if begin < piece.stop:
            yield piece.between(begin, piece.stop)


def _window(inside: Sequence[ClipPiece], first: int, length: int) -> Iterator[ClipPiece]:
    for piece in inside:
        if piece.at < first + length and piece.stop > first:
            yield piece.between(first, first + length, -first)


def _speeded(inside: Sequence[ClipPiece], nest: Nest) -> Iterator[ClipPiece]:
    """The pieces as they are seen when the whole nest is played at its speed."""
    length, at = nest.length, 0
    ways = range(len(inside)) if nest.speed >= 0 else range(len(inside) - 1, -1, -1)
    end = nest.first + floor((length - 1) * -nest.speed)
    for index in ways:
        piece = inside[index]
        begin, steps = at, []
        while at < length:
            time = (
                nest.first + floor(at * nest.speed)
                if nest.speed >= 0
                else end - floor(at * -nest.speed)
            )
            if (time >= piece.stop) if nest.speed >= 0 else (time < piece.at):
                break
            if piece.at <= time < piece.stop:
                steps.append(piece.steps[time - piece.at])
            else:
                begin = at + 1
            at += 1
        if steps:
            yield ClipPiece(begin, tuple(steps), piece.clip)


DEEPEST = 60
_NEAR = 1e-4  # of a frame: what is left of whole frames that were kept as seconds
_VIDEO = "Video"


def said_in(metadata: Mapping[str, Any]) -> dict[str, Any]:
    """What metadata says, by key: at the top, else in the first of its groups that says it."""
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
    """The speed that a time scalar stands for.

    ``written``: the exact speed that may stand in the clip's metadata; it counts when it is that
    scalar. Otherwise the simplest fraction within a part in 10**9: 0.3333333333333333 is 1/3.
    """
    if isinstance(written, str) and len(written) < 40:
        try:
            exact = Fraction(written)
            if float(exact) == scalar:
                return exact
        except (ValueError, ZeroDivisionError, OverflowError):
            pass
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


def _put(part: Part, start: int, after: int) -> Part:
    """A track, its window moved by ``start``, with ``after`` empty frames before it."""
    if isinstance(part, Nest):
        part = replace(part, first=part.first + start)
    return Nest((Blank(after), part), layered=False, first=0, length=after + part.length)


class TimelineReader:
    """Reads one timeline. Findings gather in ``problems`` and ``notes`` while it is read."""

    def __init__(self, file: str, rate: FrameRate, *, rows: bool = False) -> None:
        """``rows``: the timeline was made from a file of lines, and clips carry their line."""

        self._otio = otio
        self._place = Place(file)
        self._rate = rate
        self._rows = rows
        self._met: dict[float, bool] = {}
        self._other_rates: dict[float, list[str]] = {}
        self._clips = 0
        self.problems: list[Finding] = []
        self.notes: list[Finding] = []

    def read(self, root: Any) -> Part:
        """The timeline as parts. Raises ProblemsFound with everything that is wrong in it."""
        schema = self._otio.schema
        if isinstance(root, schema.Timeline):
            if root.global_start_time is not None:
                self._frames(root.global_start_time, root.name or "the timeline")
            root = root.tracks
        part = Blank(0) if root is None else self._part(root, 0)
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

    def _part(self, item: Any, depth: int) -> Part:
        schema = self._otio.schema
        if depth > DEEPEST:
            raise ProblemsFound(
                Finding(f"stacks are nested more than {DEEPEST} deep", "", self._place)
            )
        if isinstance(item, schema.Clip):
            part: Part = self._clip(item)
        elif isinstance(item, schema.Gap):
            window = self._window(item, None)
            part = Blank(window[1])
        elif isinstance(item, schema.Stack):
            part = self._nest(item, self._layers(item, depth), layered=True)
        elif isinstance(item, schema.Track):
            part = self._nest(item, self._row(item, depth), layered=False)
        else:
            what = f"holds {quoted(type(item).__name__)}: neither clip, gap, track nor stack"
            self.problems.append(Finding(what, "", self._place))
            return Blank(0)
        return part if item.enabled else Blank(part.length)

    def _row(self, track: Any, depth: int) -> list[Part]:
        parts: list[Part] = []
        for at, item in enumerate(track):
            if isinstance(item, self._otio.schema.Transition):
                before = track[at - 1].name if at else ""
                after = track[at + 1].name if at + 1 < len(track) else ""
                self._transition(item, before, after)
            else:
                parts.append(self._part(item, depth + 1))
        return parts

    def _layers(self, stack: Any, depth: int) -> list[Part]:
        """The layers of a stack, its sound left out.

        Tracks as the CMX 3600 adapter leaves them, with the record timecode as a start below 0 and
        exactly their own length, are put where that timecode says, from the earliest on.
        """
        shown = [item for item in stack if getattr(item, "kind", _VIDEO) == _VIDEO]
        parts = [self._part(item, depth + 1) for item in shown]
        starts = [_record_start(part) for part in parts]
        if not any(starts):
            return parts
        begin = min(starts)
        return [
            part if start == begin == 0 else _put(part, start, start - begin)
            for part, start in zip(parts, starts, strict=True)
        ]

    def _nest(self, item: Any, parts: list[Part], *, layered: bool) -> Nest:
        lengths = [part.length for part in parts]
        inside = max(lengths, default=0) if layered else sum(lengths)
        first, length = self._window(item, inside)
        return Nest(tuple(parts), layered, first, length, self._speed(item))

    def _clip(self, clip: Any) -> Part:
        media = clip.media_reference
        available = media.available_range if media is not None else None
        if clip.source_range is None and available is None:
            what = "has neither a source range nor a media range, so its length is not known"
            hint = "Give it a source range; what follows it cannot be placed without."
            self.problems.append(Finding(what, hint, self._place, "clip", clip.name))
            return Blank(0)
        first, length = self._window(clip, None, available)
        said = said_in(clip.metadata)
        shot = said.get("shot")
        if shot is None and media is not None:
            shot = said_in(media.metadata).get("shot")
        media_first = None
        if available is not None and available.duration.value > 0:
            media_first = self._frames(available.start_time, clip.name, "a media range")
        self._clips += 1
        return Seen(
            number=self._clips,
            length=length,
            first=first,
            speed=self._speed(clip, said.get("speed")),
            media_first=media_first,
            name=clip.name,
            said=str(shot) if isinstance(shot, str | int) else None,
            names=tuple(names_in((clip.name, said.get("reel")))),
            take=take_number(said.get("take")),
            row=said["row"] if self._rows else None,
            black=getattr(media, "generator_kind", None) == "black",
        )

    def _speed(self, item: Any, written: object = None) -> Fraction:
        """The speed of an item: the product of its linear time effects."""
        schema = self._otio.schema
        speed = Fraction(1)
        for effect in item.effects:
            if not effect.enabled:
                continue
            if isinstance(effect, schema.LinearTimeWarp):
                scalar = float(effect.time_scalar)
                if not math.isfinite(scalar) or abs(scalar) > HIGHEST_FRAME:
                    what = f"has a speed of {scalar}"
                    self.problems.append(Finding(what, "", self._place, "clip", item.name))
                    continue
                speed *= exact_speed(scalar, written)
            elif isinstance(effect, schema.TimeEffect):
                what = f"a time effect that is not linear ({effect.effect_name or effect.name})"
                hint = "Its frames are counted at normal speed."
                self.notes.append(Finding(what, hint, self._place, "clip", item.name))
        return speed

    def _transition(self, item: Any, before: str, after: str) -> None:
        kind = (item.transition_type or item.name or "transition").lower()
        word = next((word for word in ("dissolve", "wipe") if word in kind), "transition")
        length = self._frames(item.in_offset, item.name) + self._frames(item.out_offset, item.name)
        between = f" from {quoted(before)} to {quoted(after)}" if before or after else ""
        what = f"a {word} of {length} frames{between}: frames are counted to the edit point"
        self.notes.append(Finding(what, "", self._place))

    def _window(self, item: Any, inside: int | None, available: Any = None) -> tuple[int, int]:
        """The first frame and the length that are seen of an item that holds ``inside`` frames."""
        seen = item.source_range if item.source_range is not None else available
        if seen is None:
            return 0, inside or 0
        first = self._frames(seen.start_time, item.name)
        length = self._frames(seen.duration, item.name, "a length", whole=True)
        if not 0 <= length <= HIGHEST_FRAME:
            what = f"has a length of {length} frames"
            hint = f"A length is 0 to {HIGHEST_FRAME} frames."
            self.problems.append(Finding(what, hint, self._place, "clip", item.name))
            return first, 0
        return first, length

    def _frames(self, time: Any, name: str, what: str = "a time", whole: bool = False) -> int:
        """A time in frames of the production; the frame that is seen then, when it is between."""
        value, rate = float(time.value), float(time.rate)
        if not value:
            return 0
        met = self._met.get(rate)
        if met is None:
            met = self._met[rate] = meets(rate, self._rate)
        if not met:
            names = self._other_rates.setdefault(rate, [])
            if name not in names[-1:]:
                names.append(name)
            return 0
        if not math.isfinite(value):
            self.problems.append(Finding(f"{what} is {value}", "", self._place, "clip", name))
            return 0
        near = round(value)
        if abs(near - value) <= _NEAR:
            return near
        if whole:
            said = f"{what} of {value:g} frames is not a whole number of frames"
            self.problems.append(Finding(said, "", self._place, "clip", name))
        return math.floor(value)
