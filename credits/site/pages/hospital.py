"""The puppet hospital: what waits for repair, what is in work, what is back, how long it took."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial

from credits.editions import Crew, Edition
from credits.model.words import counted
from credits.review.hospital import (
    Repair,
    RepairState,
    RepairSum,
    repair_sum,
    repairs,
    repairs_by,
)
from credits.site import links
from credits.site.links import About, Link, Page, linked_day
from credits.site.source import PageSource
from credits.units.film_time import day_text
from credits.units.table import Column, Marked, Table, Unit, columns

LATELY = 7
"""Days before the last day of the log in which what came back is shown by itself."""
MOST_LISTED = 300
"""Repairs in the list of all; the pages of puppets have every one."""
NO_PUPPET = "on no one puppet"
NO_CHARACTER = "on no one character"
_OFFICE = columns(
    Unit.MINUTES,
    edition=Edition.OFFICE,
    nothing="",
    minutes="Work, minutes",
    wait="Wait, minutes",
)
REPAIR_COLUMNS = (
    *columns(puppet="Puppet", part="Part"),
    *columns(Unit.DAY, since="Begun", back="Back since"),
    *columns(Unit.NUMBER, nothing="", days="Days", shoot_days="Shoot days"),
    Column(key="shot", heading="For shot", unit=Unit.CODE),
    Column(key="person", heading="By"),
    *_OFFICE,
    Column(key="note", heading="Note", unit=Unit.NOTE),
)
SUM_COLUMNS = (
    Column(key="what", heading="Puppet"),
    Column(key="times", heading="Repairs", unit=Unit.NUMBER),
    *columns(Unit.NUMBER, nothing="", waiting="Waiting", in_work="In work"),
    *columns(Unit.NUMBER, nothing="", days="Days in repair", shoot_days="Shoot days"),
    *columns(Unit.NUMBER, nothing="", longest="Longest, days"),
    Column(key="back", heading="Last back", unit=Unit.DAY),
    *_OFFICE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HospitalPage:
    """The puppet hospital.

    as_of: the last day of the log, up to which is counted. waiting, in_work, back: repairs that
    wait, that were begun, that were finished in the last LATELY days; every: the latest of all.
    left_out: how many more there are.
    """

    as_of: Crew[str] = ""
    empty: Crew[bool] = True
    said: Crew[str] = ""
    waiting: Crew[Table | None] = None
    in_work: Crew[Table | None] = None
    back: Crew[Table | None] = None
    lately: Crew[str] = f"{LATELY} days"
    puppets: Crew[Table | None] = None
    characters: Crew[Table | None] = None
    every: Crew[Table | None] = None
    count: Crew[str] = ""
    left_out: Crew[str] = ""


def _rows(source: PageSource, own: Iterable[Repair]) -> Iterator[tuple[object, ...]]:
    for repair in own:
        entry = repair.entry
        part = entry.part
        work = entry.work
        what: object = tuple(map(source.puppet, repair.puppets))
        if not what and repair.character is not None:
            what = source.character(repair.character)
        asked = repair.state is RepairState.WAITS
        yield (
            what or None,
            None if part is None else f"{source.ledger.parts[part].kind} {part}",
            linked_day(repair.since)
            if repair.since is not None
            else Marked(value="undated", sort=""),
            linked_day(entry.finished_on) if entry.finished_on is not None else None,
            repair.days,
            None if repair.days is None else repair.shoot_days,
            source.shot(entry.shot) if entry.shot is not None else None,
            source.person(entry.person),
            None if asked else work.minutes,
            work.wait_minutes or None,
            source.note(entry),
        )


def _repairs(
    source: PageSource, caption: str, own: Iterable[Repair], since: str, *without: str
) -> Table | None:
    """Return a table of repairs; since: what their first day is called. None where there are
    none."""
    table = Table.of(caption, REPAIR_COLUMNS, _rows(source, own))
    if not table:
        return None
    named = tuple(
        Column(key=c.key, heading=since, unit=c.unit) if c.key == "since" else c
        for c in table.columns
    )
    renamed = Table.of(caption, named, table.rows)
    return renamed.without_empty("part", "shot", "minutes", "wait", "note").without(*without)


def _sums(
    caption: str, heading: str, rows: Iterable[tuple[Link | str, RepairSum]], whole: RepairSum
) -> Table:
    def values(own: RepairSum) -> tuple[object, ...]:
        return (
            *(own.repairs, own.waiting or None, own.in_work or None),
            *(own.days or None, own.shoot_days if own.days else None, own.longest or None),
            *(own.back_on, own.minutes or None, own.wait or None),
        )

    first = Column(key="what", heading=heading)
    keys = [column.key for column in SUM_COLUMNS[1:]]
    table = Table(
        caption=caption,
        columns=(first, *SUM_COLUMNS[1:]),
        rows=tuple((name, *values(own)) for name, own in rows),
        label="all repairs, each once",
        totals=dict(zip(keys, values(whole), strict=True)),
    )
    return table.without_empty("waiting", "in_work", "minutes", "wait")


def _by(
    every: Iterable[Repair],
    keys: Callable[[Repair], Iterable[str | None]],
    codes: Mapping[str, object],
    name: Callable[[str], Link],
    none: str,
) -> list[tuple[Link | str, RepairSum]]:
    found = repairs_by(every, keys)
    return [
        (name(code) if code is not None else none, found[code])
        for code in (*codes, None)
        if code in found
    ]


def _said(waiting: int, in_work: int) -> str:
    if not waiting and not in_work:
        return "Nothing waits for repair, and nothing is in work."
    waits = (
        counted(waiting, "repair waits", "repairs wait") if waiting else "Nothing waits for repair"
    )
    return f"{waits}, {in_work:,} in work." if in_work else f"{waits}; nothing is in work."


class _Hospital:
    """What the page is made of, computed once."""

    def __init__(self, source: PageSource) -> None:
        self._source = source

    @property
    def shoot_days(self) -> set[date]:
        """Return the days on which the unit shot."""
        return self._source.results.footage.shot_days

    def also(self) -> object:
        """Return what the page shows beside the repairs, where there are any."""
        ledger = self._source.ledger
        if not any(ledger.by_craft.get(c.code) for c in ledger.crafts.values() if c.repair):
            return None
        return ledger.last_day, sorted(self.shoot_days)

    def page(self) -> HospitalPage:
        """Return everything that the page shows."""
        source, ledger = self._source, self._source.ledger
        every = repairs(ledger, self.shoot_days)
        states = {state: [r for r in every if r.state is state] for state in RepairState}
        last = ledger.last_day
        back = sorted(
            states[RepairState.BACK],
            key=lambda r: (r.entry.finished_on or date.min, r.entry.number),
            reverse=True,
        )
        since = date.fromordinal(max(last.toordinal() - LATELY + 1, 1)) if last else date.min
        lately = [r for r in back if (r.entry.finished_on or date.min) >= since]
        waiting = sorted(states[RepairState.WAITS], key=lambda r: r.entry.logged_on)
        in_work = sorted(states[RepairState.IN_WORK], key=lambda r: r.since or date.min)
        listed = [*waiting, *in_work, *back, *states[RepairState.UNDATED]]
        whole = repair_sum(every)
        puppets = _by(
            every, lambda r: r.puppets or (None,), ledger.puppets, source.puppet, NO_PUPPET
        )
        characters = _by(
            every, lambda r: (r.character,), ledger.characters, source.character, NO_CHARACTER
        )
        over = len(listed) - MOST_LISTED
        no_time = ("back", "minutes")
        return HospitalPage(
            as_of=day_text(last) if last else "",
            empty=not every,
            said=_said(len(waiting), len(in_work)),
            waiting=_repairs(source, "Waiting for repair", waiting, "Asked for", *no_time),
            in_work=_repairs(source, "In work", in_work, "Begun", "back"),
            back=_repairs(source, "Back lately", lately, "Begun", "since"),
            puppets=_sums("Repairs by puppet", "Puppet", puppets, whole) if every else None,
            characters=_sums("Repairs by character", "Character", characters, whole)
            if every
            else None,
            every=_repairs(source, "All repairs", listed[:MOST_LISTED], "Asked for, or begun"),
            count=counted(len(listed), "repair"),
            left_out=f"{over:,}" if over > 0 else "",
        )


def hospital_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of the puppet hospital. For the crew and the office."""
    made = _Hospital(source)
    about = About("repairs", "", partial(_Hospital.also, made))
    yield Page(links.HOSPITAL, "hospital.html", "Hospital", links.HOSPITAL, made.page, about)
