"""How far the film is: which frames of the cut are accepted, kept or still to come, and what each
shot lacks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from credits.footage.cut import CutUse, KeptFrames, frames_in_film
from credits.footage.remaining import TakeKey, WantedFrames, kept_by_take, wanted_by_shot
from credits.model.facts import Decision, ShotStatus
from credits.model.ledger import Ledger
from credits.units.frames import NO_FRAMES, Frames, Range


class FrameStand(StrEnum):
    """How far a frame of the film is."""

    ACCEPTED = "accepted"
    KEPT = "kept"  # in a take that is not decided
    MISSING = "missing"  # no animation of it is kept, or it is to be shot again


class ShotLack(StrEnum):
    """The first thing that a shot lacks."""

    PLACE = "place"  # in the cut
    ANIMATION = "animation"  # nothing of it is kept
    AGAIN = "again"  # its take is marked a retake
    FRAMES = "frames"  # something is kept, but not all that is wanted
    ENTRIES = "entries"  # it is finished, and nobody logged some of its frames
    ACCEPTANCE = "acceptance"


Stretch = tuple[int, int, FrameStand]
"""Film frames, half open, from 1, and how far they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotStand:
    """How far the wanted frames of a shot are.

    in_film: whether the cut uses the shot; without a cut every shot is in the film.
    """

    wanted: WantedFrames
    in_film: bool

    @property
    def lack(self) -> ShotLack | None:
        """What the shot lacks first; None where it lacks nothing."""
        own = self.wanted
        if not self.in_film:
            return ShotLack.PLACE
        if own.unshot and own.unshot == own.frames:
            return ShotLack.ANIMATION
        lacks = (
            (ShotLack.AGAIN, own.again),
            (ShotLack.FRAMES, own.unshot),
            (ShotLack.ENTRIES, own.unlogged),
            (ShotLack.ACCEPTANCE, own.open),
        )
        return next((lack for lack, frames in lacks if frames), None)

    @property
    def lacking(self) -> int:
        """How many frames are to be shot or logged."""
        return self.wanted.to_shoot + self.wanted.unlogged


@dataclass(frozen=True, slots=True, kw_only=True)
class HowFar:
    """How far the film is.

    of_cut: whether this is said of the cut; else of the shots, laid end to end. length: of the
    whole, in film frames. stretches: the frames of known shots, in film order; titles and gaps are
    in none. shots: of each shot that is not omitted, in the order of their table.
    """

    of_cut: bool
    length: int
    stretches: tuple[Stretch, ...]
    shots: Mapping[str, ShotStand]

    @property
    def frames(self) -> dict[FrameStand, int]:
        """Count the frames of each kind."""
        counts = dict.fromkeys(FrameStand, 0)
        for first, stop, stand in self.stretches:
            counts[stand] += stop - first
        return counts


def how_far(
    ledger: Ledger,
    use: CutUse | None,
    wanted: Mapping[TakeKey, Frames],
    kept: Iterable[KeptFrames],
) -> HowFar:
    """Return how far the film is.

    wanted: the frames of takes that the film wants. kept: the frames of every character in these
    takes; others are passed over.
    """
    seen = kept_by_take(wanted, kept)
    of_shots = wanted_by_shot(ledger, wanted, seen)
    shots = {
        code: ShotStand(wanted=of_shots.get(code, WantedFrames()), in_film=code in of_shots)
        for code, shot in ledger.shots.items()
        if shot.status is not ShotStatus.OMITTED
    }
    pieces = _end_to_end(ledger, wanted, seen) if use is None else _along(use, seen)
    stretches = tuple(
        stretch
        for first, stop, key, own in pieces
        for stretch in _parted(first, stop, own, _done(ledger, key))
    )
    length = max((stop for _, stop, _ in stretches), default=1) - 1
    return HowFar(
        of_cut=use is not None,
        length=length if use is None else use.cut.length,
        stretches=stretches,
        shots=shots,
    )


def _done(ledger: Ledger, key: TakeKey) -> FrameStand:
    """Return how far the kept frames of a take are."""
    return {
        Decision.ACCEPTED: FrameStand.ACCEPTED,
        Decision.RETAKE: FrameStand.MISSING,
        Decision.OPEN: FrameStand.KEPT,
    }[ledger.take(*key).decision]


_Piece = tuple[int, int, TakeKey, Iterable[Range]]
"""A stretch of the film, the take that it shows, and where in it any character is kept."""


def _along(use: CutUse, seen: Mapping[TakeKey, Frames]) -> Iterator[_Piece]:
    """Follow the cut from its beginning."""
    shown = sorted((c for c in use.clips if c.shown > 0), key=lambda clip: clip.film_first)
    for clip in shown:
        key = (clip.shot, clip.take or 1)
        own = frames_in_film(clip, seen.get(key, NO_FRAMES)).ranges
        yield clip.film_first, clip.film_first + clip.shown, key, own


def _end_to_end(
    ledger: Ledger, wanted: Mapping[TakeKey, Frames], seen: Mapping[TakeKey, Frames]
) -> Iterator[_Piece]:
    """Lay the shots end to end, by sequence, each as long as it is planned."""
    takes, at = dict(wanted.keys()), 1
    for sequence in ledger.sequences:
        for code in ledger.shots_of.get(sequence, ()):
            if code not in takes:
                continue
            key = (code, takes[code])
            length = ledger.shots[code].length
            kept = (seen.get(key, NO_FRAMES) & wanted[key]).ranges
            yield at, at + length, key, [(at + first - 1, at + stop - 1) for first, stop in kept]
            at += length


def _parted(first: int, stop: int, own: Iterable[Range], done: FrameStand) -> Iterator[Stretch]:
    """Part a stretch into what is kept and what is missing."""
    at = first
    for low, high in own:
        if low > at:
            yield at, low, FrameStand.MISSING
        yield low, high, done
        at = high
    if at < stop:
        yield at, stop, FrameStand.MISSING
