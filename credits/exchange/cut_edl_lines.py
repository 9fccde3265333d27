"""The lines of a CMX 3600 edit list: edits, what is remarked on them, and where each stands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from credits.errors import Finding, Place

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
class Line:
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

    lines: list[Line] = field(default_factory=list)
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


def _edit(line: str, row: int, drop: bool, record_drop: bool) -> Line | None:
    match = _EDIT.fullmatch(line)
    if match is None:
        return None
    picture = _PICTURE.fullmatch(match["channel"].upper())
    track = None if picture is None else int(picture["track"] or 1)
    return Line(
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
