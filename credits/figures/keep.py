"""Figures that are kept beside the log, with everything that is computed of it."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cache, lru_cache, partial
from importlib import import_module
from itertools import chain, islice
from pathlib import Path
from typing import Any

from credits.figures.lookups import day_of, frames_of
from credits.figures.renewal import MOST_AT_ONCE, Depth, KnownClaims, Renewal, opened, renewed
from credits.footage.claims import Animated, Handled
from credits.footage.footage import WEEK, Cell, Footage
from credits.hands.reach import Reach
from credits.hands.ways import WayRow, Ways
from credits.memory import all_kept
from credits.model.lazy import Looked, Read
from credits.model.ledger import Ledger
from credits.store.figures_db import COMPUTED, FIGURES_NAME
from credits.store.kept import FiguresFile, Rows
from credits.store.reading import AT_ONCE, same_texts
from credits.units.film_time import iso_week
from credits.units.frames import NO_FRAMES, Frames

_one_code = same_texts()


@lru_cache(maxsize=65536)
def names_of(text: str) -> tuple[str, ...]:
    """Read codes as they are kept; each is held once."""
    # Where nothing is escaped, no quotation mark stands in a code.
    codes = json.loads(text) if "\\" in text or len(text) < 4 else text[2:-2].split('", "')
    return tuple([_one_code(code, code) for code in codes])


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
    return Footage(Read(partial(_kept_cells, file, ledger)), version, _Cells(file, ledger))


class _Cells:
    """Reads parts of the cells; their sums once."""

    def __init__(self, file: FiguresFile, ledger: Ledger) -> None:
        self._file = file
        self._ledger = ledger
        self._known: dict[frozenset[str], tuple[Cell, ...]] = {}

    def summed(self, names: frozenset[str]) -> tuple[Cell, ...]:
        if names not in self._known:
            self._known[names] = self._read(names)
        return self._known[names]

    def _read(self, names: frozenset[str]) -> tuple[Cell, ...]:
        weeks = None
        if WEEK in names and "day" not in names:
            days = self._file.days_of_cells()
            weeks = {text: iso_week(date.fromisoformat(text)) for text in days}
        return tuple(map(_cell, self._file.summed_cells(names - {WEEK}, weeks)))

    def of_person(self, person: str) -> tuple[Cell, ...]:
        return _in_order(self._file.rows_where("cells", person=person), self._ledger)

    def of_shot(self, shot: str) -> tuple[Cell, ...]:
        return _in_order(self._file.rows_where("cells", shot=shot), self._ledger)

    def claimed_days(self) -> list[tuple[str, date | None, str]]:
        found = self._file.claimed_days()
        return [(person, day_of(day), shot) for person, day, shot in found]


def _cell(row: Sequence[Any]) -> Cell:
    """Make a cell of a row as CELL, without its place in the take."""
    shot, take, person, character, day, stage, *figures = row
    if type(figures[0]) is str:
        figures = [*map(int, figures)]
    return Cell._make((person, shot, take, character, day_of(day), stage, *figures))


@all_kept()
def _kept_cells(file: FiguresFile, ledger: Ledger) -> tuple[Cell, ...]:
    return _in_order(file.rows("cells"), ledger)


def _in_order(rows: Iterable[Sequence[Any]], ledger: Ledger) -> tuple[Cell, ...]:
    """Make cells of rows as CELL, in the order of the shots."""
    by_shot: dict[str, list[Cell]] = {shot: [] for shot in ledger.shots}
    for shot, take, _, *others in rows:
        by_shot[shot].append(_cell((shot, take, *others)))
    return tuple(chain.from_iterable(by_shot.values()))


@all_kept()
def kept_reach(file: FiguresFile, ledger: Ledger) -> dict[str, Reach]:
    """Read the reach of everybody whose hands are in the film, by person, in code order."""
    every = cache(lambda: _frames_reached(file, ledger))
    # Many rows are of the same people: these are looked at once for each thing that is counted.
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    in_shot: dict[str, set[str]] = defaultdict(set)
    on_characters: dict[str, set[str]] = defaultdict(set)
    for shot, _, _, _, count, screen, names, people in file.rows("reached"):
        own = counts[people]
        own[0] += count
        own[1] += screen
        in_shot[shot].add(people)
        on_characters[names].add(people)
    frames: Counter[str] = Counter()
    on_screen: Counter[str] = Counter()
    shots: Counter[str] = Counter()
    characters: dict[str, set[str]] = defaultdict(set)
    for people, (count, screen) in counts.items():
        for person in names_of(people):
            frames[person] += count
            on_screen[person] += screen
    for some in in_shot.values():
        shots.update(_everybody(some))
    for names, some in on_characters.items():
        for person in _everybody(some):
            characters[person].update(names_of(names))
    return {
        person: Reach(
            person=person,
            frames=frames[person],
            screen_frames=on_screen[person],
            characters=frozenset(characters[person]),
            shots=shots[person],
            in_shots=Read(partial(_in_shots, every, person)),
        )
        for person in sorted(frames)
    }


def _everybody(texts: Iterable[str]) -> set[str]:
    """Return everybody whom some texts name."""
    return set[str]().union(*map(names_of, texts))


def kept_ways(file: FiguresFile, ledger: Ledger) -> Ways:
    """Read by which ways everybody's hands are in the film, in the order of the shots."""
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    one = same_texts()

    def same(texts: tuple[Any, ...]) -> Iterable[Any]:
        return map(one, texts, texts)

    rows: list[WayRow] = []
    # Takes come in their order, and hands in theirs within a take.
    every = file.each_row("ways", "shot, take, at")
    while some := tuple(islice(every, AT_ONCE)):
        shots, takes, _, vias, things, ranges, frames, people = zip(*some, strict=True)
        said = (same(shots), takes, same(vias), same(things), same(ranges), frames)
        rows += map(WayRow._make, zip(*said, map(names_of, people), strict=True))
    rows.sort(key=lambda row: place[row.shot])
    return Ways(rows)


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
