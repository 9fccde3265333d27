"""Edit decision lists."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import opentimelineio as otio

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutRead
from credits.formats.cut.film import FilmReader
from credits.formats.cut.timeline import TimelineReader
from credits.formats.tables.csv import file_bytes
from credits.units.film_time import FrameRate, frame_of_timecode
from credits.units.rounding import decimal_text

_EDIT = re.compile(
    r"(?P<number>\d+)\s+(?P<reel>\S.*?)\s+(?P<channel>\S+)\s+"
    r"(?P<kind>C|D|W\d{1,3}|K(?:\s+[BO]|[BO])?)(?:\s+(?P<frames>\d{1,6}))?(?:\s+\([F]\))?"
    r"\s+(?P<in>[\d:;.,]+)\s+(?P<out>[\d:;.,]+)\s+(?P<rec_in>[\d:;.,]+)\s+(?P<rec_out>[\d:;.,]+)"
)
_FCM = re.compile(r"FCM\s*:?\s*(?P<mode>(?:NON[-\s]?)?DROP)", re.IGNORECASE)
_M2 = re.compile(r"M2\s+(?P<reel>\S.*?)\s+(?P<speed>[+-]?\d{1,5}(?:\.\d{0,6})?)(?:\s+\d[\d:;.]*)?")
_NAME = re.compile(r"\*?\s*(?P<which>FROM|TO) CLIP NAME\s*:?\s*(?P<name>.*)")
_FILE = re.compile(r"\*?\s*FROM (?:CLIP|FILE)\s*:\s*(?P<name>.*)")
_FREEZE = re.compile(r"\*?\s*\*?\s*FREEZE FRAME")
_PICTURE = re.compile(r"V(?P<track>\d*)|B|A+\d*/V|VA\d*|AV")


@dataclass(frozen=True, slots=True)
class EdlLine:
    """One edit as it is written. ``drop``, ``record_drop``: whether FCM lines say drop-frame.

    ``track``: its video track, from 1; None when it is sound alone.
    """

    row: int
    number: str
    reel: str
    track: int | None
    kind: str
    frames: int | None
    timecodes: tuple[str, str, str, str]
    drop: bool
    record_drop: bool


@dataclass(slots=True)
class Event:
    """Lines of one number, and the remarks that follow them."""

    lines: list[EdlLine] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    file: str | None = None
    speeds: list[tuple[str, str, int]] = field(default_factory=list)
    frozen: bool = False

    def remark(self, text: str, row: int) -> None:
        """Take in a line that is no edit; most say nothing about which frames are seen."""
        if match := _M2.fullmatch(text):
            self.speeds.append((match["reel"], match["speed"], row))
        elif match := _NAME.fullmatch(text):
            self.names.setdefault(match["which"], match["name"].strip())
        elif match := _FILE.fullmatch(text):
            self.file = self.file or match["name"].strip()
        elif _FREEZE.match(text):
            self.frozen = True


@dataclass(slots=True)
class EditList:
    """An edit list as it is written. ``drop_row``: the line that says drop-frame."""

    title: str = ""
    events: list[Event] = field(default_factory=list)
    problems: list[Finding] = field(default_factory=list)
    drop_row: int | None = None


def lines_of(text: str, file: str) -> EditList:
    """Read the lines of an edit list; a line that begins like an edit and is none is a problem."""
    out = EditList()
    drop: bool | None = None
    record_drop: bool | None = None
    event = Event()
    for row, line in _rows(text):
        if match := _FCM.match(line):
            drop = not match["mode"].upper().startswith("NON")
            record_drop = drop if record_drop is None else record_drop
            out.drop_row = row if drop and out.drop_row is None else out.drop_row
        elif re.match(r"\d+\s", line):
            edit = _edit(line, row, bool(drop), bool(record_drop))
            if edit is None:
                hint = "An edit has a number, reel, channel, kind and four timecodes."
                found = Finding("is not an edit", hint, Place(file, row), value=line)
                out.problems.append(found)
            elif event.lines and event.lines[-1].number == edit.number:
                event.lines.append(edit)
            else:
                event = Event([edit])
                out.events.append(event)
        elif line.startswith("TITLE:"):
            out.title = line.removeprefix("TITLE:").strip()
        elif event.lines:
            event.remark(line, row)
    return out


def _rows(text: str) -> Iterator[tuple[int, str]]:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row, line in enumerate(lines, 1):
        stripped = " ".join(line.split()) if "\t" in line else line.strip()
        if stripped:
            yield row, stripped


def _edit(line: str, row: int, drop: bool, record_drop: bool) -> EdlLine | None:
    match = _EDIT.fullmatch(line)
    if match is None:
        return None
    picture = _PICTURE.fullmatch(match["channel"].upper())
    track = None if picture is None else int(picture["track"] or 1)
    return EdlLine(
        row=row,
        number=match["number"],
        reel=match["reel"],
        track=track,
        kind=match["kind"],
        frames=None if match["frames"] is None else int(match["frames"]),
        timecodes=(match["in"], match["out"], match["rec_in"], match["rec_out"]),
        drop=drop,
        record_drop=record_drop,
    )


@dataclass(frozen=True, slots=True)
class Edit:
    """One clip of picture: source and record in frames from 0, the end not in it."""

    line: EdlLine
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


def _timed(line: EdlLine, file: str, rate: FrameRate) -> Edit:
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


_KINDS = {"D": "dissolve", "W": "wipe"}


def read_cut_edl(path: Path, asked: CutAsked) -> CutRead:
    """The clips of the edit list. Raises ProblemsFound."""
    file = path.name
    data = file_bytes(path)
    if b"\0" in data:
        raise ProblemsFound(Finding("is not an edit list: it is not text", "", Place(file)))
    written = lines_of(_text(data), file)
    if not written.events and not written.problems:
        what = "holds no edits" if data.strip() else "is empty"
        hint = "An edit list in the CMX 3600 format has numbered edits with four timecodes."
        raise ProblemsFound(Finding(what, hint, Place(file)))
    edits = edits_of(written, file, asked.rate)
    if not edits:
        raise ProblemsFound(Finding("holds no edits of picture", "", Place(file)))
    rate = _counted_at(asked.rate)
    reader = TimelineReader(file, rate, rows=True)
    part = reader.read(_timeline(edits, file, rate))
    return FilmReader(file, asked).read(part, tuple(_transitions(edits, file)))


def _counted_at(rate: FrameRate) -> FrameRate:
    """The rate that the adapter is told: it knows those of SMPTE timecode alone.

    The edits are given to it in frames, so at any other rate another number serves as well.
    """

    known = otio.opentime.RationalTime.is_smpte_timecode_rate(float(rate.per_second))
    return rate if known else FrameRate.parse("60")


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _transitions(edits: list[Edit], file: str) -> list[Finding]:
    out = []
    for edit in edits:
        line = edit.line
        if line.kind != "C":
            length = f" of {line.frames} frames" if line.frames is not None else ""
            what = f"a {_KINDS[line.kind[0]]}{length}: frames are counted to the edit point"
            out.append(Finding(what, "", Place(file, line.row), "event", line.number))
    return out


def _timeline(edits: list[Edit], file: str, exact: FrameRate) -> Any:
    """The timeline that the adapter makes of the edits, with their speeds, rows and reels.

    Each track begins with the gap that parts it from the earliest edit of all.
    """

    begin = min(edit.record_in for edit in edits)
    rate = float(exact.per_second)
    try:
        timeline = otio.adapters.read_from_string(_plain(edits, begin), "cmx_3600", rate=rate)
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, AttributeError) as error:
        what = f"OpenTimelineIO cannot read it at {exact.text} frames a second ({error})"
        raise ProblemsFound(Finding(what, "", Place(file))) from None
    by_track = groupby(edits, key=lambda edit: edit.line.track)
    for track, (_, own) in zip(timeline.tracks, by_track, strict=True):
        track.source_range = None
        clips = [item for item in track if isinstance(item, otio.schema.Clip)]
        first = None
        for clip, edit in zip(clips, own, strict=True):
            first = edit.record_in - begin if first is None else first
            _complete(otio, clip, edit, rate)
        if first:
            track.insert(0, otio.schema.Gap(duration=otio.opentime.RationalTime(first, rate)))
    return timeline


def _plain(edits: list[Edit], begin: int) -> str:
    """The edits as the adapter reads every one of them: frame numbers, cuts, record lengths."""
    lines = []
    for number, edit in enumerate(edits, 1):
        line = edit.line
        track = "V" if line.track == 1 else f"V{line.track}"
        reel = line.reel.replace(" ", "_")
        record = edit.record_in - begin, edit.record_out - begin
        source = edit.source_in, edit.source_in + record[1] - record[0]
        times = " ".join(str(frame) for frame in (*source, *record))
        lines.append(f"{number:06} {reel} {track} C {times}")
        if edit.name:
            lines.append(f"* FROM CLIP NAME: {_one_line(edit.name)}")
        if edit.file:
            lines.append(f"* FROM FILE: {_one_line(edit.file)}")
    return "\n".join(lines) + "\n"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _complete(otio: Any, clip: Any, edit: Edit, rate: float) -> None:
    clip.source_range = otio.opentime.TimeRange(  # the adapter's clock goes round after 24 hours
        otio.opentime.RationalTime(edit.source_in, rate), clip.source_range.duration
    )
    if not edit.name and not edit.file:
        clip.name = ""  # the adapter puts the number of the edit there
    if clip.media_reference is not None:
        clip.media_reference.available_range = None  # the adapter puts the source range there
    clip.metadata["cmx_3600"] = {"reel": edit.line.reel, "row": edit.line.row}
    if edit.speed == 0:
        clip.effects.append(otio.schema.FreezeFrame())
    elif edit.speed != 1:
        clip.effects.append(otio.schema.LinearTimeWarp(time_scalar=float(edit.speed)))
        clip.metadata["speed"] = str(edit.speed)
