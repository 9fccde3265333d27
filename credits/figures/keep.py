"""Keep figures beside the log, and renew them by what is new in it.

What is new since the position at which the figures stand is read; it names the entries that stand
otherwise now, and these the shots that are touched. Those are computed again by the functions that
compute everything: making all figures is the case in which every shot is touched.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from enum import Flag, auto
from functools import cache, cached_property, lru_cache, partial
from hashlib import sha256
from importlib import import_module
from itertools import chain, groupby
from operator import attrgetter
from pathlib import Path
from typing import Any

import credits
from credits.figures.lookups import Read, day_of, frames_of, kept_ledger
from credits.figures.standing import StandingEntries
from credits.footage.claims import claim_runs
from credits.footage.cut import use_of_cut
from credits.footage.footage import Cell, Footage, footage
from credits.hands.hands import Hands
from credits.hands.reach import Reach, counted_takes, reach_in_take
from credits.memory import all_kept
from credits.model.ledger import Ledger
from credits.store.kept import COMPUTED, FIGURES_NAME, FiguresFile, Rows
from credits.store.settings import read_settings
from credits.units.frames import NO_FRAMES, Frames

FORMAT = "1"
EVERY = "*"
"""What the cases of every check, and of all things, rest on."""
MOST_AT_ONCE = 40
"""Shots: where more are touched, what nobody has asked for yet waits for whoever asks."""
MOST_TRIES = 5
WIDEST = 2**63 - 1
"""The highest whole number that the engine keeps; a cell with a higher one is kept as text."""
ROOMS = ("units", "model", "store", "footage", "hands", "checks", "figures")


class Depth(Flag):
    """How far figures are wanted; the entries as they stand always are."""

    ENTRIES = 0
    CLAIMS = auto()
    HANDS = auto()
    CASES = auto()
    FOOTAGE = CLAIMS  # the claims and footage of every take
    REACH = CLAIMS | HANDS  # and whose hands are in which frames that count
    CHECKS = CLAIMS | CASES  # and what the checks find
    EVERYTHING = CLAIMS | HANDS | CASES


KINDS = {"claims": Depth.CLAIMS, "hands": Depth.HANDS, "cases": Depth.CASES}
"""What waits to be computed again, by the word for it."""
names_of = lru_cache(maxsize=65536)(json.loads)


@cache
def program() -> str:
    """Return a digest of what computes: figures of an older program are not used."""
    digest = sha256(f"{FORMAT} {credits.__version__}".encode())
    home = Path(credits.__file__).parent
    for room in ROOMS:
        for file in sorted((home / room).glob("*.py")):
            known = file.stat()
            digest.update(f"{file.name} {known.st_size} {known.st_mtime_ns}".encode())
    return digest.hexdigest()


class Renewal:
    """Brings the figures of a production to where its log stands, inside one transaction."""

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
        lines, changes = int(state["lines"]), int(state["changes"])
        last_line, last_change = self._file.last_places()
        if last_line < lines or last_change < changes:
            return False
        return self._file.tail(lines, changes) == state["tail"]

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
        if not self._is_there:
            self._take_in()
        ledger: Ledger | None = None
        for kind, own in KINDS.items():
            codes = self._file.touched(kind) if own in depth else []
            if not codes or (most is not None and (len(codes) > most or EVERY in codes)):
                continue
            if own is Depth.CASES:
                # Only who asks what the checks find waits for them.
                cases = import_module("credits.figures.cases")
                self._file.put(cases.CasesOf(self._file, codes).rows())
            else:
                if ledger is None:
                    ledger = kept_ledger(self._file, brief=len(codes) > MOST_AT_ONCE)
                takes = _TakesOf(ledger, codes)
                is_claims = own is Depth.CLAIMS
                self._file.put(takes.rows_of_claims() if is_claims else takes.rows_of_hands())
            self._file.untouch(kind)

    def _take_in(self) -> None:
        """Bring the entries to where the log stands, and note which shots that touches."""
        file = self._file
        if not self._has_stood:
            file.clear()
            self._state = {}
        settings = self._settings
        standing = StandingEntries(file, self._state)
        touched = standing.take_in()
        if touched.all_cases or self._state.get("settings", settings) != settings:
            cases = [EVERY]
        else:
            cases = [f"{scope} {code}" for scope in touched.cases for code in touched.cases[scope]]
        file.touch({"claims": touched.claims, "hands": touched.hands, "cases": cases})
        last_line, last_change = file.last_places()
        file.say(
            program=program(),
            position=self._position,
            lines=str(last_line),
            changes=str(last_change),
            cut=standing.cut,
            settings=settings,
            tail=file.tail(last_line, last_change),
        )
        self._state = file.state()


class _TakesOf:
    """The figures of every take of some shots, as rows."""

    def __init__(self, ledger: Ledger, shots: list[str]) -> None:
        self._gone = [{"shot": shot} for shot in shots]
        clips = ledger.cut.clips if ledger.cut is not None else ()
        own = tuple(clip for clip in clips if clip.shot in set(shots))
        cut = None if ledger.cut is None else replace(ledger.cut, clips=own)
        known = {shot: ledger.shots[shot] for shot in shots if shot in ledger.shots}
        self._whole = ledger
        self._ledger = replace(ledger, cut=cut, shots=known)
        self._runs = claim_runs(self._ledger, shots)
        self._use = use_of_cut(self._ledger, self._runs)

    def rows_of_claims(self) -> Rows:
        """Return what is claimed of each character in each take, and the footage of each."""
        cells = footage(self._ledger, self._runs, self._use).cells
        return {
            "claimed": (self._gone, list(self._claimed())),
            "cells": (self._gone, [*_cell_rows(cells)]),
        }

    def _claimed(self) -> Iterator[tuple[Any, ...]]:
        for (shot, take), own in self._runs.items():
            characters = dict.fromkeys(layer.character for run in own.runs for layer in run.kept)
            yield shot, take, 0, None, own.claimed.text
            for at, character in enumerate(characters, 1):
                yield shot, take, at, character, own.kept_of(character).text

    def rows_of_hands(self) -> Rows:
        """Return whose hands are in which frames that count of each take, and in which
        characters."""
        hands = Hands(self._whole, self._runs)
        rows = []
        for shot, take in counted_takes(self._ledger, self._runs, self._use):
            for at, own in enumerate(reach_in_take(shot, take, self._use, hands)):
                names = (
                    json.dumps(each, ensure_ascii=False) for each in (own.characters, own.people)
                )
                figures = (own.frames.text, own.frame_count, own.screen_frames)
                rows.append((shot, take, at, *figures, *names))
        return {"reached": (self._gone, rows)}


def _cell_rows(cells: Iterable[Cell]) -> Iterator[tuple[Any, ...]]:
    """Return cells as rows, in their order within each take."""
    for key, own in groupby(cells, key=attrgetter("shot", "take")):
        for at, cell in enumerate(own):
            day = None if cell.day is None else cell.day.isoformat()
            figures: tuple[int | str, ...] = (cell.den, *cell.figures)
            if max(cell.den, *cell.figures) > WIDEST:
                figures = tuple(map(str, figures))
            yield *key, at, cell.person, cell.character, day, cell.stage, *figures


@all_kept()
def kept_footage(file: FiguresFile, ledger: Ledger) -> Footage:
    """Read the footage of the production."""
    by_shot: dict[str, list[Cell]] = {shot: [] for shot in ledger.shots}
    for shot, take, _, person, character, day, stage, *figures in file.rows("cells"):
        if type(figures[0]) is str:
            figures = [*map(int, figures)]
        cell = Cell._make((person, shot, take, character, day_of(day), stage, *figures))
        by_shot[shot].append(cell)
    cells = tuple(chain.from_iterable(by_shot.values()))
    return Footage(cells, ledger.cut.version if ledger.cut is not None else None)


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


def open_figures(folder: Path, depth: Depth = Depth.ENTRIES) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted.

    Figures and log are read as they are at one moment, until the file is closed. Raises what
    ``open_log`` and reading raise.
    """
    file = FiguresFile(folder)
    try:
        for _ in range(MOST_TRIES):
            file.begin()
            if Renewal(file).stands(depth):
                return file
            file.end(keep=False)
            _renew(file, depth)
    except BaseException:
        file.close()
        raise
    # Somebody writes all the while: this one computes for itself, of one moment.
    file.close()
    file = FiguresFile(folder, in_memory=True)
    file.begin(writing=True)
    Renewal(file).renew(depth)
    return file


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
            Renewal(anew).renew(Depth.EVERYTHING)
        return [name for name in COMPUTED if kept.content(name) != anew.content(name)]
    finally:
        kept.close()
        anew.close()


def _renew(file: FiguresFile, depth: Depth, most: int | None = None) -> None:
    file.begin(writing=True)
    try:
        with all_kept():
            Renewal(file).renew(depth, most)
    except BaseException:
        file.end(keep=False)
        raise
    file.end(keep=True)


def renew_figures(folder: Path, most: int | None = MOST_AT_ONCE) -> None:
    """Renew the figures after something was written, so that the next answer is there.

    most: as for ``Renewal.renew``.
    """
    file = FiguresFile(folder)
    try:
        _renew(file, Depth.EVERYTHING, most)
    finally:
        file.close()
