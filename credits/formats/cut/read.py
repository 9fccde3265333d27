"""``credits cut``: the editors' cut, read from a file of any kind that is known by its suffix."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutRead, CutShots
from credits.formats.cut.cut_csv import read_cut_csv
from credits.formats.cut.edl import read_cut_edl
from credits.formats.cut.otio import read_cut_otio
from credits.model.facts import Cut
from credits.model.log import WrittenLog

ClipReader = Callable[[Path, CutAsked], CutRead]
"""Raises ProblemsFound with everything that is wrong in the file."""

READERS: dict[str, ClipReader] = {
    ".otio": read_cut_otio,
    ".edl": read_cut_edl,
    ".csv": read_cut_csv,
}


@dataclass(frozen=True, slots=True)
class CutReading:
    """The cut as read, or None and the problems.

    ``not_understood``: clips that name no shot of the log, and whatever else a person should look
    at. A clip whose file says that it is a shot (the column or key ``shot``, the pattern) stays in
    the cut under that name; any other is a gap in it.
    """

    cut: Cut | None
    problems: tuple[Finding, ...] = ()
    not_understood: tuple[Finding, ...] = ()


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
        read = reader(path, CutAsked(shots, first_frame, written.production.rate))
    except ProblemsFound as error:
        return CutReading(None, error.findings)
    if not read.clips:
        what = "holds no clips of shots, so there is no cut to bring in"
        if not read.length:
            what = "holds no clips, so there is no cut to bring in"
        return CutReading(None, (Finding(what, "", Place(path.name)),), read.not_understood)
    cut = Cut(version=0, source=path.name, length=read.length, clips=read.clips)
    return CutReading(cut, (), read.not_understood)
