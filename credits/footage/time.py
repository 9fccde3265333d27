"""Time: minutes logged, and stage days by purpose."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.model.facts import Purpose
from credits.model.ledger import Entry, Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTime:
    """A person's logged time. Days are distinct dates with entries of a footage craft.

    A day on which both a shoot and a block were worked is in both sets; undated work is in none.
    """

    minutes: int
    stage_days: frozenset[date]
    shoot_days: frozenset[date]
    block_days: frozenset[date]
    rehearsal_days: frozenset[date]


def work_time(ledger: Ledger, entries: Iterable[Entry]) -> WorkTime:
    """Return the time that some entries log: minutes in all, and the stage days by purpose."""
    minutes = 0
    days: dict[Purpose, set[date]] = defaultdict(set)
    for entry in entries:
        minutes += entry.work.minutes or 0
        if entry.day is not None and ledger.is_footage(entry):
            days[ledger.purpose(entry)].add(entry.day)
    return WorkTime(
        minutes=minutes,
        stage_days=frozenset[date]().union(*days.values()),
        shoot_days=frozenset(days[Purpose.SHOOT]),
        block_days=frozenset(days[Purpose.BLOCK]),
        rehearsal_days=frozenset(days[Purpose.REHEARSAL]),
    )
