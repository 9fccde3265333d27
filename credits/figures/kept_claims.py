"""The claims of every take, and what else is kept of them: frames, poses, animators, puppets."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any

from credits.figures.lookups import day_of, frames_of
from credits.footage.claims import Animated, Handled, TakeRuns, claim_runs
from credits.footage.cut import KeptFrames
from credits.model.lazy import Looked
from credits.model.ledger import Ledger
from credits.review.days import Poses
from credits.store.beside.kept import FiguresFile
from credits.units.frames import NO_FRAMES

MOST_HELD = 64
"""Shots and takes whose claims are held: whoever asks again asks soon."""


def kept_runs(file: FiguresFile, ledger: Ledger) -> Looked[tuple[str, int], TakeRuns]:
    """Return the claims of every take, each computed when it is asked for."""
    places = {shot: place for place, shot in enumerate(ledger.shots)}

    def takes() -> list[tuple[str, int]]:
        return sorted(file.claimed_takes(), key=lambda take: (places[take[0]], take[1]))

    @lru_cache(maxsize=MOST_HELD)
    def of_shot(shot: str) -> dict[tuple[str, int], TakeRuns]:
        return claim_runs(ledger, [shot])

    return Looked(takes, lambda take: of_shot(take[0]).get(take), MOST_HELD)


def frames_claimed(file: FiguresFile, takes: Collection[tuple[str, int]]) -> Iterator[KeptFrames]:
    """Read the frames of every character in some takes."""
    wanted = frozenset(takes)
    for shot, take, _, character, text in file.rows("claimed"):
        if character is not None and (shot, take) in wanted:
            yield shot, take, character, frames_of(text) or NO_FRAMES


def kept_poses(file: FiguresFile) -> tuple[Poses, ...]:
    """Read the poses of everybody's kept frames."""
    return poses_of_rows(file.rows("poses"))


def poses_of_rows(rows: Iterable[Sequence[Any]]) -> tuple[Poses, ...]:
    """Read poses as they are kept."""
    return tuple(
        [
            Poses(person, day_of(day), shot, take, (int(numerator), int(denominator)))
            for shot, take, person, day, numerator, denominator in rows
        ]
    )


def kept_animated(file: FiguresFile) -> list[Animated]:
    """Read who animated which kept frames of every take."""
    rows = file.rows("animated")
    return [Animated._make((*own, frames_of(ranges) or NO_FRAMES)) for *own, ranges in rows]


def kept_handled(file: FiguresFile) -> list[Handled]:
    """Read which puppets are seen in the kept frames of every take."""
    return list(map(_handled, file.rows("handled")))


def handled_by_puppet(file: FiguresFile) -> Looked[str, Sequence[Handled]]:
    """Return in which kept frames each puppet is seen, read when it is asked for."""

    def read(puppet: str) -> list[Handled] | None:
        return list(map(_handled, file.rows_where("handled", puppet=puppet))) or None

    return Looked(lambda: sorted({row[0] for row in file.rows("handled")}), read)


def _handled(row: Sequence[Any]) -> Handled:
    *own, day, ranges = row
    return Handled._make((*own, day_of(day), frames_of(ranges) or NO_FRAMES))
