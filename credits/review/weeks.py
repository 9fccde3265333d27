"""What everybody did in each take in each week: what figures over weeks are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from itertools import chain
from typing import NamedTuple, Protocol

from credits.footage.footage import MEASURES, Cell, cell_of
from credits.model.facts import Purpose
from credits.model.ledger import StageWork
from credits.review.days import Gathered, Poses, add_days, placed_day
from credits.review.waits import NearRepairs
from credits.units.rounding import ratio_of_sum


class TakeWeek(NamedTuple):
    """One person's work in a take in a week; week None: undated; shot None: on no one shot.

    purpose: of the take. minutes: logged on entries of crafts with footage. worked: the days with
    such entries; claimed: those on which frames were claimed; each day a bit, Monday the lowest.
    poses: over ``poses_den``. The ten figures of the footage: as those of a cell, over ``den``; 0:
    no frames are claimed.
    """

    shot: str | None
    take: int | None
    person: str
    week: str | None
    purpose: Purpose
    minutes: int
    worked: int
    claimed: int
    poses: int
    poses_den: int
    den: int
    character_shot: int
    character_kept: int
    character_accepted: int
    character_cut: int
    character_screen: int
    by_shot_shot: int
    by_shot_kept: int
    by_shot_accepted: int
    by_shot_cut: int
    by_shot_screen: int

    @property
    def figures(self) -> tuple[int, ...]:
        """Return the ten figures: the measures of character footage, then of shot footage."""
        return self[11:]


NO_FRAMES_CLAIMED = (0,) * (1 + 2 * len(MEASURES))


class GatheredWeeks(Gathered):
    """Figures over some of one person's work by take and week.

    wait: for repairs, in minutes.
    """

    def __init__(self, rows: Sequence[TakeWeek], wait: int) -> None:
        self.rows = rows
        self.wait: int = wait

    @cached_property
    def cells(self) -> list[TakeWeek]:
        """The footage."""
        return [row for row in self.rows if row.den]

    @cached_property
    def days(self) -> dict[Purpose, dict[str, int]]:
        """The days with entries of a footage craft, by the purpose of the takes and the week."""
        found: dict[Purpose, dict[str, int]] = {}
        for row in self.rows:
            if row.week is not None and row.worked:
                add_days(found, row.purpose, row.week, row.worked)
        return found

    @property
    def minutes(self) -> int:
        """The minutes that were logged."""
        return sum([row.minutes for row in self.rows])

    @property
    def held(self) -> list[tuple[int, int]]:
        """The poses."""
        return [(row.poses, row.poses_den) for row in self.rows]

    @property
    def takes(self) -> frozenset[tuple[str, int]]:
        """The shots and takes with claims."""
        named = [(row.shot, row.take) for row in self.cells]
        return frozenset([(s, t) for s, t in named if s is not None and t is not None])


def weeks_together(parts: Iterable[GatheredWeeks]) -> GatheredWeeks:
    """Return some parts of one person's work together."""
    own = tuple(parts)
    if len(own) == 1:
        return own[0]
    rows = [*chain.from_iterable([part.rows for part in own])]
    return GatheredWeeks(rows, sum([part.wait for part in own]))


class KeptWork(NearRepairs, Protocol):
    """Reads what is kept of everybody's work."""

    def take_weeks(self) -> Sequence[TakeWeek]:
        """Read everybody's work by take and week, as ``take_weeks`` makes it of everything."""

    def stage_of(self, person: str) -> tuple[StageWork, ...]:
        """Read what of a person's entries stage days are made of, by the numbers of records."""

    def poses_of(self, person: str) -> tuple[Poses, ...]:
        """Read the poses of a person's kept frames."""


class _Gathering:
    """What is found of one person, take and week while everything is looked at."""

    __slots__ = ("cells", "claimed", "held", "minutes", "worked")

    def __init__(self) -> None:
        self.minutes = self.worked = self.claimed = 0
        self.cells: list[Cell] = []
        self.held: list[tuple[int, int]] = []


_Key = tuple[str | None, int | None, str, str | None]


def take_weeks(
    on_stage: Iterable[StageWork],
    cells: Iterable[Cell],
    poses: Iterable[Poses],
    purpose_in: Callable[[str | None, int | None], Purpose],
) -> list[TakeWeek]:
    """Return what everybody did in each take in each week.

    cells: with their days. purpose_in: says what a take is for, as ``Ledger.purpose_in``.
    """
    found: dict[_Key, _Gathering] = defaultdict(_Gathering)
    for person, day, shot, take, _, minutes in on_stage:
        week, bit = placed_day(day)
        own = found[shot, take, person, week]
        own.minutes += minutes or 0
        own.worked |= bit
    for cell in cells:
        week, bit = placed_day(cell.day)
        own = found[cell.shot, cell.take, cell.person, week]
        own.claimed |= bit
        own.cells.append(cell)
    for person, day, shot, take, ratio in poses:
        found[shot, take, person, placed_day(day)[0]].held.append(ratio)
    return [
        TakeWeek(
            *key,
            purpose_in(*key[:2]),
            own.minutes,
            own.worked,
            own.claimed,
            *ratio_of_sum(own.held),
            *_over_one_denominator(own.cells),
        )
        for key, own in found.items()
    ]


def _over_one_denominator(cells: Sequence[Cell]) -> tuple[int, ...]:
    """Return the denominator and the ten figures of some cells together."""
    if not cells:
        return NO_FRAMES_CLAIMED
    together = cell_of(cells)
    return together.den, *together.figures
