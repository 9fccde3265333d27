"""What is seen of clips in rows, layers, gaps and nests, and at which speed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, groupby
from math import floor
from operator import itemgetter
from typing import NamedTuple


class Played(NamedTuple):
    """Frames played at one speed, called as in CutClip."""

    shown: int
    source_first: int
    source_last: int
    speed: Fraction


def frame_at(first: int, length: int, speed: Fraction, step: int) -> int:
    """Return the frame that a clip shows at its film frame ``step`` (from 0).

    ``first`` is the lowest frame shown, ``length`` the clip's film frames: a clip that runs
    backwards begins with its highest frame and ends on ``first``.
    """
    if speed < 0:
        return first + floor((length - 1) * -speed) - floor(step * -speed)
    return first + floor(step * speed)


def played(frames: Sequence[int], wished: Fraction = Fraction(1)) -> list[Played]:
    """Find few stretches, each at one speed from its first frame, that show these frames in order.

    The last of them is as long as ``wished`` shows it. So is written what remains of a clip in slow
    motion that begins between two of its frames: ``2, 3, 3, 4, 4`` at 1/2 is a 2, and 3 to 4.
    """
    starts = range(min(len(frames), wished.denominator))
    tail = next((at for at in starts if _shows(frames, at, wished)), len(frames))
    out = []
    at, head = 0, frames[:tail]
    while at < tail:
        shown, speed = _longest(head, at, wished)
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """One clip of a timeline, equal to no other.

    ``first``: the lowest source frame, in the numbering of the file. ``media_first``: the number
    of the first frame that the media has, ``media_length``: how many it has, if the file says so.
    ``files``: the names of its media. ``said``: the shot that a key of the clip names. ``row``: the
    line of the file. ``black``: a slug, which is nothing to look at.
    """

    length: int
    first: int
    speed: Fraction
    media_first: int | None = None
    media_length: int = 0
    name: str
    said: str | None = None
    names: tuple[str, ...]
    files: tuple[str, ...] = ()
    take: int | None = None
    row: int | None = None
    black: bool = False

    def frame(self, step: int) -> int:
        """Return the source frame at the clip's film frame ``step``."""
        return frame_at(self.first, self.length, self.speed, step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """Parts in a row, or in layers, the last on top; seen from ``first`` for ``length`` frames.

    Without parts it is nothing, for so many frames: a gap, or what is switched off.
    ``before``: its first frames that are a fade before its time 0, at which other layers begin.
    ``speed`` plays the whole: film frame k shows its frame ``first + floor(k * speed)``.
    """

    parts: tuple[Part, ...] = ()
    layered: bool = False
    first: int = 0
    length: int
    speed: Fraction = Fraction(1)
    before: int = 0


Part = Seen | Nest


def nested(parts: Sequence[Part], layered: bool = False) -> Nest:
    """Return the parts, whole, one after another or one over the other."""
    lengths = [part.length for part in parts]
    length = max(lengths, default=0) if layered else sum(lengths)
    return Nest(parts=tuple(parts), layered=layered, length=length)


class ClipPiece(NamedTuple):
    """A stretch of film from frame ``at`` on that shows the steps of one clip."""

    at: int
    steps: Sequence[int]
    clip: Seen

    @property
    def stop(self) -> int:
        """The first film frame after it."""
        return self.at + len(self.steps)

    def between(self, first: int, stop: int, moved: int = 0) -> ClipPiece:
        """Cut out what lies in film frames ``first .. stop - 1``, moved later by so many."""
        begin = max(first, self.at)
        end = min(stop, self.stop)
        return ClipPiece(begin + moved, self.steps[begin - self.at : end - self.at], self.clip)


def pieces(part: Part, shows: Callable[[Seen], bool]) -> list[ClipPiece]:
    """Find the pieces that are seen, in film order; a clip that ``shows`` not is as if blank.

    Cost follows the clips, not the frames, but where a nest is played at another speed.
    """
    if isinstance(part, Seen):
        return [ClipPiece(0, range(part.length), part)] if part.length and shows(part) else []
    inside = (_layers if part.layered else _row)(part.parts, shows)
    if part.speed == 1:
        first, stop = part.first, part.first + part.length
        seen = (piece for piece in inside if piece.at < stop and piece.stop > first)
        return [piece.between(first, stop, -first) for piece in seen]
    return list(_speeded(inside, part))


def _row(parts: Sequence[Part], shows: Callable[[Seen], bool]) -> list[ClipPiece]:
    starts = accumulate((part.length for part in parts), initial=0)
    return [
        piece._replace(at=piece.at + start)
        for start, part in zip(starts, parts, strict=False)
        for piece in pieces(part, shows)
    ]


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


def _speeded(inside: Sequence[ClipPiece], nest: Nest) -> Iterator[ClipPiece]:
    """The pieces as they are seen when the whole nest is played at its speed."""
    seen: list[tuple[int, int, int]] = []  # the piece, the film frame, the clip's step
    for at in range(nest.length):
        time = frame_at(nest.first, nest.length, nest.speed, at)
        index = bisect_right(inside, time, key=lambda piece: piece.at) - 1
        if index >= 0 and time < inside[index].stop:
            seen.append((index, at, inside[index].steps[time - inside[index].at]))
    for index, own in groupby(seen, key=itemgetter(0)):
        _, ats, steps = zip(*own, strict=True)
        yield ClipPiece(ats[0], steps, inside[index].clip)
