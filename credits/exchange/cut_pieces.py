"""What is seen of a timeline: clips one after another, in layers, nested, trimmed and speeded.

Everything here counts whole film frames from 0. What is on top hides what is below; where nothing
lies on top, what is below is seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor

from credits.exchange.cut_steps import frame_at


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
class Piece:
    """A stretch of film from frame ``at`` on that shows the steps of one clip."""

    at: int
    steps: Sequence[int]
    clip: Seen

    @property
    def stop(self) -> int:
        """The first film frame after it."""
        return self.at + len(self.steps)

    def between(self, first: int, stop: int, moved: int = 0) -> Piece:
        """What of it lies in film frames ``first .. stop - 1``, moved later by so many frames."""
        begin = max(first, self.at)
        end = min(stop, self.stop)
        return Piece(begin + moved, self.steps[begin - self.at : end - self.at], self.clip)


def pieces(part: Part, shows: Callable[[Seen], bool]) -> list[Piece]:
    """The pieces that are seen, in film order; none overlap. ``shows`` False: a clip is as blank.

    Cost follows the clips, not the frames, but where a nest is played at another speed.
    """
    if isinstance(part, Blank):
        return []
    if isinstance(part, Seen):
        return [Piece(0, range(part.length), part)] if part.length and shows(part) else []
    inside = (_layers if part.layered else _row)(part.parts, shows)
    if part.speed == 1:
        return list(_window(inside, part.first, part.length))
    return list(_speeded(inside, part))


def _row(parts: Sequence[Part], shows: Callable[[Seen], bool]) -> list[Piece]:
    at = 0
    out: list[Piece] = []
    for part in parts:
        out.extend(Piece(piece.at + at, piece.steps, piece.clip) for piece in pieces(part, shows))
        at += part.length
    return out


def _layers(parts: Sequence[Part], shows: Callable[[Seen], bool]) -> list[Piece]:
    seen: list[Piece] = []
    for part in reversed(parts):
        below = list(_uncovered(pieces(part, shows), seen))
        seen = sorted([*seen, *below], key=lambda piece: piece.at) if seen else below
    return seen


def _uncovered(below: Sequence[Piece], above: Sequence[Piece]) -> Iterator[Piece]:
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


def _window(inside: Sequence[Piece], first: int, length: int) -> Iterator[Piece]:
    for piece in inside:
        if piece.at < first + length and piece.stop > first:
            yield piece.between(first, first + length, -first)


def _speeded(inside: Sequence[Piece], nest: Nest) -> Iterator[Piece]:
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
            yield Piece(begin, tuple(steps), piece.clip)
