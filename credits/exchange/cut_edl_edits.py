"""The edits of a CMX 3600 edit list in frames: checked, in film order, with names and speeds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_edl_lines import EditList, Event, Line
from credits.units.film_time import FrameRate, frame_of_timecode
from credits.units.rounding import decimal_text


@dataclass(frozen=True, slots=True)
class Edit:
    """One clip of picture: source and record in frames from 0, the end not in it."""

    line: Line
    source_in: int
    source_out: int
    record_in: int
    record_out: int
    name: str = ""
    file: str = ""
    speed: Fraction = Fraction(1)


def edits_of(written: EditList, file: str, rate: FrameRate) -> list[Edit]:
    """The edits of picture by track, in film order. Raises ProblemsFound with all that is wrong."""
    problems = list(written.problems)
    if written.drop_row is not None and not rate.drops:
        what = f"drop-frame timecode exists only at 30000/1001 and 60000/1001, not at {rate.text}"
        hint = "Is this the cut of this production? Else ask for non-drop timecode."
        place = Place(file, written.drop_row)
        raise ProblemsFound(Finding(what, hint, place, "FCM", "DROP FRAME"))
    edits: list[Edit] = []
    for event in written.events:
        for edit in _of_event(event, file, rate, problems):
            edits.append(edit)
    edits.sort(key=lambda e: (e.line.track or 0, e.record_in, e.record_out))
    problems.extend(_overlaps(edits, file))
    if problems:
        problems.sort(key=lambda f: (f.place.row or 0) if f.place else 0)
        raise ProblemsFound(*problems)
    return edits


def _of_event(event: Event, file: str, rate: FrameRate, problems: list[Finding]) -> Iterator[Edit]:
    for at, line in enumerate(event.lines):
        if line.track is None:
            continue
        place = Place(file, line.row)
        if line.kind.startswith("K"):
            what = "keys are not read: two pictures are seen at once"
            hint = "Ask for the list with the key as two video tracks."
            problems.append(Finding(what, hint, place, "event", line.number))
            continue
        try:
            edit = _timed(line, file, rate)
        except ProblemsFound as error:
            problems.extend(error.findings)
            continue
        if edit.record_in == edit.record_out and edit.source_in == edit.source_out:
            continue  # where a transition comes from: nothing of it is seen after the edit point
        name = _name(event, at)
        speed = Fraction(0) if event.frozen else _speed(event, at, rate)
        if event.frozen and name.endswith(" FF"):
            name = name.removesuffix(" FF").rstrip()
        if found := _wrong(edit, speed, file):
            problems.append(found)
            continue
        yield Edit(
            line,
            edit.source_in,
            edit.source_out,
            edit.record_in,
            edit.record_out,
            name,
            event.file or "",
            Fraction(1) if speed is None else speed,
        )


def _timed(line: Line, file: str, rate: FrameRate) -> Edit:
    """The edit with its timecodes as frames. Raises ProblemsFound with those that are none."""
    frames: list[int] = []
    problems: list[Finding] = []
    drops = (line.drop, line.drop, line.record_drop, line.record_drop)
    ends = ("source in", "source out", "record in", "record out")
    for end, label, drop in zip(ends, line.timecodes, drops, strict=True):
        try:
            plain = label.isdigit() and len(label) < 10  # frame numbers are in use, too
            number = int(label) if plain else frame_of_timecode(label, rate, drop or None)
            frames.append(number)
        except ProblemsFound as error:
            for f in error.findings:
                what = f"event {line.number}: {f.what}"
                problems.append(Finding(what, f.hint, Place(file, line.row), end, label))
    if problems:
        raise ProblemsFound(*problems)
    source_in, source_out, record_in, record_out = frames
    return Edit(line, source_in, source_out, record_in, record_out)


def _wrong(edit: Edit, speed: Fraction | None, file: str) -> Finding | None:
    """What is wrong with an edit's lengths."""
    line, place = edit.line, Place(file, edit.line.row)
    source, record = edit.source_out - edit.source_in, edit.record_out - edit.record_in
    if source < 0 or record < 0:
        which, (first, last) = ("source", line.timecodes[:2])
        if record < 0:
            which, (first, last) = ("record", line.timecodes[2:])
        what = f"its {which} ends ({last}) before it begins ({first})"
        return Finding(what, "Correct the timecodes.", place, "event", line.number)
    if source != record and speed is None:
        what = f"its source is {source} frames and its record {record}, and no M2 line says a speed"
        hint = "Correct the timecodes, or add the M2 line."
        return Finding(what, hint, place, "event", line.number)
    if record == 0:
        what = f"its source is {source} frames, but it is on screen for none"
        return Finding(what, "Correct the timecodes.", place, "event", line.number)
    return None


def _name(event: Event, at: int) -> str:
    """The clip name of a line: what a transition goes to or comes from, or the only one given."""
    lines = event.lines
    if lines[at].kind != "C":
        alone = at == 0 and "TO" not in event.names
        return event.names.get("FROM" if alone else "TO", "")
    return event.names.get("FROM", event.names.get("TO", "") if len(lines) == 1 else "")


def _speed(event: Event, at: int, rate: FrameRate) -> Fraction | None:
    """The speed that an M2 line gives to this edit of the event; None when there is none.

    With as many M2 lines of its reel as there are edits of it, each has its own; else the last
    edit of the reel has the last of them.
    """
    reel = event.lines[at].reel
    own = [i for i, line in enumerate(event.lines) if line.track and line.reel == reel]
    given = [speed for name, speed, _ in event.speeds if name == reel]
    if not given and len(event.lines) == 1:
        given = [speed for _, speed, _ in event.speeds]
    if not given:
        return None
    if len(given) == len(own):
        return _of_normal(given[own.index(at)], rate)
    return _of_normal(given[-1], rate) if at == own[-1] else None


def _of_normal(per_second: str, rate: FrameRate) -> Fraction:
    """A speed in frames a second, as M2 lines have it, as a multiple of normal speed.

    Normal is the whole number of frames that timecode counts in a second (24 at 24000/1001), or
    the rate itself as far as its decimals are written (23.98).
    """
    exact = Fraction(per_second)
    places = len(per_second.partition(".")[2])
    if decimal_text(abs(exact), places) == decimal_text(rate.per_second, places):
        return Fraction(1 if exact > 0 else -1)
    return exact / rate.nominal


def _overlaps(edits: list[Edit], file: str) -> Iterator[Finding]:
    for before, edit in pairwise(edits):
        if before.line.track == edit.line.track and edit.record_in < before.record_out:
            what = (
                f"begins at {edit.line.timecodes[2]}, before event {before.line.number} "
                f"(row {before.line.row}) ends at {before.line.timecodes[3]}"
            )
            hint = "Correct the record timecodes, or put one of them on another track."
            yield Finding(what, hint, Place(file, edit.line.row), "event", edit.line.number)
