"""Edit decision lists in the CMX 3600 format."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby, pairwise
from pathlib import Path
from typing import NamedTuple

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutReading, CutShots, FilmReader, media_name, names_in
from credits.formats.cut.timeline import Nest, Part, Seen, nested
from credits.formats.tables.csv_files import file_bytes
from credits.formats.tables.lists import row_of
from credits.units.film_time import FrameRate, frame_of_timecode
from credits.units.rounding import decimal_text, half_up

_EDIT = re.compile(
    r"(?P<number>\d+)\s+(?P<reel>\S.*?)\s+(?P<channel>\S+)\s+"
    r"(?P<kind>C|D|W\d{1,3}|K(?:\s+[BO]|[BO])?)(?:\s+(?P<frames>\d{1,6}))?(?:\s+\([F]\))?"
    r"\s+(?P<timecodes>[\d:;.,]+(?:\s+[\d:;.,]+){3})"
)
_FCM = re.compile(r"FCM\s*:?\s*(?P<mode>(?:NON[-\s]?)?DROP)", re.IGNORECASE)
_M2 = re.compile(r"M2\s+(?P<reel>\S.*?)\s+(?P<speed>[+-]?\d{1,5}(?:\.\d{0,6})?)(?:\s+\d[\d:;.]*)?")
_NAME = re.compile(r"\*?\s*(?P<which>FROM|TO) CLIP NAME\s*:?\s*(?P<name>.*)")
_FILE = re.compile(r"\*?\s*(?:FROM (?:CLIP|FILE)|SOURCE FILE)\s*:\s*(?P<name>.*)")
_FREEZE = re.compile(r"\*?\s*\*?\s*FREEZE FRAME")
_PICTURE = re.compile(r"V(?P<track>\d{0,4})|B|A+\d*/V|VA\d*|AV")
_SOUND = re.compile(r"A+\d*|(?:A\d{1,4}){2,}|NONE")
_MANY_SPACES = " " * 20
LONGEST_EDIT = 2_000
_KINDS = {"D": "dissolve", "W": "wipe"}
_BLACK = ("BL", "BLACK")
_NO_MEDIA = (*_BLACK, "BARS")
_SIMPLE = range(2, 20)
"""What simple multiples of a speed are counted in."""
_PER_CENT = 100
"""Whole per cents: with one decimal too many speeds are near one that are none."""


def read_cut_edl(path: Path, shots: CutShots) -> CutReading:
    """Read the clips of the edit list. Raises ProblemsFound."""
    file = path.name
    data = file_bytes(path)
    if b"\0" in data:
        raise ProblemsFound(Finding("is not an edit list: it is not text", "", Place(file)))
    events, problems, drop_at = edit_list(_text(data), file)
    if not events and not problems:
        what = "holds no edits" if data.strip() else "is empty"
        hint = "An edit list in the CMX 3600 format has numbered edits with four timecodes."
        raise ProblemsFound(Finding(what, hint, Place(file)))
    if drop_at is not None and not shots.rate.drops:
        text = shots.rate.text
        what = f"drop-frame timecode exists only at 30000/1001 and 60000/1001, not at {text}"
        hint = "Is this the cut of this production? Else ask for non-drop timecode."
        raise ProblemsFound(Finding(what, hint, drop_at, "FCM", "DROP FRAME"))
    edits, unseen = _edits(events, problems, shots.rate)
    strange = [other.line.problem(*_CHANNEL) for other in unseen if other.line.is_unknown]
    if not edits:
        raise ProblemsFound(Finding("holds no edits of picture", "", Place(file)), *strange)
    lines = [*(edit.line for edit in edits), *(other.line for other in unseen)]
    notes = sorted([*strange, *_transitions(lines)], key=row_of)
    return FilmReader(file, shots).read(_film(edits, unseen), notes)


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


# --- Lines


@dataclass(frozen=True, slots=True, kw_only=True)
class EdlLine:
    """One edit as it is written. ``drop``, ``record_drop``: whether FCM lines say drop-frame."""

    place: Place
    drop: bool
    record_drop: bool
    number: str
    reel: str
    channel: str
    kind: str
    frames: str | None
    timecodes: str

    @property
    def track(self) -> int | None:
        """The video track, from 1; None when it is no picture that is known."""
        picture = _PICTURE.fullmatch(self.channel.upper())
        return None if picture is None else int(picture["track"] or 1)

    @property
    def is_unknown(self) -> bool:
        """Whether its channel is neither known picture nor known sound."""
        return self.track is None and _SOUND.fullmatch(self.channel.upper()) is None

    def problem(self, what: str, hint: str = "") -> Finding:
        """Return the finding that says what is wrong with the edit."""
        return Finding(what, hint, self.place, "event", self.number)


@dataclass(slots=True)
class EdlEvent:
    """Lines of one number, and the remarks that follow them."""

    lines: list[EdlLine] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    speeds: list[tuple[str, str]] = field(default_factory=list)
    frozen: bool = False

    def remark(self, text: str) -> None:
        """Take in a line that is no edit; most say nothing about which frames are seen."""
        if match := _M2.fullmatch(text):
            self.speeds.append((match["reel"], match["speed"]))
        elif match := _NAME.fullmatch(text):
            self.names.setdefault(match["which"], match["name"].strip())
        elif match := _FILE.fullmatch(text):
            self.files.append(match["name"].strip())
        elif _FREEZE.match(text):
            self.frozen = True


def edit_list(text: str, file: str) -> tuple[list[EdlEvent], list[Finding], Place | None]:
    """Read an edit list: its events, what is wrong, and the line that says drop-frame."""
    events: list[EdlEvent] = []
    problems: list[Finding] = []
    drop_at: Place | None = None
    drop = False
    record_drop: bool | None = None
    event = EdlEvent()
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row, raw in enumerate(lines, 1):
        spaced = "\t" in raw or _MANY_SPACES in raw  # each space would be tried as every other
        line, place = " ".join(raw.split()) if spaced else raw.strip(), Place(file, row)
        if match := _FCM.match(line):
            drop = not match["mode"].upper().startswith("NON")
            record_drop = drop if record_drop is None else record_drop
            drop_at = drop_at or (place if drop else None)
        elif not re.match(r"\d+\s", line):
            if event.lines:
                event.remark(line)
        elif len(line) <= LONGEST_EDIT and (match := _EDIT.fullmatch(line)):
            if not event.lines or event.lines[-1].number != match["number"]:
                event = EdlEvent()
                events.append(event)
            said = match.groupdict()
            event.lines.append(
                EdlLine(place=place, drop=drop, record_drop=bool(record_drop), **said)
            )
        else:
            hint = "An edit has a number, reel, channel, kind and four timecodes."
            problems.append(Finding("is not an edit", hint, place, value=line))
    return events, problems, drop_at


# --- Edits


class Edit(NamedTuple):
    """One clip of picture, and the record frame, counted from 0, that it begins at."""

    line: EdlLine
    begin: int
    seen: Seen

    @property
    def end(self) -> int:
        """The record frame after it."""
        return self.begin + self.seen.length


class Unseen(NamedTuple):
    """An edit of which nothing is seen, and the record frames, half open, that it takes.

    Its channel is not known, or it is a fade to black that the list gives no time of its own.
    """

    line: EdlLine
    begin: int
    end: int


_CHANNEL = (
    "its channel is neither picture nor sound that is known; its film time counts, nothing is seen",
    "Picture is V, V2, B, AA/V or VA1, sound A, A2, AA or A1A2: correct the channel.",
)


def _edits(
    events: list[EdlEvent], problems: list[Finding], rate: FrameRate
) -> tuple[list[Edit], list[Unseen]]:
    """The edits of picture by track, in film order, and those of which nothing is seen.

    Raises ProblemsFound with all that is wrong.
    """
    edits: list[Edit] = []
    unseen: list[Unseen] = []
    for event in events:
        for at, line in enumerate(event.lines):
            try:
                if line.is_unknown or _is_fade_out(line):
                    unseen += filter(None, [_unseen(line, rate)])
                if line.track is not None:
                    edits += filter(None, [_edit(event, at, rate)])
            except ProblemsFound as error:
                problems.extend(error.findings)
    edits.sort(key=lambda edit: (edit.line.track or 0, edit.begin, edit.end))
    problems.extend(_overlaps(edits))
    if problems:
        raise ProblemsFound(*sorted(problems, key=row_of))
    return edits, unseen


def _is_fade_out(line: EdlLine) -> bool:
    return line.reel in _BLACK and line.track is not None and line.kind[0] in _KINDS


def _unseen(line: EdlLine, rate: FrameRate) -> Unseen | None:
    """The film time of a line of which nothing is seen; None where it takes none."""
    source_in, source_out, record_in, record_out = _frame_numbers(line, rate)
    if _is_fade_out(line):
        frames = int(line.frames or 0) if record_in == record_out else 0
        return Unseen(line, record_in, record_in + frames) if frames else None
    if record_in == record_out and source_in == source_out:
        return None
    if wrong := _wrong_lengths(line, source_out - source_in, record_out - record_in, Fraction(1)):
        raise ProblemsFound(line.problem(*wrong))
    return Unseen(line, record_in, record_out)


def _edit(event: EdlEvent, at: int, rate: FrameRate) -> Edit | None:
    """The edit of a line; None where it only says what a transition comes from."""
    line = event.lines[at]
    if line.kind.startswith("K"):
        what = "keys are not read: two pictures are seen at once"
        hint = "Ask for the list with the key as two video tracks."
        raise ProblemsFound(line.problem(what, hint))
    source_in, source_out, record_in, record_out = _frame_numbers(line, rate)
    if line.reel in _BLACK:  # it has as many frames as are asked for
        source_out = source_in + max(record_out - record_in, 0)
    if record_in == record_out and source_in == source_out:
        return None  # nothing of it is seen after the edit point
    speed = Fraction(0) if event.frozen else _speed(event, at, rate)
    if wrong := _wrong_lengths(line, source_out - source_in, record_out - record_in, speed):
        raise ProblemsFound(line.problem(*wrong))
    name = _name(event, at)
    name = " ".join((name.removesuffix(" FF") if event.frozen else name).split())
    files = names_in([media_name(file) for file in _files(event, at)])
    name = name or next(iter(files), "")
    seen = Seen(
        length=record_out - record_in,
        first=source_in,
        speed=Fraction(1) if speed is None else speed,
        name=name,
        names=names_in((name, line.reel)),
        files=files,
        row=line.place.row,
        black=line.reel in _BLACK,
    )
    return Edit(line, record_in, seen)


def _frame_numbers(line: EdlLine, rate: FrameRate) -> list[int]:
    """The timecodes as frames. Raises ProblemsFound with those that are none."""
    frames: list[int] = []
    problems: list[Finding] = []
    drops = (line.drop, line.drop, line.record_drop, line.record_drop)
    ends = ("source in", "source out", "record in", "record out")
    for end, label, drop in zip(ends, line.timecodes.split(), drops, strict=True):
        try:
            plain = label.isdigit() and len(label) < 10  # frame numbers are in use, too
            frames.append(int(label) if plain else frame_of_timecode(label, rate, drop or None))
        except ProblemsFound as error:
            problems += [
                Finding(f"event {line.number}: {f.what}", f.hint, line.place, end, label)
                for f in error.findings
            ]
    if problems:
        raise ProblemsFound(*problems)
    return frames


def _wrong_lengths(
    line: EdlLine, source: int, record: int, speed: Fraction | None
) -> tuple[str, str] | None:
    """What is wrong with the lengths of an edit, and what would be right; ``speed`` if any said."""
    for which, length, at in (("record", record, 2), ("source", source, 0)):
        if length < 0:
            first, last = line.timecodes.split()[at : at + 2]
            return f"its {which} ends ({last}) before it begins ({first})", "Correct the timecodes."
    if source != record and speed is None:
        what = f"its source is {source} frames and its record {record}, and no M2 line says a speed"
        return what, "Correct the timecodes, or add the M2 line."
    if record == 0:
        what = f"its source is {source} frames, but it is on screen for none"
        return what, "Correct the timecodes."
    return None


def _name(event: EdlEvent, at: int) -> str:
    """The clip name of a line: what a transition goes to or comes from, or the only one given."""
    lines = event.lines
    if lines[at].kind != "C":
        alone = at == 0 and "TO" not in event.names
        return event.names.get("FROM" if alone else "TO", "")
    return event.names.get("FROM", event.names.get("TO", "") if len(lines) == 1 else "")


def _files(event: EdlEvent, at: int) -> list[str]:
    """The media files of a line: all of a line alone, else each its own if each has one."""
    own = [
        i
        for i, line in enumerate(event.lines)
        if line.track is not None and line.reel not in _NO_MEDIA
    ]
    if at not in own or len(own) not in (1, len(event.files)):
        return []
    return event.files if len(own) == 1 else [event.files[own.index(at)]]


def _speed(event: EdlEvent, at: int, rate: FrameRate) -> Fraction | None:
    """The speed that an M2 line gives to this edit of the event; None when there is none.

    With as many M2 lines of its reel as there are edits of it, each has its own; else the last
    edit of the reel has the last of them.
    """
    reel = event.lines[at].reel
    own = [i for i, line in enumerate(event.lines) if line.track is not None and line.reel == reel]
    given = [speed for name, speed in event.speeds if name == reel]
    if not given and len(event.lines) == 1:
        given = [speed for _, speed in event.speeds]
    if not given:
        return None
    if len(given) == len(own):
        return of_normal(given[own.index(at)], rate)
    return of_normal(given[-1], rate) if at == own[-1] else None


def of_normal(per_second: str, rate: FrameRate) -> Fraction:
    """Return a speed in frames a second, as M2 lines have it, as a multiple of normal speed.

    Normal is the whole number of frames that timecode counts in a second (24 at 24000/1001), or
    the rate itself: lists are written by either. The simplest multiple of one of them is meant that
    is what is written, as far as its decimals go: 59.94 and 60 are 2 at 30000/1001. A whole number,
    and a speed that is no simple multiple, is what is written, of the frames timecode counts.
    """
    written = Fraction(per_second)
    places = len(per_second.partition(".")[2])
    exact = abs(written)
    text = decimal_text(exact, places)
    counted = (1, *_SIMPLE, _PER_CENT) if places > 1 else (1, *_SIMPLE)
    for below in (1,) if exact.denominator == 1 else counted:
        for normal in (Fraction(rate.nominal), rate.per_second):
            multiple = Fraction(half_up(exact * below / normal), below)
            if decimal_text(multiple * normal, places) == text and bool(multiple) == bool(exact):
                return multiple if written > 0 else -multiple
    return written / rate.nominal


def _overlaps(edits: list[Edit]) -> Iterator[Finding]:
    for before, edit in pairwise(edits):
        if before.line.track == edit.line.track and edit.begin < before.end:
            what = (
                f"begins at {edit.line.timecodes.split()[2]}, before event {before.line.number} "
                f"(row {before.line.place.row}) ends at {before.line.timecodes.split()[3]}"
            )
            hint = "Correct the record timecodes, or put one of them on another track."
            yield edit.line.problem(what, hint)


def _transitions(lines: Iterable[EdlLine]) -> Iterator[Finding]:
    for line in (line for line in lines if line.kind[0] in _KINDS and not line.is_unknown):
        length = f" of {int(line.frames)} frames" if line.frames is not None else ""
        kind = _KINDS[line.kind[0]]
        yield line.problem(f"a {kind}{length}: frames are counted to the edit point")


def _film(edits: list[Edit], unseen: list[Unseen]) -> Nest:
    """The edits as layers, one a track, all from the earliest edit on.

    What is unseen lasts as long as the list says.
    """
    begin = min([*(edit.begin for edit in edits), *(other.begin for other in unseen)])
    tracks: list[Part] = [Nest(length=other.end - begin) for other in unseen]
    for _, own in groupby(edits, key=lambda edit: edit.line.track):
        row: list[Part] = []
        at = begin
        for edit in own:
            row += [Nest(length=edit.begin - at), edit.seen]
            at = edit.end
        tracks.append(nested(row))
    return nested(tracks, layered=True)
