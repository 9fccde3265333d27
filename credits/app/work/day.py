"""The day at a glance: what was logged where, what and who is missing, what is asked about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from credits.app.production import open_snapshot
from credits.app.work.entries import place, thing
from credits.app.work.named import fact_named
from credits.checks.answers import CheckNames, open_and_settled
from credits.checks.chosen import CheckFilter
from credits.checks.rule import Check
from credits.figures.renewal import Depth
from credits.footage.day import DayOfWork, WorkplaceDay, day_of_work, lacking
from credits.model.ledger import Entry, Ledger
from credits.units.film_time import Period
from credits.units.table import Column, Table, Unit

MISSING = {"frames": "frames", "minutes": "minutes", "finished_on": "day"}
"""What a complete entry has, by the column that would hold it, in words."""


@dataclass(frozen=True, slots=True)
class DayAtAGlance:
    """A day of a production, and the open questions that its entries are part of.

    The entries without a day that were written down on it count as its own. names: what the
    questions are called.
    """

    ledger: Ledger
    work: DayOfWork
    questions: tuple[Check, ...]
    names: CheckNames


def day_at_a_glance(folder: Path, on: date, stage: str | None = None) -> DayAtAGlance:
    """Look at a day; stage: at what was done on this stage alone. Raises WrongCall."""
    snapshot = open_snapshot(folder, Depth.CHECKS)
    ledger = snapshot.ledger
    work, stages = day_of_work(ledger, on), None
    if stage:
        code = fact_named("stages", stage, ledger.stages.values()).code
        stages = frozenset({code})
        work = replace(
            work,
            places=tuple(each for each in work.places if each.place.stage == code),
            undated=tuple(entry for entry in work.undated if entry.stage == code),
        )
    wanted = CheckFilter(period=Period(on, on), stages=stages)
    undated = {entry.number for entry in work.undated}
    numbers = {entry.number for entry in ledger.entries_by_day.get(on, ())}
    near, _ = open_and_settled(snapshot.checks_near(on, numbers | undated), ledger)
    dated = set(wanted.of(near, ledger))
    asked = tuple(c for c in near if c in dated or not undated.isdisjoint(c.entries))
    return DayAtAGlance(ledger, work, asked, CheckNames(snapshot.checks_like(asked)))


def expected(
    ledger: Ledger, places: Iterable[WorkplaceDay]
) -> tuple[tuple[WorkplaceDay, ...], tuple[WorkplaceDay, ...]]:
    """Part places into those where work is logged, and departments that have no craft at all."""
    departments = {craft.department for craft in ledger.crafts.values()}
    own: list[WorkplaceDay] = []
    others: list[WorkplaceDay] = []
    for each in places:
        is_own = each.place.stage or each.place.department in departments
        (own if is_own or each.entries or each.before else others).append(each)
    return tuple(own), tuple(others)


def missing(ledger: Ledger, entry: Entry) -> str:
    """Say what an entry has not: ``frames, minutes``; empty for a complete one."""
    return ", ".join(MISSING[column] for column in lacking(ledger, entry))


def on_what(ledger: Ledger, entry: Entry) -> str:
    """Say what an entry is on, and where: ``Wick (wick-1) in 010-020 take 2``; without frames."""
    return thing(entry.work, ledger) + place(replace(entry.work, frames=None))


def entries_table(ledger: Ledger, entries: Iterable[Entry]) -> Table:
    """Return the table of a day's entries: who, craft, on what, frames, minutes, what is missing.

    A column in which no row has anything is left out.
    """
    columns = (
        Column(key="entry", heading="entry", unit=Unit.CODE),
        Column(key="person", heading="person"),
        Column(key="craft", heading="craft"),
        Column(key="on", heading="on"),
        Column(key="frames", heading="frames", unit=Unit.RANGES),
        Column(key="minutes", heading="minutes", unit=Unit.MINUTES, adds_up=True),
        Column(key="missing", heading="missing"),
    )
    rows = (
        (
            str(entry.number),
            ledger.people[entry.person].credit_name,
            ledger.crafts[entry.craft].name,
            on_what(ledger, entry),
            entry.work.frames,
            entry.work.minutes,
            missing(ledger, entry),
        )
        for entry in entries
    )
    made = Table.of("", columns, rows)
    return made.without(*(key for key in ("frames", "missing") if not any(made.column(key))))
