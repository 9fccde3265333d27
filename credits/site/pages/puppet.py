"""A page for each puppet: who built it, its parts, its repairs, the shots it is in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, partial
from typing import Any

from credits.editions import Crew, Edition, Everyone
from credits.figures.snapshot import Snapshot
from credits.footage.claims import Handled
from credits.hands.hands import build_target
from credits.model.facts import Fitting
from credits.model.ledger import Entry
from credits.model.words import counted, listed
from credits.review.puppet_now import puppet_now
from credits.site import links, strips
from credits.site.links import About, Link, LinkedOnce, Page
from credits.site.pages.character import KEPT, Made, made_by
from credits.site.source import (
    PART_COLUMNS,
    PageSource,
    grouped,
    part_values,
    repairs_table,
    without_cut,
)
from credits.units.film_time import day_text, iso_week
from credits.units.frames import union
from credits.units.table import Column, Marked, Table, Unit, columns

STILL_FITTED = "still fitted"
FITTED = "parts fitted"
LIFE_COLUMNS = (
    Column(key="what", heading="What"),
    *columns(Unit.DAY, first="From", last="To"),
    Column(key="times", heading="How much"),
)
FITTED_COLUMNS = (
    *PART_COLUMNS,
    *columns(Unit.DAY, edition=Edition.CREW, first="From", last="To"),
)
PUPPET_SHOT_COLUMNS = (
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    Column(key="take", heading="Take", unit=Unit.NUMBER),
    Column(key="animators", heading="Animated by"),
    Column(key="days", heading="Days", unit=Unit.DAY),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="kept", heading=KEPT, unit=Unit.FRAMES, adds_up=True),
    Column(key="in_cut", heading="In the cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
)


def takes_of_puppet(results: Snapshot, puppet: str) -> Mapping[tuple[str, int], list[Handled]]:
    """Return the kept frames that a puppet is seen in, by take in the order of the shots."""
    places, handled = results.places.shots, results.handled.get(puppet, ())
    ordered = sorted(handled, key=lambda each: (places[each.shot], each.take))
    return grouped(ordered, lambda each: (each.shot, each.take))


def _life(
    name: str,
    stretches: Iterable[tuple[str, Sequence[strips.Days], str]],
    marks: Iterable[strips.Mark],
    still_fitted: bool,
) -> Table:
    rows: list[tuple[Any, ...]] = []
    for what, days, times in stretches:
        if span := strips.first_and_last(days):
            last = STILL_FITTED if still_fitted and what == FITTED else span[1]
            rows.append((what, span[0], last, times))
    rows += [(word, day, None, None) for day, word in marks]
    return Table.of(f"The history of {name}", LIFE_COLUMNS, sorted(rows, key=lambda row: row[1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """An entry in one sentence: when, who, and the shot, the stage and the note if it has them."""

    day: Crew[Link | None] = None
    person: Crew[Link | None] = None
    shot: Crew[Link | None] = None
    stage: Crew[str] = ""
    thing: Crew[Link | None] = None
    note: Crew[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """Where a puppet is now, what it wears and what it waits for.

    worn: parts by kind. waits_for: the repairs that are open.
    """

    last: Crew[Told | None] = None
    in_hospital: Crew[bool] = False
    worn: Crew[tuple[tuple[str, str], ...]] = ()
    repaired: Crew[Told | None] = None
    waits_for: Crew[tuple[Told, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetPage:
    """Everything the puppet's page shows."""

    name: Everyone[Link]
    code: Everyone[str]
    character: Everyone[Link]
    scale: Everyone[str]
    picture: Everyone[str]
    built_by: Everyone[tuple[Made, ...]]
    for_every_copy: Everyone[tuple[Made, ...]]
    fitted: Everyone[Table]
    handled: Everyone[bool]
    now: Crew[Now | None] = None
    note: Crew[str] = ""
    ready: Crew[str] = ""
    retired: Crew[str] = ""
    shot_count: Crew[str] = ""
    repairs_count: Crew[str] = ""
    kept: Crew[str] = ""
    in_cut: Crew[str] = ""
    time_line: Crew[strips.Strip | None] = None
    life: Crew[Table | None] = None
    repairs: Crew[Table | None] = None
    shots: Crew[Table | None] = None


