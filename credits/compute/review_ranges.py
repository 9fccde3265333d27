"""The unit's range beside one person's figures: the others in the same weeks, without names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from credits.compute.review_figures import Figures, Of, figures_together
from credits.footage.claims import Exact

LEAST_OTHERS = 3

# Everybody's value of one figure, with the person, from the lowest to the highest.
_Values = list[tuple[Exact, str]]


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and the highest figure of the others, exactly, and how many others have one."""

    low: Exact
    high: Exact
    others: int


def _without(values: _Values, person: str) -> Range | None:
    """The range of all values but the person's; None where fewer than three others have one."""
    others = [each for each in values if each[1] != person]
    if len(others) < LEAST_OTHERS:
        return None
    return Range(others[0][0], others[-1][0], len(others))


class Unit:
    """Everybody's figures by the weeks in which they animated. Each is looked at once."""

    def __init__(
        self, by_week: Mapping[str, Mapping[str, Figures]], names: Mapping[str, Of]
    ) -> None:
        self._by_week = by_week
        self._names = names
        self._values: dict[str, dict[str, _Values]] = {}
        self._totals: dict[str, Figures] = {}

    def _all_values(self, figures: Iterable[tuple[str, Figures]]) -> dict[str, _Values]:
        own = tuple(figures)
        found: dict[str, _Values] = {}
        for name, of in self._names.items():
            values = [(value, person) for person, f in own if (value := of(f)) is not None]
            found[name] = sorted(values)
        return found

    @staticmethod
    def _ranges(values: Mapping[str, _Values], person: str) -> dict[str, Range]:
        ranges = {name: _without(own, person) for name, own in values.items()}
        return {name: found for name, found in ranges.items() if found is not None}

    def ranges_of_week(self, person: str, week: str) -> dict[str, Range]:
        """The others' ranges in one week, by the name of the figure."""
        known = self._values.get(week)
        if known is None:
            own = ((p, weeks[week]) for p, weeks in self._by_week.items() if week in weeks)
            known = self._values[week] = self._all_values(own)
        return self._ranges(known, person)

    def _in_weeks(self, person: str, weeks: Iterable[str]) -> Figures | None:
        """Somebody's figures in some weeks; None where they did not animate in any of them."""
        own = self._by_week[person]
        shared = [week for week in own if week in weeks]
        if len(shared) < len(own):
            return figures_together(own[week] for week in shared) if shared else None
        if own and person not in self._totals:
            self._totals[person] = figures_together(own.values())
        return self._totals.get(person)

    def ranges(self, person: str) -> tuple[dict[str, Range], int]:
        """The others' ranges over the weeks in which the person animated, by the name of the
        figure, and how many others animated then."""
        weeks = self._by_week[person].keys()
        others = [
            (other, figures)
            for other in self._by_week
            if other != person and (figures := self._in_weeks(other, weeks)) is not None
        ]
        return self._ranges(self._all_values(others), person), len(others)
