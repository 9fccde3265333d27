"""``credits cut``: the editors' cut, read from a file of any kind that is known by its suffix."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_csv import read_cut_csv
from credits.exchange.cut_shots import CutShots
from credits.ledger.facts import Cut, CutClip
from credits.ledger.written import WrittenLog

ClipReader = Callable[[Path, CutShots, int], tuple[list[CutClip], list[Finding]]]
"""File, shots, the number of frame 1 in the file -> clips in film order, what names no known shot.

Raises ProblemsFound with everything that is wrong in the file.
"""

READERS: dict[str, ClipReader] = {".csv": read_cut_csv}


@dataclass(frozen=True, slots=True)
class CutReading:
    """The cut as read, or None and the problems. ``not_understood``: clips whose shot the log does
    not have; they stay in the cut under the name that the file gives them."""

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
        mend = f"These are read: {', '.join(READERS)}."
        return CutReading(None, (Finding(what, mend, Place(path.name)),))
    try:
        clips, not_understood = reader(path, CutShots(written, shot_pattern), first_frame)
    except ProblemsFound as error:
        return CutReading(None, error.findings)
    if not clips:
        what = "holds no clips, so there is no cut to bring in"
        return CutReading(None, (Finding(what, "", Place(path.name)),), tuple(not_understood))
    length = max(clip.film_first + clip.shown - 1 for clip in clips)
    cut = Cut(version=0, source=path.name, length=length, clips=tuple(clips))
    return CutReading(cut, (), tuple(not_understood))
