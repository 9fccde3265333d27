"""Cuts written as edit decision lists in the CMX 3600 format."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from math import ceil

from credits.footage.cut import source_frame
from credits.formats.cut.clips import lowest_frame
from credits.formats.cut.edl import of_normal
from credits.model.facts import Cut, CutClip
from credits.units.film_time import FrameRate, timecode
from credits.units.rounding import decimal_text

_REEL = "AX"  # what the format calls a source without a reel
_FINEST = 6  # decimals of a speed


def cut_to_edl(cut: Cut, rate: FrameRate, name: str, notes: Sequence[str] = ()) -> str:
    """Return a cut as an edit list of one video track, in non-drop timecode.

    Source timecode counts the frames of a shot: its frame 1 is 00:00:00:01. Clips are called by
    their shot. A speed that frames a second do not say exactly is written out, frame by frame.
    notes: of each clip what stands beside it as a comment. Read again, every film frame shows the
    same frame of the same shot.
    """
    lines = [f"TITLE: {' '.join(name.split())}", "FCM: NON-DROP FRAME"]
    number = 0
    for at, whole in enumerate(cut.clips):
        for clip in _sayable(whole, rate):
            number += 1
            lines += ["", *_event(number, clip, rate)]
        lines += [f"* COMMENT: {' '.join(notes[at].split())}"] if notes else []
    return "\n".join(lines) + "\n"


def _event(number: int, clip: CutClip, rate: FrameRate) -> Iterator[str]:
    first, record = lowest_frame(clip), clip.film_first - 1
    length = max(ceil(clip.shown * abs(clip.speed)), 1)
    places = (first, first + length, record, record + clip.shown)
    codes = " ".join(timecode(frame, rate) for frame in places)
    yield f"{number:03d}  {_REEL:<8} V     C        {codes}"
    if clip.speed != 1:
        said = _speed(clip, rate) or "0.0"
        yield f"M2   {_REEL:<8} {said:>8}                {timecode(first, rate)}"
    yield f"* FROM CLIP NAME: {' '.join(clip.shot.split())}"


def _speed(clip: CutClip, rate: FrameRate) -> str | None:
    """Write a speed in frames a second; None where that would show other frames."""
    shown = [source_frame(clip, step) for step in range(clip.shown)]
    sign = "-" if clip.speed < 0 else ""
    for places in range(1, _FINEST + 1):
        text = f"{sign}{decimal_text(abs(clip.speed) * rate.nominal, places)}"
        read = replace(clip, speed=of_normal(text, rate))
        if read.speed == clip.speed:
            return text
        alike = (read.speed > 0) == (clip.speed > 0) and lowest_frame(read) == lowest_frame(clip)
        if alike and [source_frame(read, step) for step in range(clip.shown)] == shown:
            return text
    return None


def _sayable(clip: CutClip, rate: FrameRate) -> Iterator[CutClip]:
    """Return the clip, in pieces that hold one frame each where its speed cannot be written."""
    if clip.speed == 1 or _speed(clip, rate) is not None:
        yield clip
        return
    at = clip.film_first
    for frame, steps in groupby(source_frame(clip, step) for step in range(clip.shown)):
        shown = len(list(steps))
        speed = Fraction(1) if shown == 1 else Fraction(0)
        yield replace(
            clip,
            film_first=at,
            shown=shown,
            source_first=frame,
            source_last=frame,
            speed=speed,
        )
        at += shown
