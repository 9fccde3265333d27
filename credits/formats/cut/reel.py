"""A show reel: what the film shows of somebody's work, clip after clip, as a cut of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from credits.footage.cut import CutUse, source_frame, steps_showing
from credits.formats.cut.timeline import Played, played
from credits.model.facts import Cut, CutClip
from credits.units.frames import Frames

Work = Mapping[tuple[str, int | None], Frames]
"""Frames that somebody worked in, by shot and take; take None: whichever the cut uses."""


class Reel(NamedTuple):
    """The clips back to back, and of each the film frame, from 1, at which the film shows it."""

    cut: Cut
    film_firsts: tuple[int, ...]


def reel_of(use: CutUse, work: Work, name: str) -> Reel:
    """Return what the cut shows of some work, in film order; without clips where it shows none."""
    clips: list[CutClip] = []
    firsts: list[int] = []
    at = 1
    shots = {shot for shot, _ in work}
    own_clips = [clip for clip in use.clips if clip.shot in shots]
    for clip in sorted(own_clips, key=lambda clip: clip.film_first):
        for low, high in _steps(clip, work):
            begun = clip.film_first + low
            for stretch in _stretches(clip, low, high):
                order = len(clips) + 1
                own = stretch._asdict()
                clips.append(
                    CutClip(order=order, film_first=at, shot=clip.shot, take=clip.take, **own)
                )
                firsts.append(begun)
                at += stretch.shown
                begun += stretch.shown
    cut = Cut(version=use.cut.version, source=name, length=at - 1, clips=tuple(clips))
    return Reel(cut, tuple(firsts))


def _steps(clip: CutClip, work: Work) -> Iterator[tuple[int, int]]:
    """Yield the film frames of a clip, half open and from 0 in it, that show any of the work."""
    found = [
        span
        for take in (clip.take, None)
        for first, stop in work.get((clip.shot, take), Frames()).ranges
        if (span := steps_showing(clip, first, stop)) != (0, 0)
    ]
    yield from Frames.of(*found).ranges


def _stretches(clip: CutClip, low: int, high: int) -> list[Played]:
    """Return a part of a clip in frames of the shot, at one speed each."""
    if (low * clip.speed).denominator == 1:
        ends = source_frame(clip, low), source_frame(clip, high - 1)
        return [Played(high - low, min(ends), max(ends), clip.speed)]
    return played([source_frame(clip, step) for step in range(low, high)], clip.speed)
