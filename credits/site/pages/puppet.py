"""A puppet's page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from credits.cautions import MATERIALS_CAUTION
from credits.editions import Crew, Edition, Everyone
from credits.figures.results import Results
from credits.model.facts import Fitting, Puppet
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.links import linked_day
from credits.site.page import Link, Page
from credits.site.pages.character import KEPT, WAIT, Credited
from credits.site.source import PageSource, worked_days
from credits.site.strips import (
    Days,
    RowSpec,
    Strip,
    TickSpec,
    day_blocks,
    entry_days,
    month_marks,
    strip,
)
from credits.site.words import days_between
from credits.units.film_time import day_text
from credits.units.frames import Frames
from credits.units.table import Column, Marked, Table, Unit

STILL_FITTED = "still fitted"


@dataclass(frozen=True, slots=True, kw_only=True)
class InShot:
    """The frames of a take that hold the puppet, as kept: who moved it, from when to when."""

    shot: str
    take: int
    frames: Frames
    people: frozenset[str]
    days: Days | None


def takes_of_puppets(results: Results) -> Mapping[str, list[InShot]]:
    """Find for each puppet the takes that it is in, in the order of the shots."""
    takes: dict[str, list[InShot]] = defaultdict(list)
    for (shot, take), own in results.runs.items():
        ranges: dict[str, list[tuple[int, int]]] = defaultdict(list)
        people: dict[str, set[str]] = defaultdict(set)
        days: dict[str, set[date]] = defaultdict(set)
        for run in own.runs:
            for layer in run.kept:
                for claim in layer.claims:
                    for puppet in claim.puppets:
                        ranges[puppet].append((run.first, run.stop))
                        people[puppet].add(claim.person)
                        if layer.day is not None:
                            days[puppet].add(layer.day)
        for puppet, found in ranges.items():
            dated = days[puppet]
            takes[puppet].append(
                InShot(
                    shot=shot,
                    take=take,
                    frames=Frames.of(*found),
                    people=frozenset(people[puppet]),
                    days=(min(dated), max(dated)) if dated else None,
                )
            )
    return takes


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """The days of a puppet. A fitting without an end is still on."""

    puppet: Puppet
    built: tuple[Days, ...]
    fitted: tuple[Fitting, ...]
    shot: tuple[Days, ...]
    repaired: tuple[Days, ...]

    @property
    def marks(self) -> tuple[tuple[date, str], ...]:
        """Return the days of the puppet that have a name."""
        told = ((self.puppet.ready_on, "ready"), (self.puppet.retired_on, "retired"))
        return tuple((day, word) for day, word in told if day is not None)

    def last_day(self, today: date | None) -> date | None:
        """Return the last day that the time line needs.

        today: the last day of the log, to which what is still fitted goes on.
        """
        ends = [last for days in (self.built, self.shot, self.repaired) for _, last in days]
        ends += [day for f in self.fitted for day in (f.from_on, f.to_on) if day]
        if any(f.to_on is None for f in self.fitted) and today is not None:
            ends.append(today)
        return max([*ends, *(day for day, _ in self.marks)], default=None)

    def fitted_days(self, end: date) -> tuple[Days, ...]:
        """Return the fittings as days; one that is still on lasts to the retirement, or the end."""
        until = self.puppet.retired_on or end
        return tuple((f.from_on, max(f.to_on or until, f.from_on)) for f in self.fitted)

    def strip(self, name: str, today: date | None) -> Strip | None:
        """Draw the puppet's time line; None where nothing of it is dated."""
        end = self.last_day(today)
        if end is None:
            return None
        rows = (
            ("built", self.built),
            ("parts fitted", self.fitted_days(end)),
            ("shot", self.shot),
            ("repaired", self.repaired),
        )
        specs = [
            RowSpec(what, day_blocks(what, days, place))
            for place, (what, days) in enumerate(rows)
            if days
        ]
        if not specs:
            return None
        days = [day for _, own in rows for span in own for day in span]
        days += [day for day, _ in self.marks]
        first, last = min(days), max(days)
        marks = [TickSpec(day.toordinal(), above=word) for day, word in self.marks]
        title = f"The life of {name}. The same is in the table."
        span = (first.toordinal(), last.toordinal() + 1)
        return strip(title, specs, span, [*month_marks(first, last), *marks])

    def table(self, name: str, told: Mapping[str, str]) -> Table:
        """Return the time line as a table, in the order of the days.

        told: how often each thing was, by what it was.
        """
        rows: list[tuple[Any, ...]] = []
        stretches = (("built", self.built), ("shot", self.shot), ("repaired", self.repaired))
        for what, days in stretches:
            if days:
                rows.append((what, days[0][0], max(end for _, end in days), told[what]))
        if self.fitted:
            ends = [fitting.to_on for fitting in self.fitted]
            until = max(day for day in ends if day) if all(ends) else STILL_FITTED
            first = min(fitting.from_on for fitting in self.fitted)
            rows.append(("parts fitted", first, until, told["parts fitted"]))
        rows += [(what, day, None, None) for day, what in self.marks]
        return Table(
            caption=f"The life of {name}",
            columns=(
                Column(key="what", heading="What"),
                Column(key="first", heading="From", unit=Unit.DAY),
                Column(key="last", heading="To", unit=Unit.DAY),
                Column(key="times", heading="How much"),
            ),
            rows=tuple(sorted(rows, key=lambda row: row[1])),
        )


