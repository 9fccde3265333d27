"""A person's crafts, shots and things."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from credits.editions import Crew, Everyone, Office
from credits.hands.hands import Via, build_target
from credits.model.facts import EntryNumber, Kind
from credits.model.ledger import Entry
from credits.names import direction
from credits.site.links import file_name
from credits.site.page import DataFile, Link
from credits.site.pages.person_reach import FilmPlaces, Ways
from credits.site.source import PageSource
from credits.site.words import days_between
from credits.text import guarded
from credits.units.film_time import day_text, timecode
from credits.units.frames import Frames, Range


@dataclass(frozen=True, slots=True)
class PersonCraftRow:
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
class PersonThingRow:
    """A character, puppet or part that the person worked on, and how far that reaches."""

    thing: Everyone[Link]
    kind: Everyone[str]
    crafts: Everyone[tuple[Link, ...]]
    days: Crew[str] = ""
    sort: Crew[str] = ""
    shots: Crew[str] = ""
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class PersonRepairRow:
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


def craft_rows(source: PageSource, entries: Iterable[Entry]) -> tuple[PersonCraftRow, ...]:
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
            rows.append(PersonCraftRow(source.craft(code), links, _span(own)))
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

    def built(self, person: str, entries: Iterable[Entry]) -> tuple[PersonThingRow, ...]:
        """What the person built, in the order of the tables; repairs are told apart."""
        found: dict[tuple[Via, str], list[Entry]] = defaultdict(list)
        for entry in entries:
            if self._source.ledger.crafts[entry.craft].kind is Kind.BUILD:
                target = build_target(entry)
                if target is not None and not self._source.ledger.is_repair(entry):
                    found[target].append(entry)
        return tuple(
            self._row(person, thing, found[thing])
            for thing in sorted(found, key=lambda thing: self._places[thing])
        )

    def _row(self, person: str, thing: tuple[Via, str], own: list[Entry]) -> PersonThingRow:
        link, kind = _thing(self._source, *thing)
        crafts = dict.fromkeys(entry.craft for entry in own)
        last = max((entry.day for entry in own if entry.day is not None), default=None)
        extent = self._ways.by_thing(person, *thing) if self._ways is not None else None
        return PersonThingRow(
            link,
            kind,
            tuple(self._source.craft(craft) for craft in crafts),
            _span(own),
            last.isoformat() if last is not None else "",
            f"{extent.shots:,}" if extent is not None else "",
            f"{extent.frames:,}" if extent is not None else "",
        )

    def repairs(self, entries: Iterable[Entry]) -> tuple[PersonRepairRow, ...]:
        """Repairs, undated ones first, then by day."""
        own = [entry for entry in entries if self._source.ledger.is_repair(entry)]
        rows = []
        for entry in sorted(own, key=lambda e: (e.day is not None, e.day, e.number)):
            target = build_target(entry)
            note, minutes, wait = entry.work.note, entry.work.minutes, entry.work.wait_minutes
            shown = note is not None and (self._source.office or not entry.work.private)
            rows.append(
                PersonRepairRow(
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


COLUMNS = (
    "shot", "sequence", "take", "craft", "character", "first", "last", "frames", "film_in",
    "film_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OwnWork:
    """Frames that somebody worked in, by craft and character. ``take`` None: every take."""

    shot: str
    take: int | None
    craft: str
    character: str | None
    frames: Frames


@dataclass(frozen=True, slots=True)
class PersonShotRow:
    """A row of the table of shots."""

    shot: Crew[Link | None] = None
    take: Crew[str] = ""
    craft: Crew[str] = ""
    character: Crew[Link | None] = None
    frames: Crew[str] = ""
    count: Crew[str] = ""
    screen: Crew[str] = ""
    film: Crew[str] = ""


def _claimed(source: PageSource, person: str) -> Iterable[tuple[OwnWork, Range]]:
    feet = source.results.footage_by_person.get(person)
    crafts: dict[EntryNumber, str] = {
        entry.number: entry.craft for entry in source.ledger.entries_by_person.get(person, ())
    }
    cells = feet.cells if feet is not None else ()
    for shot, take in dict.fromkeys((cell.shot, cell.take) for cell in cells):
        for run in source.results.runs[shot, take].runs:
            for layer in run.kept:
                for claim in layer.claims:
                    if claim.person == person:
                        for craft in dict.fromkeys(crafts[number] for number in claim.entries):
                            key = OwnWork(shot, take, craft, layer.character, Frames())
                            yield key, (run.first, run.stop)


def _logged(source: PageSource, person: str) -> Iterable[tuple[OwnWork, Range]]:
    crafts = source.ledger.crafts
    for entry in source.ledger.entries_by_person.get(person, ()):
        craft = crafts[entry.craft]
        if entry.shot is None or craft.kind is not Kind.PERFORMANCE or craft.footage:
            continue
        for stretch in (entry.frames or Frames()).ranges:
            yield (
                OwnWork(entry.shot, entry.take, craft.code, entry.character, Frames()),
                stretch,
            )


def own_work(source: PageSource, person: str) -> tuple[OwnWork, ...]:
    """What somebody did in shots: the frames they animated that are kept, and their other
    performance work there; in the order of the shots."""
    found: dict[OwnWork, list[Range]] = defaultdict(list)
    for key, stretch in (*_claimed(source, person), *_logged(source, person)):
        found[key].append(stretch)
    places = {shot: at for at, shot in enumerate(source.ledger.shots)}
    work = [
        OwnWork(key.shot, key.take, key.craft, key.character, Frames.of(*ranges))
        for key, ranges in found.items()
    ]
    work.sort(key=lambda w: (places[w.shot], w.take or 0, w.craft, w.character or ""))
    return tuple(work)


def shot_rows(
    source: PageSource, films: FilmPlaces, work: Iterable[OwnWork]
) -> tuple[PersonShotRow, ...]:
    """The table of shots of a person's page."""
    rows = []
    for own in work:
        spans = films.spans(own.shot, own.take, own.frames)
        shown = sum(stop - first for first, stop in spans)
        rows.append(
            PersonShotRow(
                source.shot(own.shot),
                str(own.take) if own.take is not None else "every",
                source.ledger.crafts[own.craft].name,
                source.character(own.character) if own.character is not None else None,
                own.frames.text,
                f"{own.frames.count:,}",
                f"{shown:,}" if shown else "",
                films.clock(spans[0][0]) if spans else "",
            )
        )
    return tuple(rows)


