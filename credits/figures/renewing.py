"""Renew the figures that are kept by what is new in the log.

What is new since the position at which the figures stand is read; it names the entries that stand
otherwise now, and these the shots that are touched. Those are computed again by the functions that
compute everything: making all figures is the case in which every shot is touched.

The checks are not at hand here: whoever logs an entry does not wait for them (``whole.py``).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, cached_property, lru_cache
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple

from credits.figures.changed import EVERYTHING, PEOPLE_IN, Thing, people_changed
from credits.figures.lookups import kept_ledger, ledger_in_brief, stage_work
from credits.figures.renewal import (
    EVERY,
    KINDS,
    MOST_AT_ONCE,
    PLACES,
    WIDEST,
    Depth,
    Stand,
    program,
)
from credits.figures.standing import StandingEntries
from credits.footage.claims import TakeRuns, animated_in, claim_runs, handled_in
from credits.footage.cut import CutUse, use_of_cut
from credits.footage.footage import Cell, Counted, footage
from credits.hands.hands import Hands, WayInTake
from credits.hands.reach import TakeReach, counted_takes, reach_in_take
from credits.hands.ways import way_rows
from credits.model.facts import CutClip, EntryNumber
from credits.model.lazy import Listed
from credits.model.ledger import Ledger, StageWork
from credits.model.replay import grouped
from credits.review.days import Poses, poses
from credits.review.weeks import TakeWeek, take_weeks
from credits.store.beside.figures_db import MEASURED
from credits.store.beside.kept import FiguresFile
from credits.store.beside.rows import Rows
from credits.two_processes import in_order

Row = tuple[Any, ...]
NO_CELL = (None,) * (1 + len(MEASURED))

json_of = lru_cache(maxsize=32_768)(json.JSONEncoder(ensure_ascii=False).encode)
"""Write codes as they are kept; many rows are of the same."""


class Renewal(Stand):
    """Brings the figures of a production to where its log stands, inside one transaction."""

    def __init__(self, file: FiguresFile) -> None:
        super().__init__(file)
        self._changed: set[Thing] = set()

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
                    takes = _TakesOf(ledger, codes, poses_on, self._on_stage(ledger, codes))
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

    def _on_stage(self, ledger: Ledger, shots: list[str]) -> dict[str, tuple[StageWork, ...]]:
        """Read what days of crafts with footage are made of, by shot."""
        crafts = [craft.code for craft in ledger.crafts.values() if craft.footage]
        of = () if len(shots) > MOST_AT_ONCE else ("shot", shots)
        return grouped(stage_work(self._file.stage_rows(crafts, *of)), attrgetter("shot"))

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
        places = file.last_places()
        file.say(
            program=program(),
            position=self._position,
            **dict(zip(PLACES, map(str, places), strict=True)),
            cut=standing.cut,
            settings=settings,
            tail=file.tail(*places),
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
        self,
        ledger: Ledger,
        shots: list[str],
        poses_on: Mapping[EntryNumber, int],
        on_stage: Mapping[str, tuple[StageWork, ...]],
    ) -> None:
        self.whole = ledger
        self.shots = shots
        self._poses_on = poses_on
        self._on_stage = on_stage
        self._gone = [{"shot": shot} for shot in shots]
        cut, known, wanted = ledger.cut, ledger.shots, frozenset(shots)
        if len(shots) > MOST_AT_ONCE:
            known = {code: shot for code, shot in known.items() if code in wanted}
        else:
            known = {code: known[code] for code in shots if code in known}
        if cut is not None:
            cut = replace(cut, clips=_clips_of(cut.clips, wanted))
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
        # Looked up, and not looked for among all shots that entries name.
        entries = {shot: said for shot in self.shots if (said := by_shot.get(shot))}
        ledger = replace(self._ledger, entries_by_shot=entries)
        clips = grouped(ledger.cut.clips if ledger.cut is not None else (), attrgetter("shot"))
        known = grouped(self._runs.values(), attrgetter("shot")) if keep_runs else None

        def claims_of(shot: str) -> tuple[list[Row], ...]:
            cut = None if ledger.cut is None else replace(ledger.cut, clips=clips.get(shot, ()))
            shots = {shot: ledger.shots[shot]} if shot in ledger.shots else {}
            own = replace(ledger, cut=cut, shots=shots, on_stage=self._on_stage.get(shot, ()))
            if known is None:
                return _claims_of(own, claim_runs(own, [shot]), self._poses_on)
            runs = {(each.shot, each.take): each for each in known.get(shot, ())}
            return _claims_of(own, runs, self._poses_on)

        rows: dict[str, list[Row]] = {"claimed": [], "cells": [], "poses": []}
        rows |= {"animated": [], "handled": [], "worked": []}
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


def _clips_of(clips: Sequence[CutClip], shots: frozenset[str]) -> tuple[CutClip, ...]:
    """Return the clips of some shots, in film order; of a few shots no others are looked at."""
    if isinstance(clips, Listed) and len(shots) <= MOST_AT_ONCE:
        own = [clip for shot in shots for clip in clips.having("shot", shot)]
        return tuple(sorted(own, key=attrgetter("order")))
    return tuple(clip for clip in clips if clip.shot in shots)


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
    kept frames, which puppets are seen in them, and the work by week, as rows."""
    cells = footage(ledger, runs, use_of_cut(ledger, runs)).cells
    held = [*poses(ledger, runs, poses_on.get)]
    weeks = take_weeks(ledger.on_stage, cells, held, cache(ledger.purpose_in))
    return (
        [*_claimed_rows(runs)],
        [*_cell_rows(cells)],
        [*_pose_rows(held)],
        [*_animated_rows(ledger, runs)],
        [*_handled_rows(runs)],
        [*_worked_rows(weeks)],
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


def _worked_rows(every: Iterable[TakeWeek]) -> Iterator[Row]:
    """Return work by take and week as rows; undated work has an empty week."""
    for each in every:
        held: tuple[int | str, ...] = (each.poses, each.poses_den)
        held = (*map(str, held),) if max(each.poses, each.poses_den) > WIDEST else held
        figures: tuple[int | str | None, ...] = _kept_figures(each) if each.den else NO_CELL
        yield *each[:3], each.week or "", str(each.purpose), *each[5:8], *held, *figures


def _kept_figures(cell: Counted) -> tuple[int | str, ...]:
    """Return the denominator and the figures of a cell as they are kept."""
    figures: tuple[int | str, ...] = (cell.den, *cell.figures)
    return tuple(map(str, figures)) if max(cell.den, *cell.figures) > WIDEST else figures


def _cell_rows(cells: Iterable[Cell]) -> Iterator[Row]:
    """Return cells as rows, in their order within each take."""
    for key, own in groupby(cells, key=attrgetter("shot", "take")):
        for at, cell in enumerate(own):
            day = None if cell.day is None else cell.day.isoformat()
            yield *key, at, cell.person, cell.character, day, cell.stage, *_kept_figures(cell)
