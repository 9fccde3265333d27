"""Where the figures that are kept stand beside their log, and what opens them brought up to it.

Whoever only asks finds them where the log stands, and does not wait for what computes figures.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from enum import Flag, auto
from functools import cache, cached_property
from hashlib import sha256
from importlib import import_module
from pathlib import Path

import credits
from credits.memory import all_kept
from credits.store.beside.figures_db import disk_refuses
from credits.store.beside.kept import FiguresFile, if_possible
from credits.store.settings import read_settings

FORMAT = "2"
MOST_AT_ONCE = 40
"""Shots: where more are touched, what nobody has asked for yet waits for whoever asks."""
MOST_TRIES = 5
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

    def renew(self, depth: Depth, most: int | None = None) -> None:
        """Compute what is touched, as far as it is wanted.

        most: where more shots than these are touched, they wait for whoever asks next.
        """
        raise NotImplementedError(depth, most)


Renews = Callable[[], type[Stand]]
"""Imports what brings figures to where their log stands."""


def _renews() -> type[Stand]:
    found: type[Stand] = import_module("credits.figures.renewing").Renewal
    return found


def opened(folder: Path, depth: Depth, renews: Renews = _renews) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted.

    Figures and log are read as they are at one moment, until the file is closed. renews: what
    has everything at hand that is wanted. Raises what ``open_log`` and reading raise.
    """
    file = FiguresFile(folder)
    try:
        for _ in range(MOST_TRIES):
            file.begin()
            if Stand(file).stands(depth):
                return file
            file.end(keep=False)
            _renew(file, depth, renews)
    except BaseException as error:
        file.close()
        if not disk_refuses(error):
            raise
    # Somebody writes all the while, or the disk takes nothing more: this one computes for itself,
    # of one moment.
    file.close()
    file = FiguresFile(folder, in_memory=True)
    file.begin(writing=True)
    renews()(file).renew(depth)
    return file


def _renew(file: FiguresFile, depth: Depth, renews: Renews, most: int | None = None) -> None:
    file.begin(writing=True)
    try:
        with all_kept():
            renews()(file).renew(depth, most)
    except BaseException:
        file.end(keep=False)
        raise
    file.end(keep=True)


def renewed(
    folder: Path,
    depth: Depth,
    most: int | None,
    renews: Renews = _renews,
    *,
    read: FiguresFile | None = None,
) -> None:
    """Renew the figures after something was written, so that the next answer is there.

    Where that cannot be done now, whoever asks next does it.
    most: as for ``Stand.renew``. renews: as for ``opened``. read: figures that were opened
    before: what they have read of the tables is not read again.
    """
    with if_possible(), closing(FiguresFile(folder)) as file:
        if read is not None:
            file.knows(read)
        if file.is_on_disk:
            _renew(file, depth, renews, most)