def shots_csv(source: PageSource, films: FilmPlaces, work: Iterable[OwnWork]) -> bytes:
    """The shots as CSV (UTF-8 with a byte-order mark, which spreadsheets need).

    A row for each stretch of frames and each place in the film that shows any of it; ``film_out``
    is the first film frame after, as edit lists have it (common practice). Frames that the cut
    does not show have a row without film timecode.
    """
    ledger = source.ledger
    rate = ledger.production.rate
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    for own in work:
        character = ledger.characters[own.character].name if own.character is not None else ""
        for first, stop in own.frames.ranges:
            spans = films.spans(own.shot, own.take, Frames(((first, stop),)))
            places = [(timecode(a - 1, rate), timecode(b - 1, rate)) for a, b in spans]
            for film_in, film_out in places or [("", "")]:
                writer.writerow(
                    (
                        guarded(own.shot),
                        guarded(ledger.shots[own.shot].sequence),
                        own.take if own.take is not None else "",
                        guarded(ledger.crafts[own.craft].name),
                        guarded(character),
                        first,
                        stop - 1,
                        stop - first,
                        film_in,
                        film_out,
                    )
                )
    return text.getvalue().encode("utf-8-sig", "replace")


def shots_file(
    source: PageSource, films: FilmPlaces, person: str, work: tuple[OwnWork, ...]
) -> DataFile | None:
    """The CSV beside a person's page; None where there is nothing to list."""
    if not work:
        return None
    path = f"people/{file_name(person)}-shots.csv"
    return DataFile(path, shots_csv(source, films, work))
