"""Figures that are kept beside the log, with everything that is computed of it."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable
from functools import cache, lru_cache, partial
from importlib import import_module
from itertools import chain
from pathlib import Path

from credits.figures.lookups import day_of, frames_of
from credits.figures.renewal import MOST_AT_ONCE, Depth, KnownClaims, Renewal, opened, renewed
from credits.footage.footage import Cell, Footage
from credits.hands.reach import Reach
from credits.memory import all_kept
from credits.model.lazy import Read
from credits.model.ledger import Ledger
from credits.store.figures_db import COMPUTED, FIGURES_NAME
from credits.store.kept import FiguresFile, Rows
from credits.units.frames import NO_FRAMES, Frames

names_of = lru_cache(maxsize=65536)(json.loads)


class WholeRenewal(Renewal):
    """Renews all that is kept, what the checks find included."""

    def _rows_of_cases(self, codes: list[str], known: KnownClaims | None) -> Rows:
        # Only who asks what the checks find waits for them.
        cases = import_module("credits.figures.cases")
        found: Rows = cases.CasesOf(self._file, codes, known).rows()
        return found


def open_figures(folder: Path, depth: Depth = Depth.ENTRIES) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted; as ``opened``."""
    return opened(folder, depth, WholeRenewal)


def renew_figures(folder: Path, most: int | None = MOST_AT_ONCE) -> None:
    """Renew the figures after something was written, as ``renewed`` does."""
    renewed(folder, Depth.EVERYTHING, most, WholeRenewal)


def kept_wrongly(folder: Path) -> list[str]:
    """Return which figures that are kept are not those that the log makes: the tables' names.

    All are computed once more, beside those that are kept. Empty where none are kept.
    """
    if not (folder / FIGURES_NAME).is_file():
        return []
    kept = open_figures(folder, Depth.EVERYTHING)
    anew = FiguresFile(folder, in_memory=True)
    try:
        anew.begin(writing=True)
        with all_kept():
            WholeRenewal(anew).renew(Depth.EVERYTHING)
        return [name for name in COMPUTED if kept.content(name) != anew.content(name)]
    finally:
        kept.close()
        anew.close()


@all_kept()
def kept_footage(file: FiguresFile, ledger: Ledger) -> Footage:
    """Return the footage of the production; its cells are read when they are looked at."""
    version = ledger.cut.version if ledger.cut is not None else None
    return Footage(Read(partial(_kept_cells, file, ledger)), version)


def _kept_cells(file: FiguresFile, ledger: Ledger) -> tuple[Cell, ...]:
    by_shot: dict[str, list[Cell]] = {shot: [] for shot in ledger.shots}
    for shot, take, _, person, character, day, stage, *figures in file.rows("cells"):
        if type(figures[0]) is str:
            figures = [*map(int, figures)]
        cell = Cell._make((person, shot, take, character, day_of(day), stage, *figures))
        by_shot[shot].append(cell)
    return tuple(chain.from_iterable(by_shot.values()))


def kept_reach(file: FiguresFile, ledger: Ledger) -> dict[str, Reach]:
    """Read the reach of everybody whose hands are in the film, by person, in code order."""
    every = cache(lambda: _frames_reached(file, ledger))
    frames: Counter[str] = Counter()
    on_screen: Counter[str] = Counter()
    shots: dict[str, set[str]] = defaultdict(set)
    characters: dict[str, set[str]] = defaultdict(set)
    for shot, _, _, _, count, screen, names, people in file.rows("reached"):
        for person in names_of(people):
            frames[person] += count
            on_screen[person] += screen
            shots[person].add(shot)
            characters[person].update(names_of(names))
    return {
        person: Reach(
            person=person,
            frames=frames[person],
            screen_frames=on_screen[person],
            characters=frozenset(characters[person]),
            shots=len(own),
            in_shots=Read(partial(_in_shots, every, person)),
        )
        for person, own in sorted(shots.items())
    }


_InShots = dict[str, list[tuple[str, int, Frames]]]


def _in_shots(every: Callable[[], _InShots], person: str) -> tuple[tuple[str, int, Frames], ...]:
    return tuple(every()[person])


def _frames_reached(file: FiguresFile, ledger: Ledger) -> _InShots:
    """Read in which frames everybody's hands are, by person, in the order of the shots."""
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    found: _InShots = defaultdict(list)
    rows = sorted(file.rows("reached"), key=lambda row: (place[row[0]], row[1]))
    for shot, take, _, ranges, _, _, _, people in rows:
        own = (shot, take, frames_of(ranges) or NO_FRAMES)
        for person in names_of(people):
            found[person].append(own)
    return found
