"""A character's page: who performed it, who made it, its copies, parts, repairs and shots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from credits.cautions import MATERIALS_CAUTION
from credits.editions import Crew, Everyone
from credits.footage.footage import Footage
from credits.model.facts import Kind
from credits.model.ledger import Entry
from credits.pages import links
from credits.pages.character_film import film_strip_of, time_line_of
from credits.pages.character_rows import Credited, PartRow, PuppetRow, RepairRow, ShotRow
from credits.pages.page import Link, Page
from credits.pages.replacements import replacements_page
from credits.pages.source import PageSource
from credits.pages.strips import Strip
from credits.pages.words import Amount, amount, counted, day_text, days_between
from credits.units.film_time import clock
from credits.units.frames import Frames
from credits.units.rounding import largest_remainder

NO_CELLS = Footage((), None)


@dataclass(frozen=True, slots=True)
class CharacterPage:
    """Everything the character's page shows."""

    name: Everyone[Link]
    note: Everyone[str]
    silent: Everyone[bool]
    picture: Everyone[str]
    performed_by: Everyone[tuple[Credited, ...]]
    made_by: Everyone[tuple[Credited, ...]]
    puppets: Everyone[tuple[PuppetRow, ...]]
    parts: Everyone[tuple[PartRow, ...]]
    place: Everyone[str]
    materials: Everyone[str]
    on_screen: Crew[Amount | None] = None
    kept: Crew[Amount | None] = None
    hands: Crew[int] = 0
    shot_count: Crew[int] = 0
    first_seen: Crew[str] = ""
    first_shot: Crew[Link | None] = None
    film_strip: Crew[Strip | None] = None
    time_line: Crew[Strip | None] = None
    replacements: Crew[Link | None] = None
    repairs: Crew[tuple[RepairRow, ...]] = ()
    shots: Crew[tuple[ShotRow, ...]] = ()


