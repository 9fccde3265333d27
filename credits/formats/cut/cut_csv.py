"""The cut as a table: ``shot, take, first, last, speed, shown``, one row a clip, in film order."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from math import ceil
from pathlib import Path
from typing import Any

from credits.errors import Finding, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutRead
from credits.formats.tables import cells as v
from credits.formats.tables.columns import Column, Table
from credits.formats.tables.csv import file_bytes, read_csv
from credits.formats.tables.lists import Rows, row_of
from credits.formats.tables.sheets import Sheets
from credits.model.facts import CutClip
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
CLIPS = Table(
    name="cut",
    one="clip",
    fact=CutClip,
    columns=(
        Column(name="shot", reads=v.name, required=True, key=True),
        Column(name="take", reads=v.whole(1)),
        Column(name="first", reads=_NUMBER, required=True, key=True),
        Column(name="last", reads=_NUMBER, required=True, key=True),
        Column(name="speed", reads=speed, empty=Fraction(1)),
        Column(name="shown", reads=v.whole(1, HIGHEST_FRAME)),
    ),
)


def read_cut_csv(path: Path, asked: CutAsked) -> CutRead:
    """Read the clips of a cut.csv; a shot that the log does not have stays in the cut and is told.

    A clip of n shot frames at speed v is shown for ceil(n / |v|) film frames; at speed 0 the column
    ``shown`` says how long. Raises ProblemsFound.
    """
    found = Sheets()
    found.add("cut", path.name, read_csv(file_bytes(path), path.name, CLIPS.column_names))
    if not found.sheets:
        return CutRead((), 0)
    rows = Rows(found.sheets[0], CLIPS)
    clips: list[CutClip] = []
    not_understood: list[Finding] = []
    film = 1
    for index, cells in enumerate(zip(*rows.columns({}).values(), strict=True)):
        if rows.bad_in(index) or not rows.usable:
            continue
        clip = _clip(rows, index, film, cells, asked)
        if clip is None:
            continue
        meant = asked.shots.named(clip.shot, clip.take)
        if not meant.known:
            hint = f"Is it {meant.like}?" if meant.like else "A title or a slug may stay as it is."
            what = "the log has no such shot"
            place = rows.sheet.place(index)
            not_understood.append(Finding(what, hint, place, "shot", clip.shot))
        clips.append(replace(clip, shot=meant.shot, take=meant.take))
        film += clip.shown
    problems = sorted([*found.problems, *rows.findings], key=row_of)
    if problems:
        raise ProblemsFound(*problems)
    return CutRead(tuple(clips), film - 1, tuple(not_understood))


def _clip(
    rows: Rows, index: int, film: int, cells: tuple[Any, ...], asked: CutAsked
) -> CutClip | None:
    """The clip of a row, its shot as it is written there; None when the row holds a problem."""
    shot, take, first_written, last_written, rate, shown = cells
    moved = 1 - asked.first_frame
    first, last = first_written + moved, last_written + moved
    if first < 1:
        what = f"lies before frame {asked.first_frame}, the first of every shot"
        rows.problem(index, "first", first_written, what, "Correct it, or --first-frame.")
        return None
    if last < first:
        hint = "Exchange the two; a clip that runs backwards has speed -1."
        rows.problem(index, "last", last_written, f"lies before first ({first_written})", hint)
        return None
    length = _shown(rows, index, last - first + 1, rate, shown)
    if length is None:
        return None
    return CutClip(
        order=index + 1,
        film_first=film,
        shown=length,
        shot=shot,
        take=take,
        source_first=first,
        source_last=last,
        speed=rate,
    )


def _shown(rows: Rows, index: int, n: int, rate: Fraction, shown: int | None) -> int | None:
    """How many film frames the clip is on screen; None when that is a problem."""
    if rate == 0:
        if n != 1:
            what = "speed 0 holds one frame, but first and last differ"
            rows.problem(index, "speed", rate, what, "Write the held frame as first and last.")
        elif shown is None:
            what = "is empty, and at speed 0 nothing else says how long the frame is held"
            rows.problem(index, "shown", None, what, "Write the number of film frames.")
        else:
            return shown
        return None
    exact = n / abs(rate)
    if shown is not None and shown != ceil(exact):
        what = f"{n} frames at speed {rate} are {ceil(exact)} on screen"
        rows.problem(index, "shown", shown, what, f"Write {ceil(exact)}, or leave it empty.")
        return None
    return ceil(exact)