def days_of(entries: Iterable[Entry]) -> tuple[Days, ...]:
    """Return the days of the dated entries, from and to, in order."""
    return tuple(sorted(days for e in entries if (days := entry_days(e)) is not None))


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetPage:
    """Everything the puppet's page shows."""

    name: Everyone[Link]
    code: Everyone[str]
    character: Everyone[Link]
    scale: Everyone[str]
    picture: Everyone[str]
    built_by: Everyone[tuple[Credited, ...]]
    for_every_copy: Everyone[tuple[Credited, ...]]
    fitted: Everyone[Table]
    materials: Everyone[str]
    note: Crew[str] = ""
    ready: Crew[str] = ""
    retired: Crew[str] = ""
    shot_count: Crew[str] = ""
    repairs_count: Crew[str] = ""
    has_cut: Crew[bool] = False
    kept: Crew[str] = ""
    in_cut: Crew[str] = ""
    time_line: Crew[Strip | None] = None
    life: Crew[Table | None] = None
    repairs: Crew[Table | None] = None
    shots: Crew[Table | None] = None


class _PuppetPages:
    """What is the same for all puppets, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = takes_of_puppets(source.results)
        self.crafts = {code: at for at, code in enumerate(source.ledger.crafts)}
        self.on_character: dict[str, list[Entry]] = defaultdict(list)
        for entry in source.ledger.entries:
            whole = entry.puppet is None and entry.part is None and entry.character is not None
            if whole and source.makes(entry):
                self.on_character[entry.character or ""].append(entry)

    def builders(self, entries: Iterable[Entry]) -> tuple[Credited, ...]:
        """Return who built, in the order in which they began; undated work is the earliest."""
        works: dict[tuple[str, str], list[Entry]] = defaultdict(list)
        for entry in entries:
            works[entry.craft, entry.person].append(entry)

        def order(key: tuple[str, str]) -> tuple[object, ...]:
            days = [e.work.started_on or e.day or date.min for e in works[key]]
            return (min(days), self.crafts[key[0]], self.source.name_order(key[1]))

        rows = []
        for craft, person in sorted(works, key=order):
            link = self.source.person(person)
            if link is not None:
                days = worked_days(works[craft, person])
                span = days_between(*days) if days else ""
                rows.append(Credited(craft=self.source.craft(craft), person=link, days=span))
        return tuple(rows)

    def fitted(self, name: str, fittings: Iterable[Fitting]) -> Table:
        """Return the parts by the day they were fitted; without days each part stands once."""
        rows = []
        known: set[str] = set()
        for fitting in sorted(fittings, key=lambda f: (f.from_on, f.part)):
            if fitting.part in known and not self.source.crew:
                continue
            known.add(fitting.part)
            rows.append(
                (
                    fitting.part,
                    self.ledger.parts[fitting.part].kind,
                    self.source.makers_of_part(fitting.part),
                    fitting.from_on,
                    fitting.to_on or Marked(value=STILL_FITTED, sort="9999"),
                )
            )
        return Table(
            caption=f"Parts fitted to {name}",
            columns=(
                Column(key="part", heading="Part", unit=Unit.CODE),
                Column(key="kind", heading="Kind"),
                Column(key="makers", heading="Made by"),
                Column(key="first", heading="From", unit=Unit.DAY, edition=Edition.CREW),
                Column(key="last", heading="To", unit=Unit.DAY, edition=Edition.CREW),
            ),
            rows=tuple(rows),
        )

    def repairs_of(self, code: str, fittings: Iterable[Fitting]) -> list[Entry]:
        """Return repairs of the puppet, and of parts on a day on which it wore them, by day."""
        found = list(self.ledger.entries_by_puppet.get(code, ()))
        for fitting in fittings:
            found += [
                entry
                for entry in self.ledger.entries_by_part.get(fitting.part, ())
                if entry.puppet is None and entry.day is not None and fitting.holds_on(entry.day)
            ]
        unique = {entry.number: entry for entry in found if self.source.is_repair(entry)}
        return sorted(unique.values(), key=lambda e: (e.day or date.min, e.number))

    def repairs(self, name: str, entries: Iterable[Entry]) -> Table:
        """Return the repairs; the column of parts stands only where a part was repaired."""
        rows = []
        for entry in entries:
            person = self.source.person(entry.person)
            if person is not None:
                rows.append(
                    (
                        linked_day(entry.day),
                        person,
                        entry.part,
                        self.source.shot(entry.shot) if entry.shot else None,
                        entry.work.wait_minutes or None,
                        self.source.note(entry),
                    )
                )
        return Table(
            caption=f"Repairs of {name}",
            columns=(
                Column(key="day", heading="Day", unit=Unit.DAY),
                Column(key="person", heading="By"),
                Column(key="part", heading="Part", unit=Unit.CODE),
                Column(key="shot", heading="On shot", unit=Unit.CODE),
                WAIT,
                Column(key="note", heading="Note", unit=Unit.NOTE),
            ),
            rows=tuple(rows),
        ).without_empty("part")

    def in_cut(self, at: InShot) -> int:
        """Return how many of the frames the cut uses."""
        use = self.source.results.use
        used = use.used.get((at.shot, at.take)) if use else None
        return (used & at.frames).count if used else 0

    def shots(self, name: str, takes: Iterable[InShot]) -> Table:
        """Return the takes that the puppet is in, and how much of it is kept."""
        rows = tuple(
            (
                self.source.shot(at.shot),
                at.take,
                self.source.names(at.people),
                at.days or "undated",
                at.frames,
                at.frames.count,
                self.in_cut(at) or None,
            )
            for at in takes
        )
        table = Table(
            caption=f"Shots of {name}",
            columns=(
                Column(key="shot", heading="Shot", unit=Unit.CODE),
                Column(key="take", heading="Take", unit=Unit.NUMBER),
                Column(key="animators", heading="Animated by"),
                Column(key="days", heading="Days", unit=Unit.DAY),
                Column(key="frames", heading="Frames", unit=Unit.RANGES),
                Column(key="kept", heading=KEPT, unit=Unit.FRAMES, adds_up=True),
                Column(
                    key="in_cut", heading="In the cut", unit=Unit.FRAMES, adds_up=True, nothing=""
                ),
            ),
            rows=rows,
            label="total",
        )
        return table if self.source.results.use is not None else table.without("in_cut")

    def page(self, code: str) -> PuppetPage:
        """Return everything that the page of a puppet shows."""
        ledger, source = self.ledger, self.source
        puppet = ledger.puppets[code]
        entries = ledger.entries_by_puppet.get(code, ())
        fittings = ledger.fittings_of_puppet.get(code, ())
        built = [entry for entry in entries if source.makes(entry)]
        repairs = self.repairs_of(code, fittings)
        takes = self.takes.get(code, [])
        life = Life(
            puppet=puppet,
            built=days_of(built),
            fitted=tuple(fittings),
            shot=days_of(entry for entry in entries if ledger.is_footage(entry)),
            repaired=days_of(repairs),
        )
        shots = len({at.shot for at in takes})
        told = {
            "built": counted(len(built), "entry", "entries"),
            "shot": f"kept in {counted(shots, 'shot')}" if shots else "",
            "repaired": counted(len(repairs), "repair"),
            "parts fitted": counted(len({fitting.part for fitting in fittings}), "part"),
        }
        name = source.puppet(code)
        built_by = self.builders(built)
        for_every_copy = self.builders(self.on_character.get(puppet.character, ()))
        handled = built_by or for_every_copy or fittings or repairs
        return PuppetPage(
            name=name,
            code=code,
            character=source.character(puppet.character),
            scale=puppet.scale or "",
            picture=source.pictures.get(code, ""),
            built_by=built_by,
            for_every_copy=for_every_copy,
            fitted=self.fitted(name.text, fittings),
            materials=MATERIALS_CAUTION if handled else "",
            note=puppet.note or "",
            ready=day_text(puppet.ready_on) if puppet.ready_on else "",
            retired=day_text(puppet.retired_on) if puppet.retired_on else "",
            shot_count=f"{shots:,}",
            repairs_count=f"{len(repairs):,}",
            has_cut=source.results.use is not None,
            kept=f"{sum(at.frames.count for at in takes):,}",
            in_cut=f"{sum(self.in_cut(at) for at in takes):,}",
            time_line=life.strip(name.text, ledger.last_day) if source.crew else None,
            life=life.table(name.text, told),
            repairs=self.repairs(name.text, repairs) if source.crew else None,
            shots=self.shots(name.text, takes) if source.crew else None,
        )


def puppet_pages(source: PageSource) -> Iterator[Page]:
    """Yield one page for every puppet, in the order of the table."""
    pages = _PuppetPages(source)
    for code in source.ledger.puppets:
        page = pages.page(code)
        yield Page(links.puppet_page(code), "puppet.html", page.name.text, links.CHARACTERS, page)
