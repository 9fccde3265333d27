"""The film shot by shot, as story.txt tells it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

SEQUENCES: tuple[tuple[str, str], ...] = (
    ("010", "Noon"),
    ("020", "The reply is late"),
    ("030", "The funicular"),
    ("040", "Inside the cliff"),
    ("050", "The ear trumpet"),
    ("060", "Noon again"),
)

OMITTED = ("020-045", "060-080")
"""Shots that left the film; the first of them had been begun."""
NOT_YET_SHOT = ("050-040", "060-100")
"""One is on the stage when the log ends, one is only planned."""


@dataclass(frozen=True, slots=True)
class Part:
    """A character's part of a shot: first and last frame, and whether it speaks."""

    character: str
    first: int
    last: int
    speaks: bool


@dataclass(frozen=True, slots=True)
class Shot:
    """A shot as planned: its length in frames, who is in it, what happens."""

    code: str
    frames: int
    cast: tuple[Part, ...]
    description: str

    @property
    def sequence(self) -> str:
        """The sequence that the shot's code begins with."""
        return self.code.split("-")[0]


def _part(text: str, frames: int) -> Part:
    name, _, window = text.strip().partition(" ")
    first, last = (int(n) for n in window.split("-")) if window else (1, frames)
    return Part(name.rstrip("!"), first, last, name.endswith("!"))


def _shot(line: str) -> Shot:
    code, frames, cast, description = line.split("|")
    length = int(frames)
    return Shot(code, length, tuple(_part(p, length) for p in cast.split(",")), description)


def _told() -> tuple[Shot, ...]:
    text = (Path(__file__).parent / "story.txt").read_text(encoding="utf-8")
    return tuple(_shot(line) for line in text.splitlines()[1:])


SHOTS: tuple[Shot, ...] = _told()
BY_CODE: dict[str, Shot] = {shot.code: shot for shot in SHOTS}


def status(code: str) -> str:
    """The status that shots.csv gives a shot."""
    if code in OMITTED:
        return "omitted"
    if code in NOT_YET_SHOT:
        return "shooting" if code == NOT_YET_SHOT[0] else "planned"
    return "done"