class _PuppetPages:
    """What is the same for all puppets, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.on_character = cache(self._on_character)

    def share(self) -> object:
        """Compute what the pages of puppets have in common."""
        return self.source.results.handled

    def _on_character(self, code: str) -> list[Entry]:
        """Return the work that made a character as such, and so every copy of it."""
        entries = self.ledger.entries_beside_shots("character").get(code, ())
        made = filter(self.source.makes, entries)
        return [entry for entry in made if entry.puppet is None and entry.part is None]

    def until(self, code: str) -> date:
        """Return how long parts that are still on are shown: to the puppet's retirement, or to
        the log's last day."""
        return self.ledger.puppets[code].retired_on or self.ledger.last_day or date.min

    def builders(self, entries: Iterable[Entry]) -> tuple[Made, ...]:
        """Return who built, crafts in the order in which they began; undated work is earliest."""

        def begun(work: tuple[str, list[Entry]]) -> date:
            return min(entry.work.started_on or entry.day or date.min for entry in work[1])

        works = sorted(self.source.by_craft(entries), key=begun)
        return made_by(self.source, works)

    def fitted(self, name: str, fittings: Iterable[Fitting]) -> Table:
        """Return the parts by the day they were fitted; without days each part stands once."""
        ordered = sorted(fittings, key=lambda f: (f.from_on, f.part))
        if not self.source.crew:
            ordered = list({fitting.part: fitting for fitting in ordered}.values())
        still = Marked(value=STILL_FITTED, sort="9999")
        rows = ((*part_values(self.source, f.part), f.from_on, f.to_on or still) for f in ordered)
        table = Table.of(f"Parts fitted to {name}", FITTED_COLUMNS, rows)
        return table.with_values("makers", LinkedOnce())

    def repairs_of(self, code: str, fittings: Iterable[Fitting]) -> list[Entry]:
        """Return repairs of the puppet, and of parts on a day on which it wore them."""
        worn = (
            entry
            for fitting in fittings
            for entry in self.ledger.entries_by_part.get(fitting.part, ())
            if entry.puppet is None and entry.day is not None and fitting.holds_on(entry.day)
        )
        own = self.ledger.entries_beside_shots("puppet").get(code, ())
        found = filter(self.ledger.is_repair, (*own, *worn))
        return list({entry.number: entry for entry in found}.values())

    def shots(self, name: str, takes: Mapping[tuple[str, int], list[Handled]]) -> Table:
        """Return the takes that the puppet is in, and how much of it is kept."""
        rows = []
        for (shot, take), held in takes.items():
            frames = union(each.frames for each in held)
            days = {each.day for each in held if each.day is not None}
            rows.append(
                (
                    self.source.shot(shot),
                    take,
                    self.source.names(each.person for each in held),
                    (min(days), max(days)) if days else "undated",
                    frames,
                    frames.count,
                    (self.source.in_cut(shot, take) & frames).count or None,
                )
            )
        table = Table.of(f"Shots of {name}", PUPPET_SHOT_COLUMNS, rows, label="total")
        return table.with_values("animators", LinkedOnce())

    def told(self, entry: Entry, own: str) -> Told:
        """Tell of an entry in one sentence. own: the puppet, which nothing need say."""
        day = Link("on a day that nobody wrote down")
        if entry.day is not None:
            day = Link(day_text(entry.day), links.week_page(iso_week(entry.day)))
        target = build_target(entry)
        thing = self.source.thing(*target) if target and target[1] != own else None
        return Told(
            day=day,
            person=self.source.person(entry.person),
            shot=self.source.shot(entry.shot) if entry.shot else None,
            stage=entry.stage or "",
            thing=thing,
            note=self.source.note(entry),
        )

    def now(self, code: str, repairs: Iterable[Entry]) -> Now:
        """Tell where a puppet is now, what it wears and what it waits for."""
        ledger = self.ledger
        entries = ledger.entries_by_puppet.get(code, ())
        fittings = ledger.fittings_of_puppet.get(code, ())
        state = puppet_now(ledger, entries, fittings, repairs, self.until(code))
        kinds = grouped((f.part for f in state.worn), lambda part: ledger.parts[part].kind)
        return Now(
            last=self.told(state.last, code) if state.last else None,
            in_hospital=state.in_hospital,
            worn=tuple((kind, listed(list(dict.fromkeys(own)))) for kind, own in kinds.items()),
            repaired=self.told(state.repaired, code) if state.repaired else None,
            waits_for=tuple([self.told(entry, code) for entry in state.waits_for]),
        )

    def page(self, code: str) -> PuppetPage:
        """Return everything that the page of a puppet shows."""
        ledger, source = self.ledger, self.source
        puppet = ledger.puppets[code]
        entries = ledger.entries_by_puppet.get(code, ())
        fittings = ledger.fittings_of_puppet.get(code, ())
        built = [entry for entry in entries if source.makes(entry)]
        repairs = self.repairs_of(code, fittings)
        takes = takes_of_puppet(source.results, code)
        shots = len({shot for shot, _ in takes})
        told = ((puppet.ready_on, "ready"), (puppet.retired_on, "retired"))
        marks = [(day, word) for day, word in told if day is not None]
        until = self.until(code)
        fitted = [(f.from_on, max(f.to_on or until, f.from_on)) for f in fittings]
        filmed = strips.days_of(filter(ledger.is_footage, entries))
        stretches = (
            ("built", strips.days_of(built), counted(len(built), "entry", "entries")),
            (FITTED, fitted, counted(len({fitting.part for fitting in fittings}), "part")),
            ("shot", filmed, f"kept in {counted(shots, 'shot')}" if shots else ""),
            ("repaired", strips.days_of(repairs), counted(len(repairs), "repair")),
        )
        still_fitted = any(fitting.to_on is None for fitting in fittings)
        name = source.puppet(code)
        seen_in = self.shots(name.text, takes)
        title = f"The life of {name}. The same is in the table."
        built_by = self.builders(built)
        for_every_copy = self.builders(self.on_character(puppet.character))
        # Where it is always the puppet itself that was repaired, nothing need say so.
        hidden = ("minutes",) if any(entry.part for entry in repairs) else ("minutes", "thing")
        return PuppetPage(
            name=name,
            code=code,
            character=source.character(puppet.character),
            scale=puppet.scale or "",
            picture=source.pictures.get(code, ""),
            built_by=built_by,
            for_every_copy=for_every_copy,
            fitted=self.fitted(name.text, fittings),
            handled=bool(built_by or for_every_copy or fittings or (repairs and self.source.crew)),
            now=self.now(code, repairs),
            note=puppet.note or "",
            ready=day_text(puppet.ready_on) if puppet.ready_on else "",
            retired=day_text(puppet.retired_on) if puppet.retired_on else "",
            shot_count=f"{shots:,}",
            repairs_count=f"{len(repairs):,}",
            kept=f"{sum(seen_in.column('kept')):,}",
            in_cut=f"{sum(filter(None, seen_in.column('in_cut'))):,}" if source.has_cut else "",
            time_line=strips.day_strip(title, [stretch[:2] for stretch in stretches], marks),
            life=_life(name.text, stretches, marks, still_fitted),
            repairs=repairs_table(source, repairs, f"of {name.text}").without(*hidden),
            shots=without_cut(source, seen_in),
        )


def puppet_pages(source: PageSource) -> Iterator[Page]:
    """Yield one page for every puppet, in the order of the table."""
    pages = _PuppetPages(source)
    for code in source.ledger.puppets:
        title, make = source.puppet(code).text, partial(pages.page, code)
        about = About("puppet", code, partial(pages.until, code))
        page = links.puppet_page(code)
        yield Page(page, "puppet.html", title, links.CHARACTERS, make, about, pages.share)
