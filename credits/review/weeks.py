"""What everybody did in each take in each week: what figures over weeks are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from functools import cache, lru_cache
from typing import NamedTuple, Protocol

from credits.footage.footage import Cell, cell_of
from credits.model.facts import Purpose
from credits.model.ledger import StageWork
from credits.review.days import Gathered, Poses, week_and_bit
from credits.review.waits import NearRepairs
from credits.units.rounding import ratio_of_sum


class TakeWeek(NamedTuple):
    """One person's work in a take in a week; week None: undated; shot None: on no one shot.

    purpose: of the take. minutes: logged on entries of crafts with footage. worked: the days with
    such entries; claimed: those on which frames were claimed; each day a bit, Monday the lowest.
    cell: the footage; None: no frames are claimed. held: the poses, a numerator over a denominator.
    """

    shot: str | None
    take: int | None
    person: str
    week: str | None
    purpose: Purpose
    minutes: int
    worked: int
    claimed: int
    cell: Cell | None
    held: tuple[int, int]

    def add_to(self, part: Gathered) -> None:
        """Add it to what figures over some of the person's work are made of."""
        part.minutes += self.minutes
        if self.week is not None and self.worked:
            part.days[self.purpose] |= days_of_week(self.week, self.worked)
        if self.cell is not None:
            part.cells.append(self.cell)
        part.held.append(self.held)


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
    placed = cache(week_and_bit)
    for person, day, shot, take, _, minutes in on_stage:
        week, bit = placed(day)
        own = found[shot, take, person, week]
        own.minutes += minutes or 0
        own.worked |= bit
    for cell in cells:
        week, bit = placed(cell.day)
        own = found[cell.shot, cell.take, cell.person, week]
        own.claimed |= bit
        own.cells.append(cell)
    for person, day, shot, take, ratio in poses:
        found[shot, take, person, placed(day)[0]].held.append(ratio)
    return [
        TakeWeek(
            *key,
            purpose_in(*key[:2]),
            own.minutes,
            own.worked,
            own.claimed,
            cell_of(own.cells) if own.cells else None,
            ratio_of_sum(own.held),
        )
        for key, own in found.items()
    ]


@lru_cache(maxsize=65536)
def days_of_week(week: str, bits: int) -> frozenset[date]:
    """Return those days of an ISO week of which the bits are set, Monday the lowest."""
    return frozenset(_days(week, bits))


def _days(week: str, bits: int) -> Iterator[date]:
    year, _, number = week.partition("-W")
    for day in range(7):
        if bits >> day & 1:
            yield date.fromisocalendar(int(year), int(number), day + 1)
