"""Chance that is the same everywhere, and the days on which the production works."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from random import Random
from typing import TypeVar

T = TypeVar("T")

SEED = "a quarter-tone flat"
FIRST_DAY = date(2026, 1, 12)
LAST_DAY = date(2026, 4, 17)
CLOSED = frozenset({date(2026, 4, 3), date(2026, 4, 6)})


class Chance:
    """Draws that depend on the seed and a key alone, so that a new shot leaves the others as is.

    Only ``Random.random`` is used: its sequence is the same in every version of Python.
    """

    def __init__(self, *key: object) -> None:
        self._random = Random(f"{SEED}/{'/'.join(str(k) for k in key)}")

    def below(self, n: int) -> int:
        """A whole number from 0 to n - 1."""
        return int(self._random.random() * n)

    def between(self, low: int, high: int, step: int = 1) -> int:
        """A number from low to high, both possible, in steps."""
        return low + step * self.below((high - low) // step + 1)

    def of(self, things: Sequence[T]) -> T:
        """One of the things."""
        return things[self.below(len(things))]

    def happens(self, percent: int) -> bool:
        """True in so many of a hundred cases."""
        return self.below(100) < percent

    def mixed(self, things: Sequence[T]) -> list[T]:
        """All the things in another order."""
        rest = list(things)
        return [rest.pop(self.below(len(rest))) for _ in range(len(rest))]


def works(day: date) -> bool:
    """Whether anybody is in: Monday to Friday, not at Easter, not between the years."""
    between_years = (day.month, day.day) >= (12, 22) or (day.month, day.day) <= (1, 4)
    return day.weekday() < 5 and day not in CLOSED and not between_years


def workdays(start: date) -> Iterator[date]:
    """The working days from a date on, that date included when it is one."""
    day = start
    while True:
        if works(day):
            yield day
        day += timedelta(days=1)


def next_workday(day: date) -> date:
    """The first working day after a date."""
    return next(workdays(day + timedelta(days=1)))
