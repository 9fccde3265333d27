"""A puppet's page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from credits.cautions import MATERIALS_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.figures.results import Results
from credits.model.facts import Fitting, Kind, Puppet
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.links import day_link
from credits.site.page import Link, Page
from credits.site.pages.shot import makers_of_part, minutes_text, note_of
from credits.site.source import PageSource
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


@dataclass(frozen=True, slots=True)
class PuppetRows:
    """Somebody who built it, opposite the craft. ``opens``: where the craft's name is written."""

    craft: Everyone[Link]
    opens: Everyone[bool]
    person: Everyone[Link]
    days: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class FittedRow:
    """A part fitted to it, and who made the part."""

    part: Everyone[str]
    kind: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    first: Crew[str] = ""
    first_sort: Crew[str] = ""
    last: Crew[str] = ""
    last_sort: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class MendedRow:
    """One mending of it, or of a part that it wore."""

    day: Everyone[Link]
    sort: Everyone[str]
    person: Everyone[Link]
    part: Everyone[str]
    shot: Everyone[Link | None]
    note: Everyone[str]
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class SeenRow:
    """A take that it is in."""

    shot: Everyone[Link]
    take: Everyone[str]
    frames: Everyone[str]
    animators: Everyone[tuple[Link, ...]]
    days: Everyone[str]
    sort: Everyone[str]
    kept: Everyone[str]
    in_cut: Everyone[str]


@dataclass(frozen=True, slots=True)
class LifeRow:
    """A stretch of the puppet's life, or a day of it: what, from, to."""

    what: Everyone[str]
    first: Everyone[str]
    last: Everyone[str]
    times: Everyone[str]


@dataclass(frozen=True, slots=True)
class InShot:
    """The frames of a take that hold the puppet, as kept: who moved it, from when to when."""

    shot: str
    take: int
    frames: Frames
    people: frozenset[str]
    days: Days | None


class PuppetShots:
    """For each puppet the takes it is in. One walk over the claims, made once for a site."""

    def __init__(self, results: Results) -> None:
        self._of: dict[str, list[InShot]] = defaultdict(list)
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
                span = (min(dated), max(dated)) if dated else None
                self._of[puppet].append(
                    InShot(shot, take, Frames.of(*found), frozenset(people[puppet]), span)
                )

    def of(self, puppet: str) -> tuple[InShot, ...]:
        """The takes in which the puppet is seen, in the order of the shots."""
        return tuple(self._of.get(puppet, ()))


@dataclass(frozen=True, slots=True)
class Life:
    """The days of a puppet. ``fitted`` without an end is still fitted."""

    puppet: Puppet
    built: tuple[Days, ...]
    fitted: tuple[Fitting, ...]
    shot: tuple[Days, ...]
    mended: tuple[Days, ...]

    def last_day(self, today: date | None) -> date | None:
        """The last day that the time line needs; what is still fitted goes on to the log's last."""
        ends = [last for days in (self.built, self.shot, self.mended) for _, last in days]
        ends += [day for f in self.fitted for day in (f.from_on, f.to_on) if day]
        if any(f.to_on is None for f in self.fitted) and today is not None:
            ends.append(today)
        ends += [day for day in (self.puppet.ready_on, self.puppet.retired_on) if day]
        return max(ends, default=None)


def days_of(entries: Iterable[Entry]) -> tuple[Days, ...]:
    """The days of the dated entries, from and to, in order."""
    return tuple(sorted(days for e in entries if (days := entry_days(e)) is not None))


def _fitted_days(life: Life, end: date) -> tuple[Days, ...]:
    """Fittings as days; one that is still on lasts to the puppet's retirement, or to the end."""
    until = life.puppet.retired_on or end
    return tuple(
        (fitting.from_on, max(fitting.to_on or until, fitting.from_on)) for fitting in life.fitted
    )


def life_strip(name: str, life: Life, today: date | None) -> Strip | None:
    """The puppet's time line; None where nothing of it is dated.

    ``today``: the last day of the log, to which what is still fitted goes on.
    """
    end = life.last_day(today)
    if end is None:
        return None
    rows = (
        ("built", life.built),
        ("parts fitted", _fitted_days(life, end)),
        ("shot", life.shot),
        ("mended", life.mended),
    )
    specs = [
        RowSpec(what, day_blocks(what, days, at)) for at, (what, days) in enumerate(rows) if days
    ]
    if not specs:
        return None
    puppet = life.puppet
    days = [day for _, own in rows for span in own for day in span]
    told = ((puppet.ready_on, "ready"), (puppet.retired_on, "retired"))
    marked = [(day, word) for day, word in told if day is not None]
    first = min([*days, *(day for day, _ in marked)])
    last = max([*days, *(day for day, _ in marked)])
    marks = [TickSpec(day.toordinal(), above=word) for day, word in marked]
    title = f"The life of {name}. The same is in the table."
    span = (first.toordinal(), last.toordinal() + 1)
    return strip(title, specs, span, [*month_marks(first, last), *marks])


