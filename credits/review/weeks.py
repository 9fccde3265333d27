"""What everybody did in each take in each week: what figures over weeks are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import cached_property
from itertools import chain
from math import lcm
from operator import itemgetter
from typing import NamedTuple, Protocol, TypeVar

from credits.footage.footage import MEASURES, Cell, FootageTotals, cell_of, total_of
from credits.model.facts import Purpose
from credits.model.ledger import StageWork
from credits.review.days import (
    PURPOSE_BITS,
    SHOOT,
    Divided,
    Gathered,
    Poses,
    WorkPiece,
    days_in,
    pieces,
    placed_day,
)
from credits.review.waits import NearRepairs
from credits.units.film_time import FrameRate, Period
from credits.units.rounding import Exact, exact_of, ratio_of_sum, sum_of_ratios

K = TypeVar("K", bound=Hashable)


class TakeWeek(NamedTuple):
    """One person's work in a take in a week; week None: undated; shot None: on no one shot.

    purpose: the word for what the take is for. minutes: logged on entries of crafts with footage.
    worked: the days with such entries; claimed: those on which frames were claimed; each day a bit,
    Monday the lowest.
    poses: over ``poses_den``. The ten figures of the footage: as those of a cell, over ``den``; 0:
    no frames are claimed, and the figures say nothing.
    """

    shot: str | None
    take: int | None
    person: str
    week: str | None
    purpose: str
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


_AT = {name: place for place, name in enumerate(TakeWeek._fields)}
_poses: Callable[[TakeWeek], tuple[int, int]] = itemgetter(_AT["poses"], _AT["poses_den"])
_take: Callable[[TakeWeek], tuple[str, int]] = itemgetter(_AT["shot"], _AT["take"])
NO_FRAMES_CLAIMED = (0,) * (1 + 2 * len(MEASURES))


class GatheredWeeks(Gathered):
    """Figures over some of one person's work by take and week.

    wait: for repairs, in minutes. The kept frames are added up at once: they are compared most.
    """

    def __init__(self, one: int) -> None:
        self.rows: list[TakeWeek] = []
        self.days: dict[str, int] = {}
        self.wait: int = 0
        self.kept_parts = 0
        """The kept shot footage, in parts of a frame."""
        self.one = one
        """So many parts are a frame."""

    @cached_property
    def cells(self) -> list[TakeWeek]:
        """The footage."""
        return [row for row in self.rows if row.den]

    @property
    def kept_ratio(self) -> tuple[int, int]:
        """Return the kept shot footage, in frames: a numerator over a denominator."""
        return self.kept_parts, self.one

    @property
    def minutes(self) -> int:
        """The minutes that were logged."""
        return sum([row.minutes for row in self.rows])

    @property
    def held(self) -> list[tuple[int, int]]:
        """The poses."""
        return [*map(_poses, self.rows)]

    @property
    def takes(self) -> frozenset[tuple[str, int]]:
        """The shots and takes with claims."""
        return frozenset(map(_take, self.cells))


class InOneDenominator:
    """The footage of take weeks, each as a number of the same parts of a frame.

    one: so many parts are a frame.
    """

    def __init__(self, rows: Iterable[TakeWeek]) -> None:
        dens = {row.den for row in rows if row.den}
        self.one = lcm(*dens)
        self._parts = {den: self.one // den for den in dens}

    def gathered(
        self, rows: Iterable[TakeWeek], part_of: Callable[[TakeWeek], K]
    ) -> dict[str, dict[K, GatheredWeeks]]:
        """Return everybody's work by parts, to which waits are still to be added."""
        found: dict[str, dict[K, GatheredWeeks]] = defaultdict(dict)
        parts, places = self._parts, PURPOSE_BITS
        for row in rows:
            of_person, part = found[row.person], part_of(row)
            own = of_person.get(part)
            if own is None:
                own = of_person[part] = GatheredWeeks(self.one)
            own.rows.append(row)
            if row.worked and row.week is not None:
                days = row.worked << places[row.purpose]
                own.days[row.week] = own.days.get(row.week, 0) | days
            if row.den:
                own.kept_parts += row.by_shot_kept * parts[row.den]
        return found

    def pieces(self, weeks: Iterable[GatheredWeeks], rate: FrameRate) -> list[WorkPiece]:
        """Return the pieces of one person's work week by week."""
        kept: dict[str, int] = {}
        claimed = []
        parts = self._parts
        for week in weeks:
            shots: dict[str, int] = {}
            for row in week.rows:
                shot = row.shot
                if row.claimed and shot is not None:
                    kept[shot] = kept.get(shot, 0) + row.by_shot_kept * parts[row.den]
                    shots[shot] = shots.get(shot, 0) | row.claimed
            claimed.append(shots)
        return pieces({shot: (own, self.one) for shot, own in kept.items()}, claimed, rate)


def weeks_together(parts: Iterable[GatheredWeeks]) -> GatheredWeeks:
    """Return some parts of one person's work together, which are in one denominator."""
    every = tuple(parts)
    if len(every) == 1:
        return every[0]
    own = GatheredWeeks(every[0].one if every else 1)
    for part in every:
        own.rows += part.rows
        for week, bits in part.days.items():
            own.days[week] = own.days.get(week, 0) | bits
        own.wait += part.wait
        own.kept_parts += part.kept_parts
    return own


class WorkOfSeveral(Divided):
    """What several people did in some weeks, together, as far as it is compared.

    weeks: all in one denominator.
    """

    def __init__(self, weeks: Iterable[GatheredWeeks]) -> None:
        self._weeks = tuple(weeks)
        self._rows = [*chain.from_iterable([week.rows for week in self._weeks])]

    @cached_property
    def _cells(self) -> list[TakeWeek]:
        return [row for row in self._rows if row.den]

    @property
    def totals(self) -> FootageTotals:
        """The footage, in frames."""
        return total_of(self._cells)

    @cached_property
    def kept(self) -> Exact:
        """Kept shot footage, in frames."""
        one = self._weeks[0].one if self._weeks else 1
        return exact_of((sum([week.kept_parts for week in self._weeks]), one))

    @cached_property
    def character_kept(self) -> Exact:
        """Kept character footage, in frames."""
        return sum_of_ratios([(row.character_kept, row.den) for row in self._cells])

    @property
    def shoot_days(self) -> int:
        """Return the days with a shoot take, of each person."""
        bits = chain.from_iterable([week.days.values() for week in self._weeks])
        return days_in(SHOOT, bits)

    @property
    def poses(self) -> Exact:
        """Return the poses."""
        return sum_of_ratios(map(_poses, self._rows))

    @property
    def wait(self) -> int:
        """Return the minutes of waiting for repairs."""
        return sum([week.wait for week in self._weeks])

    @property
    def shots(self) -> set[str]:
        """Return the shots with claims."""
        return {row.shot for row in self._cells if row.shot is not None}


class KeptWork(NearRepairs, Protocol):
    """Reads what is kept of everybody's work."""

    def take_weeks(self, period: Period) -> Sequence[TakeWeek]:
        """Read everybody's work in a period by take and week, as ``take_weeks`` makes it of all
        that is in the period."""

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
