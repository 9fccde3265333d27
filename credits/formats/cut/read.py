"""``credits cut``: the editors' cut, as a table of its own, or a file of a known suffix.

The table: ``shot, take, first, last, speed, shown``, one row a clip, in film order.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from math import ceil
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutReading, CutShots
from credits.formats.cut.edl import read_cut_edl
from credits.formats.cut.otio import read_cut_otio
from credits.formats.cut.timeline import Played
from credits.formats.tables import cells as v
from credits.formats.tables.columns import SheetColumn, SheetTable
from credits.formats.tables.csv_files import file_bytes, read_csv
from credits.formats.tables.lists import Rows, Wrong, row_of
from credits.formats.tables.sheets import Sheets
from credits.model.facts import CutClip
from credits.model.log import WrittenLog
from credits.units.frames import HIGHEST_FRAME

_SPEED = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9}|/[0-9]{1,9})?")
_PERCENT = re.compile(r"([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)\s*%")


def speed(cell: v.Cell) -> Fraction:
    """A speed, exactly: ``1``, ``-1``, ``2``, ``1/2``, ``0.5``; 0 holds one frame."""
    text = str(cell).replace("\N{MINUS SIGN}", "-")
    if _SPEED.fullmatch(text):
        try:
            return Fraction(text)
        except ZeroDivisionError:
            raise v.Unreadable("divides by 0", "Write 0 to hold one frame.") from None
    hint = "Write 1, -1, 2, 1/2 or 0.5; 0 holds one frame."
    if percent := _PERCENT.fullmatch(text):
        hint = f"Write {Fraction(percent[1]) / 100}."
    raise v.Unreadable("is not a speed", hint)


_NUMBER = v.whole(0, HIGHEST_FRAME)
CLIPS = SheetTable(
    name="cut",
    one="clip",
    fact=CutClip,
    columns=(
        SheetColumn(name="shot", reads=v.name, required=True, key=True),
        SheetColumn(name="take", reads=v.whole(1)),
        SheetColumn(name="first", reads=_NUMBER, required=True, key=True),
        SheetColumn(name="last", reads=_NUMBER, required=True, key=True),
        SheetColumn(name="speed", reads=speed, empty=Fraction(1)),
        SheetColumn(name="shown", reads=v.whole(1, HIGHEST_FRAME)),
    ),
)


def read_cut_csv(path: Path, shots: CutShots) -> CutReading:
    """Read the clips of a cut.csv; a shot that the log does not have stays in the cut and is told.

    A clip of n shot frames at speed v is shown for ceil(n / |v|) film frames; at speed 0 the column
    ``shown`` says how long. Raises ProblemsFound.
    """
    lowest = 1 if shots.first_frame is None else shots.first_frame
    found = Sheets()
    found.add("cut", path.name, read_csv(file_bytes(path), path.name, CLIPS.column_names))
    if not found.sheets:
        return CutReading.of(path.name, (), 0)
    rows = Rows(found.sheets[0], CLIPS)
    clips: list[CutClip] = []
    not_understood: list[Finding] = []
    film = 1
    for index, (shot, take, first, last, rate, shown) in enumerate(rows.by_row({})):
        if rows.bad_in(index) or not rows.usable:
            continue
        if wrong := _wrong(lowest, first, last, rate, shown):
            rows.problem(index, *wrong)
            continue
        meant = shots.named(shot, take)
        if not meant.known:
            what, place = "the log has no such shot", rows.sheet.place(index)
            not_understood.append(Finding(what, meant.hint, place, "shot", shot))
        moved = 1 - lowest
        length = shown if rate == 0 else ceil((last - first + 1) / abs(rate))
        clips.append(meant.clip(index + 1, film, Played(length, first + moved, last + moved, rate)))
        film += length
    problems = sorted([*found.problems, *rows.findings], key=row_of)
    if problems:
        raise ProblemsFound(*problems)
    return CutReading.of(path.name, clips, film - 1, not_understood)


def _wrong(
    first_frame: int, first: int, last: int, rate: Fraction, shown: int | None
) -> Wrong | None:
    """What cannot be in a row: the first thing found."""
    n = last - first + 1
    if first < first_frame:
        what = f"lies before frame {first_frame}, the first of every shot"
        return "first", first, what, "Correct it, or --first-frame."
    if last < first:
        hint = "Exchange the two; a clip that runs backwards has speed -1."
        return "last", last, f"lies before first ({first})", hint
    if rate == 0:
        if n != 1:
            what = "speed 0 holds one frame, but first and last differ"
            return "speed", rate, what, "Write the held frame as first and last."
        if shown is None:
            what = "is empty, and at speed 0 nothing else says how long the frame is held"
            return "shown", None, what, "Write the number of film frames."
    elif shown not in (None, on_screen := ceil(n / abs(rate))):
        what = f"{n} frames at speed {rate} are {on_screen} on screen"
        return "shown", shown, what, f"Write {on_screen}, or leave it empty."
    return None


READERS: dict[str, Callable[[Path, CutShots], CutReading]] = {
    ".otio": read_cut_otio,
    ".edl": read_cut_edl,
    ".csv": read_cut_csv,
}
"""Each raises ProblemsFound with everything that is wrong in the file."""


def read_cut(
    path: Path,
    written: WrittenLog,
    *,
    first_frame: int | None = None,
    shot_pattern: str | None = None,
) -> CutReading:
    """Read a cut; how its shots are found, see CutShots. Raises ProblemsFound."""
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"a cut is not read from {path.suffix or 'a file without a suffix'}"
        hint = f"These are read: {', '.join(READERS)}."
        raise ProblemsFound(Finding(what, hint, Place(path.name)))
    reading = reader(path, CutShots(written, shot_pattern, first_frame))
    if not reading.cut.clips:
        what = "holds no clips of shots" if reading.cut.length else "holds no clips"
        found = Finding(f"{what}, so there is no cut to import", "", Place(path.name))
        raise ProblemsFound(found, *reading.not_understood)
    return reading