def life_rows(life: Life, counted: dict[str, str]) -> tuple[LifeRow, ...]:
    """The time line as a table, in the order of the days. ``counted``: how often, by what."""
    found: list[tuple[date, LifeRow]] = []
    for what, days in (("built", life.built), ("shot", life.shot), ("mended", life.mended)):
        if days:
            last = max(end for _, end in days)
            first = days[0][0]
            row = LifeRow(what, day_text(first), day_text(last), counted.get(what, ""))
            found.append((first, row))
    if life.fitted:
        first = min(fitting.from_on for fitting in life.fitted)
        on = [fitting.to_on for fitting in life.fitted]
        until = day_text(max(day for day in on if day)) if all(on) else "still fitted"
        found.append(
            (first, LifeRow("parts fitted", day_text(first), until, counted.get("fitted", "")))
        )
    for day, what in ((life.puppet.ready_on, "ready"), (life.puppet.retired_on, "retired")):
        if day is not None:
            found.append((day, LifeRow(what, day_text(day), "", "")))
    return tuple(row for _, row in sorted(found, key=lambda pair: pair[0]))


@dataclass(frozen=True, slots=True)
class PuppetPage:
    """Everything the puppet's page shows."""

    name: Everyone[Link]
    code: Everyone[str]
    character: Everyone[Link]
    scale: Everyone[str]
    picture: Everyone[str]
    built_by: Everyone[tuple[PuppetRows, ...]]
    for_every_copy: Everyone[tuple[PuppetRows, ...]]
    fitted: Everyone[tuple[FittedRow, ...]]
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
    life: Crew[tuple[LifeRow, ...]] = ()
    repairs: Crew[tuple[MendedRow, ...]] = ()
    mended_parts: Crew[bool] = False
    shots: Crew[tuple[SeenRow, ...]] = ()


