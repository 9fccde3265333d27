"""Time: minutes logged, stage days, waits, and the pace that follows (rule 3.7)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.model.facts import Purpose
from credits.model.ledger import Entry, Ledger


@dataclass(frozen=True, slots=True)
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
    """The time that some entries log: minutes in all, and the stage days by purpose."""
    minutes = 0
    days: dict[Purpose, set[date]] = defaultdict(set)
    for entry in entries:
        minutes += entry.work.minutes or 0
        if entry.day is None or not ledger.is_footage(entry):
            continue
        purpose = Purpose.SHOOT
        if entry.shot is not None and entry.take is not None:
            purpose = ledger.take(entry.shot, entry.take).purpose
        days[purpose].add(entry.day)
    return WorkTime(
        minutes,
        frozenset().union(*days.values()) if days else frozenset(),
        frozenset(days[Purpose.SHOOT]),
        frozenset(days[Purpose.BLOCK]),
        frozenset(days[Purpose.REHEARSAL]),
    )
