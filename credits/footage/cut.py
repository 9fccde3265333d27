"""What the current cut uses: which take, which frames, how often, and where in the film."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import floor

from credits.footage.claims import TakeRuns
from credits.model.facts import Cut, CutClip, Decision, Purpose
from credits.model.ledger import Ledger
from credits.units.frames import NO_FRAMES, Frames


def chosen_take(ledger: Ledger, claimed: Iterable[tuple[str, int]], shot: str) -> int | None:
    """Return the take that a shot means when none is named.

    claimed: the takes that have claims, by shot and number.

    The accepted shoot take with the latest ``decided_on`` (the higher number on a tie; one that
    was never dated is the earliest); else the highest-numbered shoot take that has claims; else
    None: there is nothing to show.
    """
    accepted = [
        (take.decided_on or date.min, take.number)
        for take in ledger.takes_of.get(shot, ())
        if take.purpose is Purpose.SHOOT and take.decision is Decision.ACCEPTED
    ]
    if accepted:
        return max(accepted)[1]
    return max((take for at, take in claimed if at == shot), default=None)


def chosen_takes(ledger: Ledger, claimed: Iterable[tuple[str, int]]) -> dict[str, int]:
    """Return the take that each shot means; shots with nothing to show are left out.

    claimed: as for ``chosen_take``; a mapping of claims by take will do.
    """
    by_shot: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for take in claimed:
        by_shot[take[0]].append(take)
    takes = {shot: chosen_take(ledger, by_shot.get(shot, ()), shot) for shot in ledger.shots}
    return {shot: take for shot, take in takes.items() if take is not None}


def source_frame(clip: CutClip, step: int) -> int:
    """Return the shot frame that the clip shows at its film frame ``step`` (from 0)."""
    if clip.speed < 0:
        return clip.source_last - floor(step * -clip.speed)
    return clip.source_first + floor(step * clip.speed)


def steps_showing(clip: CutClip, first: int, stop: int) -> tuple[int, int]:
    """Return the film frames of the clip that show shot frames ``first .. stop - 1``.

    Returned half open, counted from 0 in the clip; they are one stretch, since a clip plays one
    way at one speed. Closed form, from ``floor(k * s) >= n`` exactly when ``k >= n / s``.
    """
    speed, of = clip.speed.numerator, clip.speed.denominator
    if speed > 0:
        low = -((clip.source_first - first) * of // speed)
        high = -((clip.source_first - stop) * of // speed)
    elif speed < 0:
        low = -((stop - 1 - clip.source_last) * of // -speed)
        high = -((first - 1 - clip.source_last) * of // -speed)
    else:
        low, high = (0, clip.shown) if first <= clip.source_first < stop else (0, 0)
    low, high = max(low, 0), min(high, clip.shown)
    return (low, high) if low < high else (0, 0)


def frames_in_film(clip: CutClip, frames: Frames) -> Frames:
    """Return the film frames of a clip that show some frames of its shot."""
    steps = (steps_showing(clip, first, stop) for first, stop in frames.ranges)
    at = clip.film_first
    return Frames.of(*((at + low, at + high) for low, high in steps if low < high))


def frames_shown(clip: CutClip) -> Frames:
    """Return the shot frames that the clip shows at least once.

    Up to normal speed they are one range. Faster clips skip frames: then each shown frame is a
    range of its own, and the cost is that of the frames shown.
    """
    if clip.shown <= 0:
        return Frames()
    if abs(clip.speed) <= 1:
        ends = (source_frame(clip, 0), source_frame(clip, clip.shown - 1))
        return Frames.span(min(ends), max(ends))
    return Frames.of(*((f, f + 1) for f in (source_frame(clip, k) for k in range(clip.shown))))


@dataclass(frozen=True, slots=True, kw_only=True)
class CutUse:
    """The cut with every clip's take decided. ``clips`` leaves out clips of unknown shots.

    ``distinct_frames``: how many frames of shots the cut uses, each counted once.
    """

    cut: Cut
    clips: tuple[CutClip, ...]
    used: Mapping[tuple[str, int], Frames]
    clips_of: Mapping[tuple[str, int], tuple[CutClip, ...]]
    distinct_frames: int

    def frames_in_cut(self, shot: str, take: int, frames: Frames) -> int:
        """Count those of the shot frames that the cut uses at least once."""
        return self.used.get((shot, take), NO_FRAMES).shared_with(frames)

    def frames_on_screen(self, shot: str, take: int, frames: Frames) -> int:
        """Count the film frames that show the shot frames."""
        return sum(stop - first for first, stop in self.film_spans(shot, take, frames))

    def film_spans(self, shot: str, take: int, frames: Frames) -> Iterable[tuple[int, int]]:
        """Find where in the film these shot frames are seen: half-open film frames, from 1."""
        for clip in self.clips_of.get((shot, take), ()):
            for first, stop in frames.ranges:
                low, high = steps_showing(clip, first, stop)
                if low < high:
                    yield clip.film_first + low, clip.film_first + high


def use_of_cut(ledger: Ledger, claimed: Iterable[tuple[str, int]]) -> CutUse | None:
    """Decide the take of every clip of the current cut; None when no cut was brought in yet."""
    if ledger.cut is None:
        return None
    takes = chosen_takes(ledger, claimed)
    clips: list[CutClip] = []
    by_take: dict[tuple[str, int], list[CutClip]] = defaultdict(list)
    for clip in ledger.cut.clips:
        if clip.shot in ledger.shots:
            take = clip.take if clip.take is not None else takes.get(clip.shot, 1)
            clips.append(replace(clip, take=take))
            by_take[clip.shot, take or 1].append(clips[-1])
    used = {
        key: Frames.of(*(r for clip in own for r in frames_shown(clip).ranges))
        for key, own in by_take.items()
    }
    return CutUse(
        cut=ledger.cut,
        clips=tuple(clips),
        used=used,
        clips_of={key: tuple(own) for key, own in by_take.items()},
        distinct_frames=sum(frames.count for frames in used.values()),
    )


KeptFrames = tuple[str, int, str, Frames]
"""A shot, a take, a character, and the frames in which it has a kept claim there."""


def kept_frames(runs: Mapping[tuple[str, int], TakeRuns]) -> Iterator[KeptFrames]:
    """Find the frames of every character in every take."""
    for (shot, take), own in runs.items():
        for character, frames in own.kept_by_character.items():
            yield shot, take, character, frames


def order_of_appearance(
    use: CutUse | None, kept: Iterable[KeptFrames]
) -> tuple[tuple[str, int], ...]:
    """Return the characters by the first film frame of a kept claim, each with that frame.

    kept: the frames of every character in the takes that the cut uses; others are passed over.
    """
    if use is None:
        return ()
    first_seen: dict[str, int] = {}
    for shot, take, character, frames in kept:
        for first, _ in use.film_spans(shot, take, frames):
            first_seen[character] = min(first, first_seen.get(character, first))
    return tuple(sorted(first_seen.items(), key=lambda item: (item[1], item[0])))
