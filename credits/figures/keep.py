"""Figures that are kept beside the log, opened; and the footage that is read of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache, partial
from importlib import import_module
from itertools import chain
from pathlib import Path
from typing import Any

from credits.figures.lookups import day_of
from credits.figures.opened import Renews, opened, renewed
from credits.figures.renewal import MOST_AT_ONCE, Depth
from credits.footage.footage import WEEK, Cell, Footage
from credits.memory import all_kept
from credits.model.lazy import Read
from credits.model.ledger import Ledger
from credits.store.beside.kept import FiguresFile
from credits.units.film_time import iso_week


def _renews_all() -> type[Renews]:
    # Only who asks what the log does not hold yet waits for what computes it.
    found: type[Renews] = import_module("credits.figures.whole").WholeRenewal
    return found


def open_figures(folder: Path, depth: Depth = Depth.ENTRIES) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted; as ``opened``."""
    return opened(folder, depth, _renews_all)


def renew_figures(folder: Path, most: int | None = MOST_AT_ONCE) -> None:
    """Renew the figures after something was written, as ``renewed`` does."""
    renewed(folder, Depth.EVERYTHING, most, _renews_all)


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
        if not names & {"character", "day", "stage"}:
            by = {"day" if name == WEEK else name for name in names}
            rows = self._file.summed_work(by)
            if rows is not None:
                return tuple([_cell((*row[:4], monday_of(row[4]), *row[5:])) for row in rows])
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

    def shot_days(self) -> set[date]:
        return {*map(date.fromisoformat, self._file.shot_days())}


@lru_cache(maxsize=4096)
def monday_of(week: str | None) -> str | None:
    """Return the first day of an ISO week as a text; empty: there is none."""
    if not week:
        return None
    year, _, number = week.partition("-W")
    return date.fromisocalendar(int(year), int(number), 1).isoformat()


def _cell(row: Sequence[Any]) -> Cell:
    """Make a cell of a row as CELL, without its place in the take."""
    shot, take, person, character, day, stage, *figures = row
    if type(figures[0]) is str:
        figures = [*map(int, figures)]
    return Cell._make((person, shot, take, character, day_of(day), stage, *figures))


def cells_of_rows(rows: Iterable[Sequence[Any]]) -> list[Cell]:
    """Make cells of rows as CELL, in their order."""
    return [_cell((shot, take, *others)) for shot, take, _, *others in rows]


@all_kept()
def _kept_cells(file: FiguresFile, ledger: Ledger) -> tuple[Cell, ...]:
    return _in_order(file.rows("cells"), ledger)


def _in_order(rows: Iterable[Sequence[Any]], ledger: Ledger) -> tuple[Cell, ...]:
    """Make cells of rows as CELL, in the order of the shots."""
    by_shot: dict[str, list[Cell]] = {shot: [] for shot in ledger.shots}
    for shot, take, _, *others in rows:
        by_shot[shot].append(_cell((shot, take, *others)))
    return tuple(chain.from_iterable(by_shot.values()))
