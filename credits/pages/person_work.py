"""What a person did: crafts and characters, jobs, things built, repairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from credits.compute.hand import Via, build_target
from credits.editions import Crew, Everyone, Office
from credits.model.facts import Kind
from credits.model.ledger import Entry
from credits.names import direction
from credits.pages.page import Link
from credits.pages.person_ways import Ways
from credits.pages.source import PageSource
from credits.pages.words import day_text, days_between

REPAIR = "repair"


@dataclass(frozen=True, slots=True)
class CraftRow:
    """A craft opposite the characters it was done for."""

    craft: Everyone[Link]
    characters: Everyone[tuple[Link, ...]]
    days: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class JobRow:
    """An engagement; what the contract guarantees is the office's."""

    department: Crew[str] = ""
    job_title: Crew[str] = ""
    days: Crew[str] = ""
    guaranteed: Office[str] = ""
    billing: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ThingRow:
    """A character, puppet or part that the person worked on, and how far that reaches."""

    thing: Everyone[Link]
    kind: Everyone[str]
    crafts: Everyone[tuple[Link, ...]]
    days: Crew[str] = ""
    sort: Crew[str] = ""
    shots: Crew[str] = ""
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One mending."""

    day: Crew[str] = ""
    sort: Crew[str] = ""
    thing: Crew[Link | None] = None
    shot: Crew[Link | None] = None
    note: Crew[str] = ""
    minutes: Office[str] = ""
    wait: Office[str] = ""


def _span(entries: Iterable[Entry]) -> str:
    days = [entry.day for entry in entries if entry.day is not None]
    starts = [e.work.started_on or e.day for e in entries if e.day is not None]
    begun = [day for day in starts if day is not None]
    return days_between(min(begun), max(days)) if days else "undated"


def craft_rows(source: PageSource, entries: Iterable[Entry]) -> tuple[CraftRow, ...]:
    """Crafts in the order of the table, each with its characters in theirs."""
    by_craft: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_craft[entry.craft].append(entry)
    rows = []
    for code in source.ledger.crafts:
        own = by_craft.get(code)
        if own:
            named = {entry.character for entry in own}
            characters = [c for c in source.ledger.characters if c in named]
            links = tuple(source.character(character) for character in characters)
            rows.append(CraftRow(source.craft(code), links, _span(own)))
    return tuple(rows)


def job_rows(source: PageSource, person: str) -> tuple[JobRow, ...]:
    """The engagements of a person, as the crew list has them."""
    rows = []
    for job in source.ledger.engagements.get(person, ()):
        if job.starts_on is not None and job.ends_on is not None:
            days = days_between(job.starts_on, job.ends_on)
        elif job.starts_on is not None:
            days = f"from {day_text(job.starts_on)}"
        else:
            days = f"until {day_text(job.ends_on)}" if job.ends_on is not None else ""
        billing = str(job.billing_number) if job.billing_number is not None else ""
        rows.append(
            JobRow(job.department, job.job_title, days, job.guaranteed_heading or "", billing)
        )
    return tuple(rows)


def _thing(source: PageSource, via: Via, code: str) -> tuple[Link, str]:
    """The thing as people call it, and what kind of thing it is."""
    if via is Via.PUPPET:
        return source.puppet(code), "puppet"
    if via is Via.CHARACTER:
        return source.character(code), "character"
    return Link(code, None, direction(code)), source.ledger.parts[code].kind


def _places(source: PageSource) -> Mapping[tuple[Via, str], int]:
    ledger = source.ledger
    things = (
        *((Via.CHARACTER, code) for code in ledger.characters),
        *((Via.PUPPET, code) for code in ledger.puppets),
        *((Via.PART, code) for code in ledger.parts),
    )
    return {thing: at for at, thing in enumerate(things)}


class Things:
    """The things that people built. Made once for a site; ``ways`` None: reach is not shown."""

    def __init__(self, source: PageSource, ways: Ways | None) -> None:
        self._source = source
        self._ways = ways
        self._places = _places(source)

    def built(self, person: str, entries: Iterable[Entry]) -> tuple[ThingRow, ...]:
        """What the person built, in the order of the tables; repairs are told apart."""
        found: dict[tuple[Via, str], list[Entry]] = defaultdict(list)
        for entry in entries:
            if self._source.ledger.crafts[entry.craft].kind is Kind.BUILD:
                target = build_target(entry)
                if target is not None and entry.craft != REPAIR:
                    found[target].append(entry)
        return tuple(
            self._row(person, thing, found[thing])
            for thing in sorted(found, key=lambda thing: self._places[thing])
        )

    def _row(self, person: str, thing: tuple[Via, str], own: list[Entry]) -> ThingRow:
        link, kind = _thing(self._source, *thing)
        crafts = dict.fromkeys(entry.craft for entry in own)
        last = max((entry.day for entry in own if entry.day is not None), default=None)
        extent = self._ways.by_thing(person, *thing) if self._ways is not None else None
        return ThingRow(
            link,
            kind,
            tuple(self._source.craft(craft) for craft in crafts),
            _span(own),
            last.isoformat() if last is not None else "",
            f"{extent.shots:,}" if extent is not None else "",
            f"{extent.frames:,}" if extent is not None else "",
        )

    def repairs(self, entries: Iterable[Entry]) -> tuple[RepairRow, ...]:
        """Repairs, undated ones first, then by day."""
        own = [entry for entry in entries if entry.craft == REPAIR]
        rows = []
        for entry in sorted(own, key=lambda e: (e.day is not None, e.day, e.number)):
            target = build_target(entry)
            note, minutes, wait = entry.work.note, entry.work.minutes, entry.work.wait_minutes
            shown = note is not None and (self._source.office or not entry.work.private)
            rows.append(
                RepairRow(
                    day_text(entry.day),
                    entry.day.isoformat() if entry.day is not None else "",
                    _thing(self._source, *target)[0] if target is not None else None,
                    self._source.shot(entry.shot) if entry.shot is not None else None,
                    (note or "") if shown else "",
                    f"{minutes:,} min" if minutes is not None else "",
                    f"{wait:,} min" if wait is not None else "",
                )
            )
        return tuple(rows)