class _Builder:
    def __init__(self, source: PageSource, code: str) -> None:
        self.source = source
        self.code = code
        self.ledger = source.ledger
        self.production = source.ledger.production
        self.entries = source.ledger.entries_by_character.get(code, ())
        self.feet = source.results.footage_by_character.get(code, NO_CELLS)

    def names(self, people: Iterable[str]) -> tuple[Link, ...]:
        ordered = sorted(set(people), key=self.source.name_order)
        shown = (self.source.person(person) for person in ordered)
        return tuple(link for link in shown if link is not None)

    # -- performed by, made by -----------------------------------------------------------------

    def _by_craft(self, kind: Kind) -> dict[str, dict[str, list[Entry]]]:
        found: dict[str, dict[str, list[Entry]]] = {}
        for craft in self.ledger.crafts.values():
            people: dict[str, list[Entry]] = defaultdict(list)
            if craft.kind is kind:
                for entry in self.entries:
                    if entry.craft == craft.code:
                        people[entry.person].append(entry)
            if people:
                found[craft.code] = people
        return found

    def _amounts(self, people: Iterable[str]) -> dict[str, Amount]:
        kept = {p: f.character.kept for p, f in self.feet.by(lambda c: c.person).items()}
        listed = [p for p in people if kept.get(p)]
        shown = largest_remainder([kept[p] for p in listed])
        return {p: amount(kept[p], self.production, n) for p, n in zip(listed, shown, strict=True)}

    def credited(self, kind: Kind) -> tuple[Credited, ...]:
        rows = []
        for code, people in self._by_craft(kind).items():
            footage = self.ledger.crafts[code].footage
            amounts = self._amounts(people) if footage else {}

            def order(person: str, amounts: dict[str, Amount] = amounts) -> tuple[object, ...]:
                found = amounts.get(person)
                return (-(found.sort if found else 0), self.source.name_order(person))

            opens = True
            for person in sorted(people, key=order):
                link = self.source.person(person)
                if link is None:
                    continue
                days = [e.day for e in people[person] if e.day is not None]
                span = days_between(min(days), max(days)) if days else ""
                rows.append(
                    Credited(self.source.craft(code), opens, link, amounts.get(person), span)
                )
                opens = False
        return tuple(rows)

    # -- things --------------------------------------------------------------------------------

    def _makers(self, entries: Iterable[Entry]) -> tuple[Link, ...]:
        return self.names(
            entry.person
            for entry in entries
            if entry.craft != "repair" and self.ledger.crafts[entry.craft].kind is Kind.BUILD
        )

    def puppets(self) -> tuple[PuppetRow, ...]:
        rows = []
        shots = self._shots_of_puppets()
        for code in self.ledger.puppets_of.get(self.code, ()):
            puppet = self.ledger.puppets[code]
            entries = self.ledger.entries_by_puppet.get(code, ())
            repairs = sum(entry.craft == "repair" for entry in entries)
            rows.append(
                PuppetRow(
                    self.source.puppet(code),
                    code,
                    puppet.scale or "",
                    self._makers(entries),
                    day_text(puppet.ready_on) if puppet.ready_on else "",
                    len(shots.get(code, ())),
                    repairs,
                )
            )
        return tuple(rows)

    def _shots_of_puppets(self) -> dict[str, set[str]]:
        shots: dict[str, set[str]] = defaultdict(set)
        for entry in self.entries:
            if entry.puppet and entry.shot and self.ledger.is_footage(entry):
                shots[entry.puppet].add(entry.shot)
        return shots

    def parts(self) -> tuple[PartRow, ...]:
        shown: dict[str, list[tuple[str, Frames]]] = defaultdict(list)
        for replacement in self.ledger.replacements:
            if replacement.character == self.code:
                shown[replacement.part].append((replacement.shot, replacement.frames))
        rows = []
        for part in self.ledger.parts.values():
            if part.character != self.code:
                continue
            fittings = self.ledger.fittings_of_part.get(part.code, ())
            seen = shown.get(part.code, [])
            frames = sum(frames.count for _, frames in seen)
            where = len({shot for shot, _ in seen})
            rows.append(
                PartRow(
                    part.code,
                    part.kind,
                    self._makers(self.ledger.entries_by_part.get(part.code, ())),
                    ", ".join(dict.fromkeys(fitting.puppet for fitting in fittings)),
                    f"{counted(frames, 'frame')} in {counted(where, 'shot')}" if seen else "",
                )
            )
        return tuple(rows)

    def replacements(self) -> Link | None:
        if not any(r.character == self.code for r in self.ledger.replacements):
            return None
        return Link("which replacement is seen where", replacements_page(self.code))

    def repairs(self) -> tuple[RepairRow, ...]:
        rows = []
        found = [entry for entry in self.entries if entry.craft == "repair"]
        for entry in sorted(found, key=lambda e: (e.day is not None, e.day, e.number)):
            person = self.source.person(entry.person)
            if person is None:
                continue
            note = entry.work.note or ""
            wait = entry.work.wait_minutes
            rows.append(
                RepairRow(
                    day_text(entry.day),
                    entry.day.isoformat() if entry.day else "",
                    self.source.puppet(entry.puppet) if entry.puppet else None,
                    person,
                    self.source.shot(entry.shot) if entry.shot else None,
                    note if not entry.work.private or self.source.office else "",
                    f"{wait} min" if wait else "",
                )
            )
        return tuple(rows)

    # -- shots and film ------------------------------------------------------------------------

    def shots(self) -> tuple[ShotRow, ...]:
        rows = []
        sums = self.feet.by(lambda cell: (cell.shot, cell.take))
        kept = largest_remainder([totals.character.kept for totals in sums.values()])
        screen = largest_remainder([totals.character.screen for totals in sums.values()])
        for (shot, take), shown, seen in zip(sums, kept, screen, strict=True):
            totals = sums[shot, take]
            own = self.source.results.runs[shot, take]
            people = {
                claim.person
                for run in own.runs
                for layer in run.kept
                if layer.character == self.code
                for claim in layer.claims
            }
            frames = own.kept_of(self.code)
            use = self.source.results.use
            at = (
                min((a for a, _ in use.film_spans(shot, take, frames)), default=None)
                if use
                else None
            )
            rows.append(
                ShotRow(
                    self.source.shot(shot),
                    f"{frames.text} of take {take}" if take != 1 else frames.text,
                    self.names(people),
                    amount(totals.character.kept, self.production, shown),
                    f"{seen:,}" if use else "",
                    clock(at - 1, self.production.rate) if at else "",
                )
            )
        return tuple(rows)

    def hands(self) -> int:
        reached = self.source.results.reach.values()
        return sum(self.code in reach.characters for reach in reached)

    def page(self) -> CharacterPage:
        results = self.source.results
        character = self.ledger.characters[self.code]
        made_by = self.credited(Kind.BUILD)
        order = [code for code, _ in results.first_seen]
        seen = dict(results.first_seen).get(self.code)
        total = self.feet.total.character
        crew = self.source.crew
        return CharacterPage(
            name=self.source.character(self.code),
            note=character.note or "",
            silent=character.silent,
            picture=self.source.pictures.get(self.code, ""),
            performed_by=self.credited(Kind.PERFORMANCE),
            made_by=made_by,
            puppets=self.puppets(),
            parts=self.parts(),
            place=f"{order.index(self.code) + 1} of {len(order)}" if self.code in order else "",
            materials=MATERIALS_CAUTION if made_by else "",
            on_screen=amount(total.screen, self.production) if results.use else None,
            kept=amount(total.kept, self.production),
            hands=self.hands(),
            shot_count=len({cell.shot for cell in self.feet.cells}),
            first_seen=clock(seen - 1, self.production.rate) if seen else "",
            first_shot=self._first_shot(seen),
            film_strip=film_strip_of(self.source, self.code) if crew else None,
            time_line=time_line_of(self.source, self.code) if crew else None,
            replacements=self.replacements(),
            repairs=self.repairs() if crew else (),
            shots=self.shots() if crew else (),
        )

    def _first_shot(self, seen: int | None) -> Link | None:
        use = self.source.results.use
        if use is None or seen is None:
            return None
        for clip in use.clips:
            if clip.film_first <= seen < clip.film_first + clip.shown:
                return self.source.shot(clip.shot)
        return None


def character_pages(source: PageSource) -> Iterator[Page]:
    """One page for every character, in the order of the table."""
    for code, character in source.ledger.characters.items():
        yield Page(
            links.character_page(code),
            "character.html",
            character.name,
            links.CHARACTERS,
            _Builder(source, code).page(),
        )
