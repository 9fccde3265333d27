"""How far the film is: which frames of the cut are accepted, kept or still to come, and what each
shot lacks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from credits.footage.cut import CutUse, KeptFrames, frames_in_film
from credits.footage.footage import Footage, kept_by_shot
from credits.model.facts import CutClip, Decision, Shot, ShotStatus
from credits.model.ledger import Ledger
from credits.units.frames import NO_FRAMES, Frames, union
from credits.units.rounding import half_up


class FrameStand(StrEnum):
    """How far a frame of the film is."""

    ACCEPTED = "accepted"
    KEPT = "kept"  # and not accepted
    MISSING = "missing"  # no animation of it is kept


class ShotLack(StrEnum):
    """The first thing that a shot lacks."""

    ANIMATION = "animation"  # nothing of it is kept
    FRAMES = "frames"  # something is kept, but not all that is wanted
    ACCEPTANCE = "acceptance"
    PLACE = "place"  # in the cut


Stretch = tuple[int, int, FrameStand]
"""Film frames, half open, from 1, and how far they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotStand:
    """How far a shot is, in shot frames.

    wanted: the frames that the cut uses; of a shot that it does not use, all of the shot. kept: how
    many of these are kept, accepted: how many in an accepted take.
    """

    wanted: int
    kept: int
    accepted: int
    in_cut: bool

    def lack(self, *, has_cut: bool) -> ShotLack | None:
        """Return what the shot lacks first; None where it lacks nothing."""
        if not self.kept and self.wanted:
            return ShotLack.ANIMATION
        if self.kept < self.wanted:
            return ShotLack.FRAMES
        if self.accepted < self.wanted:
            return ShotLack.ACCEPTANCE
        return ShotLack.PLACE if has_cut and not self.in_cut else None


@dataclass(frozen=True, slots=True, kw_only=True)
class HowFar:
    """How far the film is.

    of_cut: whether this is said of the cut; else of the shots, laid end to end. length: of the
    whole, in film frames. stretches: the frames of known shots, in film order; titles and gaps are
    in none. shots: of each shot that is not omitted.
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
    kept: Iterable[KeptFrames],
    takes: Mapping[str, int],
    footage: Footage,
) -> HowFar:
    """Return how far the film is.

    kept: the frames of every character in the takes that the cut uses; in others they are passed
    over. takes: the take that each shot means. footage: by shot and take, of all.
    """
    meant = _of_shots(ledger, use, takes, footage)
    if use is None:
        stretches = tuple(_end_to_end(ledger, meant))
        length = sum(stop - first for first, stop, _ in stretches)
        return HowFar(of_cut=False, length=length, stretches=stretches, shots=meant)
    by_take: dict[tuple[str, int], list[Frames]] = defaultdict(list)
    for shot, take, _, frames in kept:
        if (shot, take) in use.used:
            by_take[shot, take].append(frames)
    seen = {key: union(sets) for key, sets in by_take.items()}
    accepted = {key for key in use.used if ledger.take(*key).decision is Decision.ACCEPTED}
    shots = meant | _in_cut(ledger, use, seen, accepted)
    order = {code: shots[code] for code in ledger.shots if code in shots}
    stretches = tuple(_along(use.clips, seen, accepted))
    return HowFar(of_cut=True, length=use.cut.length, stretches=stretches, shots=order)


def _counted(shot: Shot) -> bool:
    return shot.status is not ShotStatus.OMITTED


def _of_shots(
    ledger: Ledger, use: CutUse | None, takes: Mapping[str, int], footage: Footage
) -> dict[str, ShotStand]:
    """Tell of the shots that the cut does not use how many of their frames are kept."""
    used = {shot for shot, _ in use.used} if use is not None else set()
    left = {c: s for c, s in ledger.shots.items() if _counted(s) and c not in used}
    counting = footage.where(lambda cell: cell.shot in left and takes.get(cell.shot) == cell.take)
    by_shot = counting.parted(lambda cell: cell.shot)
    kept = {code: kept_by_shot(own.cells) for code, own in by_shot.items()}
    found = {}
    for code, shot in left.items():
        frames = min(half_up(kept.get(code, 0)), shot.length)
        is_accepted = ledger.take(code, takes.get(code, 1)).decision is Decision.ACCEPTED
        accepted = frames if is_accepted else 0
        found[code] = ShotStand(wanted=shot.length, kept=frames, accepted=accepted, in_cut=False)
    return found


def _in_cut(
    ledger: Ledger,
    use: CutUse,
    seen: Mapping[tuple[str, int], Frames],
    accepted: set[tuple[str, int]],
) -> dict[str, ShotStand]:
    """Tell of the shots that the cut uses how many of the frames that it uses are kept."""
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for key, frames in use.used.items():
        if _counted(ledger.shots[key[0]]):
            kept = frames.shared_with(seen.get(key, NO_FRAMES))
            own = (frames.count, kept, kept if key in accepted else 0)
            counts[key[0]] = [a + b for a, b in zip(counts[key[0]], own, strict=True)]
    return {
        code: ShotStand(wanted=wanted, kept=kept, accepted=done, in_cut=True)
        for code, (wanted, kept, done) in counts.items()
    }


def _end_to_end(ledger: Ledger, shots: Mapping[str, ShotStand]) -> Iterator[Stretch]:
    """Lay shots end to end, by sequence; what is kept of each stands before what is missing."""
    at = 1
    for sequence in ledger.sequences:
        for code in ledger.shots_of.get(sequence, ()):
            if (own := shots.get(code)) is None:
                continue
            done = FrameStand.ACCEPTED if own.accepted else FrameStand.KEPT
            for frames, stand in ((own.kept, done), (own.wanted - own.kept, FrameStand.MISSING)):
                if frames:
                    yield at, at + frames, stand
                    at += frames


def _along(
    clips: Iterable[CutClip],
    seen: Mapping[tuple[str, int], Frames],
    accepted: set[tuple[str, int]],
) -> Iterator[Stretch]:
    """Follow the cut from its beginning."""
    shown = sorted((c for c in clips if c.shown > 0), key=lambda clip: clip.film_first)
    for clip in shown:
        key = (clip.shot, clip.take or 1)
        done = FrameStand.ACCEPTED if key in accepted else FrameStand.KEPT
        at, stop = clip.film_first, clip.film_first + clip.shown
        for first, end in frames_in_film(clip, seen.get(key, NO_FRAMES)).ranges:
            if first > at:
                yield at, first, FrameStand.MISSING
            yield first, end, done
            at = end
        if at < stop:
            yield at, stop, FrameStand.MISSING
