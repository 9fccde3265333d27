"""Laws of footage: as counted frame by frame, nothing lost, nothing made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import pairwise
from math import gcd

from hypothesis import given, settings

from credits.footage.claims import TakeRuns, claims_frames, runs_of_take
from credits.footage.footage import MEASURES, Cell, Measures, cells_of_take, summed
from credits.footage.table import (
    By,
    footage_column,
    footage_rows,
    footage_table,
    footage_values,
)
from credits.model.facts import Decision, EntryNumber
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from credits.units.rounding import half_up
from credits.units.table import Column, Unit
from tests.computed import footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import NEVER, FrameByFrame
from tests.laws.strategies import productions
from tests.small_log import small_log

BIG = settings(max_examples=drawn(120), deadline=None)
FEWER = settings(max_examples=drawn(30), deadline=None)
NOTHING = Fraction(0)


@BIG
@given(log=productions())
def test_every_cell_is_what_counting_single_frames_gives(log: WrittenLog) -> None:
    _, _, footage = footage_of(replay(log))
    ours = footage.by(lambda c: (c.person, c.shot, c.take, c.character, c.day or NEVER))
    counted = FrameByFrame(log).footage()
    assert ours.keys() == counted.keys()
    for key, totals in ours.items():
        for measures, single in zip((totals.character, totals.by_shot), counted[key], strict=True):
            for measure in MEASURES:
                assert measures.of(measure) == single.get(measure, NOTHING), (key, measure)


@FEWER
@given(log=productions())
def test_nothing_is_lost_or_made(log: WrittenLog) -> None:
    total = footage_of(replay(log))[2].total
    claimed = FrameByFrame(log).claimed
    frames = [characters for own in claimed.values() for characters in own.values()]
    assert total.character.kept == sum(len(characters) for characters in frames)
    assert total.by_shot.kept == len(frames)
    # A frame photographed again on another day counts again.
    assert total.character.shot == sum(len(days) for own in frames for days in own.values())
    assert total.by_shot.shot == sum(len(set().union(*own.values())) for own in frames)


@FEWER
@given(log=productions())
def test_the_figures_of_a_cell_are_whole_numbers_in_lowest_terms(log: WrittenLog) -> None:
    for cell in footage_of(replay(log))[2].cells:
        assert all(type(figure) is int for figure in (cell.den, *cell.figures))
        assert gcd(cell.den, *cell.figures) == 1
        totals = cell.totals
        exact = [m.of(measure) for m in (totals.character, totals.by_shot) for measure in MEASURES]
        assert exact == [Fraction(figure, cell.den) for figure in cell.figures]


@dataclass
class PlainRow:
    """A claim as any reader of the log might have it."""

    number: EntryNumber
    person: str
    character: str | None
    puppet: str | None
    day: date | None
    stage: str | None
    frames: Frames | None
    share: Fraction | None


@FEWER
@given(log=productions())
def test_a_take_can_be_counted_alone_from_plain_rows(log: WrittenLog) -> None:
    ledger = replay(log)
    runs, use, footage = footage_of(ledger)
    cells: list[Cell] = []
    for shot, take in runs:
        rows = [
            PlainRow(
                e.number, e.person, e.character, e.puppet, e.day, e.stage, e.frames, e.work.share
            )
            for e in reversed(ledger.entries_by_shot[shot])
            if claims_frames(ledger, e) and e.take == take
        ]
        own = TakeRuns(shot, take, runs_of_take(rows))
        assert own == runs[shot, take]
        cells += cells_of_take(own, ledger.take(shot, take).decision is Decision.ACCEPTED, use)
    assert tuple(cells) == footage.cells


@FEWER
@given(log=productions())
def test_kept_runs_say_what_the_runs_keep(log: WrittenLog) -> None:
    for own in footage_of(replay(log))[0].values():
        by_run = {f: run.kept for run in own.runs for f in range(run.first, run.stop)}
        assert by_run == {f: run.layers for run in own.kept_runs for f in range(run[0], run[1])}
        for one, other in pairwise(own.kept_runs):
            assert one.stop < other.first or one.layers != other.layers


def in_order(measures: Measures) -> bool:
    return (
        measures.shot >= measures.kept >= measures.accepted >= 0
        and measures.kept >= measures.cut >= 0
        and measures.screen >= measures.cut
    )


@FEWER
@given(log=productions())
def test_measures_stand_in_order_for_everybody_and_in_sum(log: WrittenLog) -> None:
    footage = footage_of(replay(log))[2]
    people = footage.by(lambda cell: cell.person)
    for totals in (*people.values(), footage.total, *(cell.totals for cell in footage.cells)):
        assert in_order(totals.character)
        assert in_order(totals.by_shot)
        for measure in MEASURES:
            assert totals.character.of(measure) >= totals.by_shot.of(measure)


@FEWER
@given(log=productions())
def test_whatever_it_is_summed_by_the_parts_are_the_whole(log: WrittenLog) -> None:
    footage = footage_of(replay(log))[2]
    keys: tuple[Callable[[Cell], object], ...] = (
        lambda cell: cell.person,
        lambda cell: (cell.shot, cell.take),
        lambda cell: cell.character,
        lambda cell: cell.day or NEVER,
        lambda cell: cell.stage or "",
    )
    for key in keys:
        parts = footage.parted(key)
        whole = summed(own.total for own in parts.values())
        assert whole == footage.total
        assert {name: own.total for name, own in parts.items()} == footage.by(key)


@FEWER
@given(log=productions())
def test_a_printed_table_adds_up_column_by_column(log: WrittenLog) -> None:
    ledger = replay(log)
    footage = footage_of(ledger)[2]
    tables = (
        (By.PERSON,),
        (By.SHOT, By.PERSON),
        (By.WEEK,),
        (By.CHARACTER, By.STAGE),
    )
    kinds = ("", "_seconds", "_character")
    figures = [footage_column(f"{m}{kind}", m) for m in MEASURES for kind in kinds]
    exact = footage_values(footage.total, figures)
    for by in tables:
        rows = footage_rows(footage, ledger, by)
        assert summed(row.totals for row in rows) == footage.total
        named = [((row.key,), row.totals) for row in rows]
        name = Column(key="name", heading="name")
        shown = footage_table("Footage", [name], figures, named, ledger.production).printed()
        for place, column in enumerate(figures, 1):
            total = Fraction(shown.total[place].text.replace(",", ""))
            assert sum(Fraction(row[place].text.replace(",", "")) for row in shown.rows) == total
            if column.unit is Unit.FRAMES:
                assert total == half_up(exact[place - 1])


def test_one_persons_overlap_on_a_day_is_one_claim_with_the_largest_share() -> None:
    """Ana says 1-24 with share 1 and 13-36 with share 3, Ben 1-36 with share 1, on one day."""
    log = small_log("""
        [people]
        person
        ana
        ben
        [characters]
        character
        wick
        [sequences]
        sequence
        010
        [shots]
        shot, sequence, frames
        010-020, 010, 36
        [entries]
        craft, person, character, shot, frames, share, finished_on
        animation, ana, wick, 010-020, 1-24, 1, 2026-03-02
        animation, ana, wick, 010-020, 13-36, 3, 2026-03-02
        animation, ben, wick, 010-020, 1-36, , 2026-03-02
    """)
    own = footage_of(replay(log))[2].by(lambda cell: cell.person)
    # Halves in 1-12, three quarters to one quarter in 13-36.
    assert own["ana"].character.kept == 6 + 18
    assert own["ben"].character.kept == 6 + 6
    counted = FrameByFrame(log).footage()
    assert {key[0]: figures["kept"] for key, (figures, _) in counted.items()} == {
        "ana": 24,
        "ben": 12,
    }


def test_footage_is_on_the_stage_of_the_largest_share_of_equals_of_the_earliest() -> None:
    log = small_log("""
        [people]
        person
        ana
        [characters]
        character
        wick
        [stages]
        stage
        S1
        S2
        [sequences]
        sequence
        010
        [shots]
        shot, sequence, frames
        010-020, 010, 72
        [entries]
        craft, person, character, shot, frames, share, stage, finished_on
        animation, ana, wick, 010-020, 1-24, 1, S1, 2026-03-02
        animation, ana, wick, 010-020, 1-24, 3, S2, 2026-03-02
        animation, ana, wick, 010-020, 25-60, 3, S1, 2026-03-02
        animation, ana, wick, 010-020, 25-60, , S2, 2026-03-02
        animation, ana, wick, 010-020, 61-72, 2, S1, 2026-03-02
        animation, ana, wick, 010-020, 61-72, 2, S2, 2026-03-02
    """)
    on = footage_of(replay(log))[2].by(lambda cell: cell.stage)
    assert {stage: totals.by_shot.kept for stage, totals in on.items()} == {"S1": 48, "S2": 24}
