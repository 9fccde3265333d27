"""A puppet's page: who built it, what was fitted to it, what was mended, where it was seen."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from credits.cautions import MATERIALS_CAUTION
from credits.editions import Crew, Everyone
from credits.model.facts import Fitting, Kind
from credits.model.ledger import Entry
from credits.pages import links
from credits.pages.page import Link, Page
from credits.pages.puppet_life import (
    InShot,
    Life,
    LifeRow,
    PuppetShots,
    days_of,
    life_rows,
    life_strip,
)
from credits.pages.puppet_rows import Builder, FittedRow, MendedRow, SeenRow
from credits.pages.shot_log import makers_of_part, minutes_text, note_of
from credits.pages.source import PageSource
from credits.pages.strips import Strip
from credits.pages.week_days import day_link
from credits.pages.words import counted, day_text, days_between

REPAIR = "repair"


@dataclass(frozen=True, slots=True)
class PuppetPage:
    """Everything the puppet's page shows."""

    name: Everyone[Link]
    code: Everyone[str]
    character: Everyone[Link]
    scale: Everyone[str]
    picture: Everyone[str]
    built_by: Everyone[tuple[Builder, ...]]
    for_every_copy: Everyone[tuple[Builder, ...]]
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


class _Pages:
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
        return entry.craft != REPAIR and self.ledger.crafts[entry.craft].kind is Kind.BUILD

    def builders(self, entries: Iterable[Entry]) -> tuple[Builder, ...]:
        """Who built, in the order in which they began; undated work counts as the earliest."""
        works: dict[tuple[str, str], list[Entry]] = defaultdict(list)
        for entry in entries:
            works[entry.craft, entry.person].append(entry)

        def order(key: tuple[str, str]) -> tuple[object, ...]:
            days = [e.work.started_on or e.day or date.min for e in works[key]]
            return (min(days), self.crafts[key[0]], self.source.name_order(key[1]))

        rows: list[Builder] = []
        for craft, person in sorted(works, key=order):
            link = self.source.person(person)
            if link is None:
                continue
            days = days_of(works[craft, person])
            span = days_between(days[0][0], max(last for _, last in days)) if days else ""
            name = self.source.craft(craft)
            rows.append(Builder(name, not rows or rows[-1].craft != name, link, span))
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
        found = [e for e in self.ledger.entries_by_puppet.get(code, ()) if e.craft == REPAIR]
        for fitting in fittings:
            found += [
                entry
                for entry in self.ledger.entries_by_part.get(fitting.part, ())
                if entry.craft == REPAIR and entry.puppet is None
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
    pages = _Pages(source)
    for code in source.ledger.puppets:
        page = pages.page(code)
        yield Page(links.puppet_page(code), "puppet.html", page.name.text, links.CHARACTERS, page)
