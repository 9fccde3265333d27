"""Where the figures that are kept stand beside their log."""

from __future__ import annotations

from enum import Flag, auto
from functools import cache, cached_property
from hashlib import sha256
from pathlib import Path

import credits
from credits.store.beside.kept import FiguresFile
from credits.store.settings import read_settings

FORMAT = "2"
MOST_AT_ONCE = 40
"""Shots: where more are touched, what nobody has asked for yet waits for whoever asks."""
PLACES = ("lines", "changes", "moment")
"""Where the log stood, as the state of the figures has it."""
WIDEST = 2**63 - 1
"""The highest whole number that the engine keeps; a cell with a higher one is kept as text."""
ROOMS = ("units", "model", "store", "footage", "hands", "review", "checks", "figures")


class Depth(Flag):
    """How far figures are wanted; the entries as they stand always are."""

    ENTRIES = 0
    CLAIMS = auto()
    HANDS = auto()
    CASES = auto()
    WORDS = auto()  # the refs and notes of entries as they are searched
    FOOTAGE = CLAIMS  # the claims and footage of every take
    REACH = CLAIMS | HANDS  # and whose hands are in which frames that count
    CHECKS = CLAIMS | CASES  # and what the checks find
    FIGURES = CLAIMS | HANDS | CASES
    EVERYTHING = FIGURES | WORDS


KINDS = {
    "claims": Depth.CLAIMS,
    "hands": Depth.HANDS,
    "cases": Depth.CASES,
    "words": Depth.WORDS,
}
"""What waits to be computed again, by the word for it."""
EVERY = "*"
"""Stands for all cases, or all words, that wait."""


@cache
def program() -> str:
    """Return a digest of what computes: figures of an older program are not used."""
    digest = sha256(f"{FORMAT} {credits.__version__}".encode())
    home = Path(credits.__file__).parent
    files = [home.glob("*.py"), *((home / room).rglob("*.py") for room in ROOMS)]
    for file in (file for found in files for file in sorted(found)):
        known = file.stat()
        digest.update(f"{file.name} {known.st_size} {known.st_mtime_ns}".encode())
    return digest.hexdigest()


class Stand:
    """Where the figures of a production stand, inside one transaction."""

    def __init__(self, file: FiguresFile) -> None:
        self._file = file
        self._state = file.state()
        self._position = ",".join(map(str, file.position()))

    @cached_property
    def _settings(self) -> str:
        """Return what the settings say that is kept with the figures."""
        return str(read_settings(self._file.folder).day_minutes)

    @property
    def _has_stood(self) -> bool:
        """Tell whether the log is the one of the figures, and has but grown since."""
        state = self._state
        if state.get("program") != program():
            return False
        places = [int(state[name]) for name in PLACES]
        if any(last < place for last, place in zip(self._file.last_places(), places, strict=True)):
            return False
        return self._file.tail(*places) == state["tail"]

    @property
    def _is_there(self) -> bool:
        stands = self._state.get("position") == self._position
        return stands and self._state.get("settings") == self._settings and self._has_stood

    def stands(self, depth: Depth) -> bool:
        """Tell whether the figures stand where the log stands, as far as they are wanted."""
        waiting = self._file.touched_kinds()
        return self._is_there and not any(KINDS[kind] in depth for kind in waiting)
