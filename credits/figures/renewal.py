"""Renew the figures that are kept by what is new in the log.

What is new since the position at which the figures stand is read; it names the entries that stand
otherwise now, and these the shots that are touched. Those are computed again by the functions that
compute everything: making all figures is the case in which every shot is touched.

The checks are not at hand here: whoever logs an entry does not wait for them (``keep.py``).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from enum import Flag, auto
from functools import cache, cached_property, lru_cache, partial
from hashlib import sha256
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

import credits
from credits.figures.changed import EVERYTHING, PEOPLE_IN, Thing, people_changed
from credits.figures.lookups import kept_ledger, ledger_in_brief
from credits.figures.standing import StandingEntries
from credits.footage.claims import TakeRuns, animated_in, claim_runs, handled_in
from credits.footage.cut import CutUse, use_of_cut
from credits.footage.footage import Cell, footage
from credits.hands.hands import Hands, WayInTake
from credits.hands.reach import TakeReach, counted_takes, reach_in_take
from credits.hands.ways import way_rows
from credits.memory import all_kept
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.replay import grouped
from credits.review.days import Poses, poses
from credits.store.kept import FiguresFile, Rows, if_possible
from credits.store.settings import read_settings
from credits.two_processes import in_order

FORMAT = "1"
MOST_AT_ONCE = 40
"""Shots: where more are touched, what nobody has asked for yet waits for whoever asks."""
MOST_TRIES = 5
WIDEST = 2**63 - 1
"""The highest whole number that the engine keeps; a cell with a higher one is kept as text."""
ROOMS = ("", "units", "model", "store", "footage", "hands", "review", "checks", "figures")


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


Row = tuple[Any, ...]

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
    for room in ROOMS:
        for file in sorted((home / room).glob("*.py")):
            known = file.stat()
            digest.update(f"{file.name} {known.st_size} {known.st_mtime_ns}".encode())
    return digest.hexdigest()


json_of = lru_cache(maxsize=4096)(partial(json.dumps, ensure_ascii=False))


class Renewal:
    """Brings the figures of a production to where its log stands, inside one transaction."""

    def __init__(self, file: FiguresFile) -> None:
        self._file = file
        self._state = file.state()
        self._position = ",".join(map(str, file.position()))
        self._changed: set[Thing] = set()

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
        number = int(self._state.get("renewal", 0)) + 1
        if not self._is_there:
            self._take_in()
        every = {kind: self._file.touched(kind) for kind, own in KINDS.items() if own in depth}
        wanted = {
            kind: codes
            for kind, codes in every.items()
            if codes and (most is None or (len(codes) <= most and EVERY not in codes))
        }
        takes: _TakesOf | None = None
        for kind, codes in wanted.items():
            own = KINDS[kind]
            if own is Depth.WORDS:
                self._file.say_words(None if EVERY in codes else map(int, codes))
            elif own is Depth.CASES:
                known = takes.known if takes is not None and EVERY in codes else None
                self._file.put(self._rows_of_cases(codes, known))
            else:
                if takes is None or takes.shots != codes:
                    ledger = self._ledger(wanted) if takes is None else takes.whole
                    is_most = len(codes) > MOST_AT_ONCE
                    poses_on = self._file.poses_on(None if is_most else codes)
                    takes = _TakesOf(ledger, codes, poses_on)
                if own is Depth.CLAIMS:
                    others = wanted.keys() - {kind, "words"}
                    self._put(kind, codes, takes.rows_of_claims(keep_runs=bool(others)))
                else:
                    self._put(kind, codes, takes.rows_of_hands())
            self._file.untouch(kind)
        self._file.note_changed(self._changed, number)
        self._file.say(renewal=str(number))

    def _put(self, kind: str, shots: list[str], rows: Rows) -> None:
        """Renew what is kept of the takes of some shots; note of whom that is something else."""
        file = self._file
        self._changed |= {(kind, shot) for shot in shots}
        for table in PEOPLE_IN.keys() & rows.keys():
            if len(shots) > MOST_AT_ONCE and not file.has_rows(table):
                self._changed = {EVERYTHING}
            else:
                before = (row for shot in shots for row in file.rows_where(table, shot=shot))
                self._changed |= people_changed(table, before, rows[table][1])
        file.put(rows)

    def _ledger(self, wanted: Mapping[str, list[str]]) -> Ledger:
        """Return the ledger that the figures of some shots are computed from.

        Many entries are read once, with as much of each as everything asks that is wanted.
        """
        if max(len(wanted.get(kind, ())) for kind in ("claims", "hands")) <= MOST_AT_ONCE:
            return ledger_in_brief(self._file)
        if EVERY in wanted.get("cases", ()):
            return kept_ledger(self._file, checked=True)
        return kept_ledger(self._file, brief=True, with_footage="hands" not in wanted)

    def _rows_of_cases(self, codes: list[str], known: KnownClaims | None) -> Rows:
        """Find what the checks find anew: only where somebody asks for it are they at hand.

        known: what was read and computed of the whole film already.
        """
        raise NotImplementedError(codes, known)

    def _take_in(self) -> None:
        """Bring the entries to where the log stands, and note which shots that touches."""
        file = self._file
        if not self._has_stood:
            file.clear()
            self._state = {}
        settings = self._settings
        standing = StandingEntries(file, self._state)
        touched = standing.take_in()
        self._changed |= touched.things
        if touched.all_cases or self._state.get("settings", settings) != settings:
            cases = [EVERY]
        else:
            cases = [f"{scope} {code}" for scope in touched.cases for code in touched.cases[scope]]
        words = [EVERY] if touched.all_words else map(str, touched.words)
        file.touch(
            {"claims": touched.claims, "hands": touched.hands, "cases": cases, "words": words}
        )
        last_line, last_change = file.last_places()
        file.say(
            program=program(),
            position=self._position,
            lines=str(last_line),
            changes=str(last_change),
            cut=standing.cut,
            settings=settings,
            tail=file.tail(last_line, last_change),
            **({"made": self._position} if touched.is_new else {}),
        )
        self._state = file.state()


class KnownClaims(NamedTuple):
    """A ledger of all entries, and the claims of every take."""

    ledger: Ledger
    runs: Mapping[tuple[str, int], TakeRuns]


class _TakesOf:
    """The figures of every take of some shots, as rows."""

    def __init__(
        self, ledger: Ledger, shots: list[str], poses_on: Mapping[EntryNumber, int]
    ) -> None:
        self.whole = ledger
        self.shots = shots
        self._poses_on = poses_on
        self._gone = [{"shot": shot} for shot in shots]
        clips, wanted = ledger.cut.clips if ledger.cut is not None else (), frozenset(shots)
        own = tuple(clip for clip in clips if clip.shot in wanted)
        cut = None if ledger.cut is None else replace(ledger.cut, clips=own)
        known = {code: shot for code, shot in ledger.shots.items() if code in wanted}
        self._ledger = replace(ledger, cut=cut, shots=known)

    @cached_property
    def _runs(self) -> dict[tuple[str, int], TakeRuns]:
        return claim_runs(self._ledger, self.shots)

    @property
    def known(self) -> KnownClaims | None:
        """What is known of the whole film; None where not all of it was looked at."""
        is_whole = len(self.shots) > MOST_AT_ONCE and self._ledger.shots == self.whole.shots
        return KnownClaims(self.whole, self._runs) if is_whole else None

    @cached_property
    def _use(self) -> CutUse | None:
        return use_of_cut(self._ledger, self._runs)

    def rows_of_claims(self, *, keep_runs: bool) -> Rows:
        """Return what is claimed of each character in each take, the footage, the poses, and who
        animated which frames.

        keep_runs: the runs of all takes are asked for again, so they are made here first.
        """
        # The second process computes of what was read before it began: nothing is read in it.
        by_shot = self._ledger.entries_by_shot
        entries = {shot: by_shot[shot] for shot in self.shots if shot in by_shot}
        ledger = replace(self._ledger, entries_by_shot=entries)
        clips = grouped(ledger.cut.clips if ledger.cut is not None else (), attrgetter("shot"))
        known = grouped(self._runs.values(), attrgetter("shot")) if keep_runs else None

        def claims_of(shot: str) -> tuple[list[Row], ...]:
            cut = None if ledger.cut is None else replace(ledger.cut, clips=clips.get(shot, ()))
            shots = {shot: ledger.shots[shot]} if shot in ledger.shots else {}
            own = replace(ledger, cut=cut, shots=shots)
            if known is None:
                return _claims_of(own, claim_runs(own, [shot]), self._poses_on)
            runs = {(each.shot, each.take): each for each in known.get(shot, ())}
            return _claims_of(own, runs, self._poses_on)

        rows: dict[str, list[Row]] = {"claimed": [], "cells": [], "poses": []}
        rows |= {"animated": [], "handled": []}
        for own in in_order(self.shots, claims_of):
            for every, some in zip(rows.values(), own, strict=True):
                every += some
        return {table: (self._gone, every) for table, every in rows.items()}

    def rows_of_hands(self) -> Rows:
        """Return of each take whose hands are in which frames that count and in which characters,
        and by which ways."""
        hands, use = Hands(self.whole, self._runs), self._use

        def hands_of(take: tuple[str, int]) -> tuple[list[Row], list[Row]]:
            people, ways = reach_in_take(*take, use, hands)
            return [*_reached_rows(take, people)], [*_way_rows(take, ways)]

        reached: list[Row] = []
        every: list[Row] = []
        # Where so many takes are looked at that a second process helps, every entry was read.
        for of_people, of_ways in in_order(counted_takes(self._ledger, self._runs, use), hands_of):
            reached += of_people
            every += of_ways
        return {"reached": (self._gone, reached), "ways": (self._gone, every)}


def _reached_rows(take: tuple[str, int], people: Iterable[TakeReach]) -> Iterator[Row]:
    for at, own in enumerate(people):
        figures = (own.frames.text, own.frame_count, own.screen_frames)
        yield *take, at, *figures, json_of(own.characters), json_of(own.people)


def _way_rows(take: tuple[str, int], ways: Iterable[WayInTake]) -> Iterator[Row]:
    for at, way in enumerate(way_rows(*take, ways)):
        yield *take, at, *way[2:-1], json_of(way.people)


def _claims_of(
    ledger: Ledger,
    runs: Mapping[tuple[str, int], TakeRuns],
    poses_on: Mapping[EntryNumber, int],
) -> tuple[list[Row], ...]:
    """Return what is claimed in every take of a ledger, the footage, the poses, who animated which
    kept frames, and which puppets are seen in them, as rows."""
    cells = footage(ledger, runs, use_of_cut(ledger, runs)).cells
    of_poses = _pose_rows(poses(ledger, runs, poses_on.get))
    return (
        [*_claimed_rows(runs)],
        [*_cell_rows(cells)],
        [*of_poses],
        [*_animated_rows(ledger, runs)],
        [*_handled_rows(runs)],
    )


def _claimed_rows(runs: Mapping[tuple[str, int], TakeRuns]) -> Iterator[Row]:
    for (shot, take), own in runs.items():
        yield shot, take, 0, None, own.claimed.text
        for at, (character, frames) in enumerate(own.kept_by_character.items(), 1):
            yield shot, take, at, character, frames.text


def _animated_rows(ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]) -> Iterator[Row]:
    for own in runs.values():
        for *said, frames in animated_in(ledger, own):
            yield *said, frames.text


def _handled_rows(runs: Mapping[tuple[str, int], TakeRuns]) -> Iterator[Row]:
    for own in runs.values():
        for *said, day, frames in handled_in(own):
            yield *said, None if day is None else day.isoformat(), frames.text


def _pose_rows(every: Iterable[Poses]) -> Iterator[Row]:
    for person, day, shot, take, ratio in every:
        text = None if day is None else day.isoformat()
        yield shot, take, person, text, *(map(str, ratio) if max(ratio) > WIDEST else ratio)


def _cell_rows(cells: Iterable[Cell]) -> Iterator[Row]:
    """Return cells as rows, in their order within each take."""
    for key, own in groupby(cells, key=attrgetter("shot", "take")):
        for at, cell in enumerate(own):
            day = None if cell.day is None else cell.day.isoformat()
            figures: tuple[int | str, ...] = (cell.den, *cell.figures)
            if max(cell.den, *cell.figures) > WIDEST:
                figures = tuple(map(str, figures))
            yield *key, at, cell.person, cell.character, day, cell.stage, *figures


def opened(folder: Path, depth: Depth, renewal: type[Renewal] = Renewal) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted.

    Figures and log are read as they are at one moment, until the file is closed. renewal: what
    has everything at hand that is wanted. Raises what ``open_log`` and reading raise.
    """
    file = FiguresFile(folder)
    try:
        for _ in range(MOST_TRIES):
            file.begin()
            if renewal(file).stands(depth):
                return file
            file.end(keep=False)
            _renew(file, depth, renewal)
    except BaseException:
        file.close()
        raise
    # Somebody writes all the while: this one computes for itself, of one moment.
    file.close()
    file = FiguresFile(folder, in_memory=True)
    file.begin(writing=True)
    renewal(file).renew(depth)
    return file


def _renew(
    file: FiguresFile, depth: Depth, renewal: type[Renewal], most: int | None = None
) -> None:
    file.begin(writing=True)
    try:
        with all_kept():
            renewal(file).renew(depth, most)
    except BaseException:
        file.end(keep=False)
        raise
    file.end(keep=True)


def renewed(
    folder: Path,
    depth: Depth,
    most: int | None,
    renewal: type[Renewal] = Renewal,
    *,
    read: FiguresFile | None = None,
) -> None:
    """Renew the figures after something was written, so that the next answer is there.

    Where that cannot be done now, whoever asks next does it.
    most: as for ``Renewal.renew``. renewal: as for ``opened``. read: figures that were opened
    before: what they have read of the tables is not read again.
    """
    with if_possible(), closing(FiguresFile(folder)) as file:
        if read is not None:
            file.knows(read)
        if file.is_on_disk:
            _renew(file, depth, renewal, most)
