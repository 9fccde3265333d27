"""What the current cut uses: which take, which frames, how often, and where in the film (3.4)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, floor

from credits.footage.claims import TakeRuns
from credits.model.facts import Cut, CutClip, Decision, Purpose
from credits.model.ledger import Ledger
from credits.units.frames import Frames


def chosen_take(ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], shot: str) -> int | None:
    """The take that a shot means when none is named (3.4).

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
    return max((take for at, take in runs if at == shot), default=None)


def chosen_takes(ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]) -> dict[str, int]:
    """The take that each shot means; shots with nothing to show are left out."""
    claimed: dict[str, dict[tuple[str, int], TakeRuns]] = defaultdict(dict)
    for key, value in runs.items():
        claimed[key[0]][key] = value
    out = {}
    for shot in ledger.shots:
        take = chosen_take(ledger, claimed.get(shot, {}), shot)
        if take is not None:
            out[shot] = take
    return out


def source_frame(clip: CutClip, step: int) -> int:
    """The shot frame that the clip shows at its film frame ``step`` (from 0)."""
    if clip.speed < 0:
        return clip.source_last - floor(step * -clip.speed)
    return clip.source_first + floor(step * clip.speed)


def steps_showing(clip: CutClip, first: int, stop: int) -> tuple[int, int]:
    """The film frames of the clip that show shot frames ``first .. stop - 1``.

    Returned half open, counted from 0 in the clip; they are one stretch, since a clip plays one
    way at one speed. Closed form, from ``floor(k * s) >= n`` exactly when ``k >= n / s``.
    """
    if clip.speed == 0:
        return (0, clip.shown) if first <= clip.source_first < stop else (0, 0)
    if clip.speed == 1:
        low, high = first - clip.source_first, stop - clip.source_first
    elif clip.speed > 0:
        low = ceil((first - clip.source_first) / clip.speed)
        high = ceil((stop - clip.source_first) / clip.speed)
    else:
        low = ceil((clip.source_last - stop + 1) / -clip.speed)
        high = ceil((clip.source_last - first + 1) / -clip.speed)
    low, high = max(low, 0), min(high, clip.shown)
    return (low, high) if low < high else (0, 0)


def frames_shown(clip: CutClip) -> Frames:
    """The shot frames that the clip shows at least once.

    Up to normal speed they are one range. Faster clips skip frames: then each shown frame is a
    range of its own, and the cost is that of the frames shown.
    """
    if clip.shown <= 0:
        return Frames()
    if abs(clip.speed) <= 1:
        ends = (source_frame(clip, 0), source_frame(clip, clip.shown - 1))
        return Frames.span(min(ends), max(ends))
    return Frames.of(*((f, f + 1) for f in (source_frame(clip, k) for k in range(clip.shown))))


@dataclass(frozen=True, slots=True)
class CutUse:
    """The cut with every clip's take decided. ``clips`` leaves out clips of unknown shots."""

    cut: Cut
    clips: tuple[CutClip, ...]
    used: Mapping[tuple[str, int], Frames]
    clips_of: Mapping[tuple[str, int], tuple[CutClip, ...]]

    @property
    def distinct_frames(self) -> int:
        """How many frames of shots the cut uses, each counted once."""
        return sum(frames.count for frames in self.used.values())

    def frames_in_cut(self, shot: str, take: int, first: int, stop: int) -> int:
        """How many of the shot frames ``first .. stop - 1`` the cut uses at least once."""
        used = self.used.get((shot, take))
        return (used & Frames(((first, stop),))).count if used else 0

    def frames_on_screen(self, shot: str, take: int, first: int, stop: int) -> int:
        """How many film frames show the shot frames ``first .. stop - 1``."""
        total = 0
        for clip in self.clips_of.get((shot, take), ()):
            low, high = steps_showing(clip, first, stop)
            total += high - low
        return total

    def film_spans(self, shot: str, take: int, frames: Frames) -> Iterable[tuple[int, int]]:
        """Where in the film these shot frames are seen: half-open film frames, from 1."""
        for clip in self.clips_of.get((shot, take), ()):
            for first, stop in frames.ranges:
                low, high = steps_showing(clip, first, stop)
                if low < high:
                    yield clip.film_first + low, clip.film_first + high


def use_of_cut(ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]) -> CutUse | None:
    """The current cut with its takes decided by 3.4; None when no cut was brought in yet."""
    if ledger.cut is None:
        return None
    takes = chosen_takes(ledger, runs)
    clips = []
    for clip in ledger.cut.clips:
        if clip.shot not in ledger.shots:
            continue
        take = clip.take if clip.take is not None else takes.get(clip.shot, 1)
        clips.append(replace(clip, take=take))
    by_take: dict[tuple[str, int], list[CutClip]] = defaultdict(list)
    for clip in clips:
        by_take[clip.shot, clip.take or 1].append(clip)
    used = {
        key: Frames.of(*(r for clip in own for r in frames_shown(clip).ranges))
        for key, own in by_take.items()
    }
    return CutUse(ledger.cut, tuple(clips), used, {key: tuple(own) for key, own in by_take.items()})


def order_of_appearance(
    use: CutUse | None, runs: Mapping[tuple[str, int], TakeRuns]
) -> tuple[tuple[str, int], ...]:
    """Characters by the first film frame in which they have a kept claim (3.9), with that frame."""
    first_seen: dict[str, int] = {}
    if use is None:
        return ()
    for (shot, take), own in runs.items():
        clips = use.clips_of.get((shot, take), ())
        for run in own.runs if clips else ():
            starts = [
                clip.film_first + low
                for clip in clips
                for low, high in (steps_showing(clip, run.first, run.stop),)
                if low < high
            ]
            if not starts:
                continue
            for layer in run.kept:
                known = first_seen.get(layer.character)
                if known is None or min(starts) < known:
                    first_seen[layer.character] = min(starts)
    return tuple(sorted(first_seen.items(), key=lambda item: (item[1], item[0])))
