"""The tables as files: their columns, an entry of the log, writing CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

Row = dict[str, str]

COLUMNS: dict[str, tuple[str, ...]] = {
    "people": (
        *("person", "credit_name", "sort_name", "legal_name", "email", "isni"),
        *("credit_wish", "name_confirmed_on", "same_as", "note"),
    ),
    "engagements": (
        *("person", "department", "job_title", "starts_on", "ends_on"),
        *("guaranteed_heading", "billing_number"),
    ),
    "crafts": ("craft", "name", "department", "kind", "footage", "heading"),
    "characters": ("character", "name", "silent", "note"),
    "puppets": ("puppet", "character", "copy", "scale", "ready_on", "retired_on", "note"),
    "parts": ("part", "kind", "character", "note"),
    "fittings": ("part", "puppet", "from_on", "to_on"),
    "replacements": ("shot", "take", "character", "part", "frames"),
    "sequences": ("sequence", "name"),
    "shots": ("shot", "sequence", "frames", "status", "description"),
    "stages": ("stage", "unit"),
    "takes": ("shot", "take", "purpose", "decision", "decided_on"),
    "cut": ("shot", "take", "first", "last", "speed"),
}

STAGE_COLUMNS = (
    *("ref", "finished_on", "stage", "shot", "take", "craft", "person", "character", "puppet"),
    *("frames", "poses_on", "share", "minutes", "wait_minutes", "note", "private", "logged_by"),
)
WORKSHOP_COLUMNS = (
    *("ref", "started_on", "finished_on", "person", "craft", "character", "puppet", "part"),
    *("minutes", "note", "private", "logged_by"),
)
READING_COLUMNS = ("finished_on", "person", "craft", "character", "shot", "frames", "minutes")
VOICE_COLUMNS = ("craft", "person", "character", "sequence", "shot", "finished_on", "minutes")


@dataclass(slots=True)
class Entry:
    """One line of the log before it is written; frames as inclusive text, minutes as numbers."""

    craft: str
    person: str
    character: str = ""
    puppet: str = ""
    part: str = ""
    sequence: str = ""
    shot: str = ""
    take: int = 0
    first: int = 0
    last: int = 0
    poses_on: int = 0
    share: str = ""
    started_on: date | None = None
    finished_on: date | None = None
    minutes: int = 0
    wait_minutes: int = 0
    stage: str = ""
    note: str = ""
    private: str = ""
    logged_by: str = ""
    ref: str = ""

    @property
    def frames(self) -> str:
        """The frames as written in a table, empty when the entry is for the whole shot."""
        return frames_text(range(self.first, self.last + 1)) if self.first else ""

    def row(self) -> Row:
        """The entry as cells of the entries table."""
        names = (*STAGE_COLUMNS, *WORKSHOP_COLUMNS, "sequence")
        return {name: _cell(getattr(self, name)) for name in names}


def _cell(value: object) -> str:
    return "" if value in (None, 0) else str(value)


def frames_text(frames: Iterable[int]) -> str:
    """Frame numbers as ranges, `1-20,25`: first and last are both in it."""
    runs: list[list[int]] = []
    for frame in sorted(set(frames)):
        if runs and frame == runs[-1][1] + 1:
            runs[-1][1] = frame
        else:
            runs.append([frame, frame])
    return ",".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def write_table(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> int:
    """Write a CSV with a header row; give the number of rows. Line ends are \\n everywhere."""
    path.parent.mkdir(parents=True, exist_ok=True)
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        for row in rows:
            writer.writerow({column: row.get(column, "") for column in columns})
            count += 1
    return count
