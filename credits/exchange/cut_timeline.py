"""From an OpenTimelineIO timeline to the parts that are seen: whole frames, exact speeds, words.

What a clip covers on screen is its source range (else its media's available range); its speed says
which media frames are seen there. A clip that runs backwards shows its source range from the end.
A dissolve or wipe leaves every clip its own frames: they are counted to the edit point.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from credits.errors import Finding, Place, ProblemsFound, quoted
from credits.exchange.cut_pieces import Blank, Nest, Part, Seen
from credits.exchange.cut_rates import meets, rate_text
from credits.exchange.cut_shots import names_in, take_number
from credits.units.film_time import FrameRate
from credits.units.frames import HIGHEST_FRAME

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
        import opentimelineio as otio

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
