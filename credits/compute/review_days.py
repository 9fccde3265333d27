"""What each animator did on each day on each shot: the smallest sums that a review adds up (3.7).

Every figure of a review is a sum of these, so figures by week add up to those of the period.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from credits.compute.review_waits import Wait, waits_by_person
from credits.footage.claims import Claim, Exact, TakeRuns
from credits.footage.footage import NO_FOOTAGE, Footage, FootageTotals
from credits.model.facts import EntryNumber, Purpose
from credits.model.ledger import Entry, Ledger


@dataclass(frozen=True, slots=True)
class DayWork:
    """One animator's work on one shot on one day.

    ``day`` None: undated. ``shot`` None: work of a footage craft that names no shot, or waits for
    repairs that belong to no one shot. ``takes``: those with claims. ``purposes``: of the takes
    that were worked on; none of them for waits alone. ``poses`` and ``totals`` are exact.
    """

    day: date | None
    shot: str | None
    totals: FootageTotals
    takes: frozenset[int]
    purposes: frozenset[Purpose]
    minutes: int
    poses: Exact
    waits: tuple[Wait, ...]


@dataclass(slots=True)
class _Sum:
    totals: FootageTotals = NO_FOOTAGE
    takes: set[int] = field(default_factory=set)
    purposes: set[Purpose] = field(default_factory=set)
    minutes: int = 0
    poses: Exact = 0
    waits: list[Wait] = field(default_factory=list)


_Sums = dict[tuple[date | None, str | None], _Sum]


def purpose_of(ledger: Ledger, entry: Entry) -> Purpose:
    """What the take of a footage entry was for; work on no shot counts as shoot."""
    if entry.shot is None or entry.take is None:
        return Purpose.SHOOT
    return ledger.take(entry.shot, entry.take).purpose


def _counting(claim: Claim, entries: Mapping[EntryNumber, Entry]) -> Entry:
    """The entry that gives a claim its frames: the largest share, of equals the earliest."""
    own = (entries[number] for number in claim.entries)
    return min(own, key=lambda entry: (-(entry.work.share or 1), entry.number))


def _poses(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]
) -> Iterator[tuple[str, date | None, str, Exact]]:
    """Person, day, shot and poses of every kept claim: its frames / frames per pose (3.7)."""
    entries = {entry.number: entry for entry in ledger.entries}
    for (shot, _), own in runs.items():
        for run in own.runs:
            for layer in run.kept:
                for claim in layer.claims:
                    held = _counting(claim, entries).work.poses_on or 1
                    portion = Fraction(claim.portion)
                    poses = Fraction(run.length * portion.numerator, held * portion.denominator)
                    yield claim.person, layer.day, shot, poses


def day_works(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], footage: Footage
) -> dict[str, tuple[DayWork, ...]]:
    """The work of everybody with entries of a footage craft, by person; by day, undated first.

    In: the ledger, the runs of its takes and its footage. One walk over each.
    """
    places = {shot: place for place, shot in enumerate(ledger.shots)}
    people: dict[str, _Sums] = defaultdict(lambda: defaultdict(_Sum))
    for entry in ledger.entries:
        if ledger.is_footage(entry):
            own = people[entry.person][entry.day, entry.shot]
            own.minutes += entry.work.minutes or 0
            own.purposes.add(purpose_of(ledger, entry))
    for cell in footage.cells:
        own = people[cell.person][cell.day, cell.shot]
        own.totals += cell.totals
        own.takes.add(cell.take)
    for person, day, shot, poses in _poses(ledger, runs):
        people[person][day, shot].poses += poses
    for person, waits in waits_by_person(ledger).items():
        for wait in waits:
            people[person][wait.day, wait.shot].waits.append(wait)
    return {person: _in_order(sums, places) for person, sums in people.items()}


def _in_order(sums: _Sums, places: Mapping[str, int]) -> tuple[DayWork, ...]:
    def order(key: tuple[date | None, str | None]) -> tuple[date, int]:
        day, shot = key
        return (day or date.min, len(places) if shot is None else places[shot])

    return tuple(
        DayWork(
            *key,
            sums[key].totals,
            frozenset(sums[key].takes),
            frozenset(sums[key].purposes),
            sums[key].minutes,
            sums[key].poses,
            tuple(sums[key].waits),
        )
        for key in sorted(sums, key=order)
    )