class _PuppetPages:
    """What is the same for all puppets, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.seen = PuppetShots(source.results)
        self.crafts = {code: at for at, code in enumerate(source.ledger.crafts)}
        self.on_character: dict[str, list[Entry]] = defaultdict(list)
        for entry in source.ledger.entries:
            whole = entry.puppet is None and entry.part is None and entry.character is not None
            if whole and self._builds(entry):
                self.on_character[entry.character or ""].append(entry)

    def _builds(self, entry: Entry) -> bool:
        craft = self.ledger.crafts[entry.craft]
        return craft.kind is Kind.BUILD and not craft.repair

    def builders(self, entries: Iterable[Entry]) -> tuple[PuppetRows, ...]:
        """Who built, in the order in which they began; undated work counts as the earliest."""
        works: dict[tuple[str, str], list[Entry]] = defaultdict(list)
        for entry in entries:
            works[entry.craft, entry.person].append(entry)

        def order(key: tuple[str, str]) -> tuple[object, ...]:
            days = [e.work.started_on or e.day or date.min for e in works[key]]
            return (min(days), self.crafts[key[0]], self.source.name_order(key[1]))

        rows: list[PuppetRows] = []
        for craft, person in sorted(works, key=order):
            link = self.source.person(person)
            if link is None:
                continue
            days = days_of(works[craft, person])
            span = days_between(days[0][0], max(last for _, last in days)) if days else ""
            name = self.source.craft(craft)
            rows.append(PuppetRows(name, not rows or rows[-1].craft != name, link, span))
        return tuple(rows)

    def fitted(self, fittings: Iterable[Fitting]) -> tuple[FittedRow, ...]:
        """The parts by the day they were fitted; where no days are shown each part stands once."""
        rows = []
        known: set[str] = set()
        for fitting in sorted(fittings, key=lambda f: (f.from_on, f.part)):
            if fitting.part in known and not self.source.crew:
                continue
            known.add(fitting.part)
            until = fitting.to_on
            rows.append(
                FittedRow(
                    fitting.part,
                    self.ledger.parts[fitting.part].kind,
                    makers_of_part(self.source, fitting.part),
                    day_text(fitting.from_on),
                    fitting.from_on.isoformat(),
                    day_text(until) if until else "still fitted",
                    until.isoformat() if until else "9999",
                )
            )
        return tuple(rows)

    def mended(self, code: str, fittings: Iterable[Fitting]) -> list[Entry]:
        """Repairs of the puppet, and of parts on a day on which it wore them."""
        mends = self.ledger.is_repair
        found = [e for e in self.ledger.entries_by_puppet.get(code, ()) if mends(e)]
        for fitting in fittings:
            found += [
                entry
                for entry in self.ledger.entries_by_part.get(fitting.part, ())
                if mends(entry) and entry.puppet is None
                if entry.day is not None and fitting.holds_on(entry.day)
            ]
        unique = {entry.number: entry for entry in found}
        return sorted(unique.values(), key=lambda e: (e.day or date.min, e.number))

    def repairs(self, entries: Iterable[Entry]) -> tuple[MendedRow, ...]:
        rows = []
        for entry in entries:
            person = self.source.person(entry.person)
            if person is not None:
                rows.append(
                    MendedRow(
                        day_link(entry.day),
                        entry.day.isoformat() if entry.day else "",
                        person,
                        entry.part or "",
                        self.source.shot(entry.shot) if entry.shot else None,
                        note_of(self.source, entry),
                        minutes_text(entry.work.wait_minutes),
                    )
                )
        return tuple(rows)

    def shots(self, seen: Iterable[InShot]) -> tuple[SeenRow, ...]:
        rows = []
        for at in seen:
            people = sorted(at.people, key=self.source.name_order)
            named = (self.source.person(person) for person in people)
            in_cut = self.in_cut(at)
            rows.append(
                SeenRow(
                    self.source.shot(at.shot),
                    str(at.take),
                    at.frames.text.replace(",", ", "),
                    tuple(link for link in named if link is not None),
                    days_between(*at.days) if at.days else "undated",
                    at.days[0].isoformat() if at.days else "",
                    f"{at.frames.count:,}",
                    f"{in_cut:,}" if in_cut else "",
                )
            )
        return tuple(rows)

    def in_cut(self, at: InShot) -> int:
        """How many of the frames the cut uses."""
        use = self.source.results.use
        used = use.used.get((at.shot, at.take)) if use else None
        return (used & at.frames).count if used else 0

    def page(self, code: str) -> PuppetPage:
        ledger, source = self.ledger, self.source
        puppet = ledger.puppets[code]
        entries = ledger.entries_by_puppet.get(code, ())
        fittings = ledger.fittings_of_puppet.get(code, ())
        built = [entry for entry in entries if self._builds(entry)]
        filmed = [entry for entry in entries if ledger.is_footage(entry)]
        mended = self.mended(code, fittings)
        seen = self.seen.of(code)
        life = Life(puppet, days_of(built), tuple(fittings), days_of(filmed), days_of(mended))
        shots = len({at.shot for at in seen})
        told = {
            "built": counted(len(built), "entry", "entries"),
            "shot": f"kept in {counted(shots, 'shot')}" if shots else "",
            "mended": counted(len(mended), "repair"),
            "fitted": counted(len({fitting.part for fitting in fittings}), "part"),
        }
        name = source.puppet(code)
        built_by = self.builders(built)
        for_every_copy = self.builders(self.on_character.get(puppet.character, ()))
        fitted = self.fitted(fittings)
        handled = built_by or for_every_copy or fitted or mended
        return PuppetPage(
            name=name,
            code=code,
            character=source.character(puppet.character),
            scale=puppet.scale or "",
            picture=source.pictures.get(code, ""),
            built_by=built_by,
            for_every_copy=for_every_copy,
            fitted=fitted,
            materials=MATERIALS_CAUTION if handled else "",
            note=puppet.note or "",
            ready=day_text(puppet.ready_on) if puppet.ready_on else "",
            retired=day_text(puppet.retired_on) if puppet.retired_on else "",
            shot_count=f"{shots:,}",
            repairs_count=f"{len(mended):,}",
            has_cut=source.results.use is not None,
            kept=f"{sum(at.frames.count for at in seen):,}",
            in_cut=f"{sum(self.in_cut(at) for at in seen):,}",
            time_line=life_strip(name.text, life, ledger.last_day) if source.crew else None,
            life=life_rows(life, told) if source.crew else (),
            repairs=self.repairs(mended) if source.crew else (),
            mended_parts=any(entry.part for entry in mended),
            shots=self.shots(seen) if source.crew else (),
        )


def puppet_pages(source: PageSource) -> Iterator[Page]:
    """One page for every puppet, in the order of the table."""
    pages = _PuppetPages(source)
    for code in source.ledger.puppets:
        page = pages.page(code)
        yield Page(links.puppet_page(code), "puppet.html", page.name.text, links.CHARACTERS, page)
