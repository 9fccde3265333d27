"""``credits cut``: the editors' cut, read from a file of any kind that is known by its suffix."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutReading, CutShots
from credits.formats.cut.cut_csv import read_cut_csv
from credits.formats.cut.edl import read_cut_edl
from credits.formats.cut.otio import read_cut_otio
from credits.model.log import WrittenLog

READERS: dict[str, Callable[[Path, CutAsked], CutReading]] = {
    ".otio": read_cut_otio,
    ".edl": read_cut_edl,
    ".csv": read_cut_csv,
}
"""Each raises ProblemsFound with everything that is wrong in the file."""


def read_cut(
    path: Path, written: WrittenLog, *, first_frame: int = 1, shot_pattern: str | None = None
) -> CutReading:
    """Read a cut. ``first_frame``: the number that frame 1 of a shot has in the file.

    ``shot_pattern``: a regular expression with a group ``shot`` (and perhaps ``take``) that finds
    the shot in what the file calls it. The cut's version is 0 until it is written.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"a cut is not read from {path.suffix or 'a file without a suffix'}"
        hint = f"These are read: {', '.join(READERS)}."
        return CutReading(None, (Finding(what, hint, Place(path.name)),))
    try:
        shots = CutShots(written, shot_pattern)
        reading = reader(path, CutAsked(shots, first_frame, written.production.rate))
    except ProblemsFound as error:
        return CutReading(None, error.findings)
    if reading.cut is None or reading.cut.clips:
        return reading
    what = "holds no clips of shots" if reading.cut.length else "holds no clips"
    found = Finding(f"{what}, so there is no cut to bring in", "", Place(path.name))
    return CutReading(None, (found,), reading.not_understood)
