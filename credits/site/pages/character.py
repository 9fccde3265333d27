"""Characters, and a page each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from credits.cautions import MATERIALS_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.footage.cut import steps_showing
from credits.footage.footage import NO_FOOTAGE, Footage
from credits.model.facts import Cut, Kind, Production
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.page import Link, Page
from credits.site.pages.replacements import replacements_page
from credits.site.source import PageSource
from credits.site.strips import BlockSpec, RowSpec, Strip, film_marks, merged, strip, time_line
from credits.site.words import Amount, amount, days_between
from credits.units.film_time import clock, day_text
from credits.units.frames import Frames
from credits.units.rounding import largest_remainder


@dataclass(frozen=True, slots=True)
class Credited:
    """A person opposite a craft. ``opens``: the first of the craft, where its name is written."""

    craft: Everyone[Link]
    opens: Everyone[bool]
    person: Everyone[Link]
    footage: Crew[Amount | None] = None
    days: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class PuppetRow:
    """A copy of the character."""

    puppet: Everyone[Link]
    code: Everyone[str]
    scale: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    ready: Crew[str] = ""
    shots: Crew[int] = 0
    repairs: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part made for the character."""

    code: Everyone[str]
    kind: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    fitted: Crew[str] = ""
    shown: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One mending of one of its copies."""

    day: Everyone[str]
    sort: Everyone[str]
    puppet: Everyone[Link | None]
    person: Everyone[Link]
    shot: Everyone[Link | None]
    note: Everyone[str]
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CharacterShotRow:
    """A shot that the character is in, and who animated it there."""

    shot: Everyone[Link]
    frames: Everyone[str]
    animators: Everyone[tuple[Link, ...]]
    kept: Everyone[Amount]
    screen: Everyone[str]
    film: Everyone[str]


MOST_ROWS = 8
# A gap thinner than a hair on paper does not break a band.
HAIRS = 1700

Span = tuple[int, int]


def film_row(
    label: str, spans: list[Span], pattern: int, cut: Cut, production: Production
) -> RowSpec:
    """A row of the film strip: stretches of film frames, half open, joined where they touch."""
    rate = production.rate
    blocks = []
    for first, stop in merged(spans, gap=cut.length / HAIRS):
        said = f"{label}: {clock(int(first) - 1, rate)} to {clock(int(stop) - 1, rate)}"
        blocks.append(BlockSpec(first, stop, pattern, said))
    return RowSpec(label, blocks)


def _spans(source: PageSource, character: str) -> dict[str, list[Span]]:
    """Film frames in which each animator's work on the character is seen; "" for anybody's."""
    spans: dict[str, list[Span]] = defaultdict(list)
    use = source.results.use
    for (shot, take), clips in use.clips_of.items() if use else ():
        own = source.results.runs.get((shot, take))
        for run in own.runs if own else ():
            people = [
                claim.person
                for layer in run.kept
                if layer.character == character
                for claim in layer.claims
            ]
            for clip in clips if people else ():
                low, high = steps_showing(clip, run.first, run.stop)
                if low < high:
                    for person in ("", *people):
                        spans[person].append((clip.film_first + low, clip.film_first + high))
    return spans


def film_strip_of(source: PageSource, character: str) -> Strip | None:
    """The whole film with the stretches that show the character, and a row for each animator.

    Those who animated most stand first; past eight the rest share a row. None: not in a cut.
    """
    use = source.results.use
    spans = _spans(source, character)
    if use is None or not spans:
        return None
    name = source.ledger.characters[character].name
    seen = {person: sum(b - a for a, b in own) for person, own in spans.items() if person}
    ranked = sorted(seen, key=lambda person: (-seen[person], source.name_order(person)))
    groups: list[tuple[str, list[str]]] = [(name, [""])]
    for person in ranked[:MOST_ROWS]:
        link = source.person(person)
        groups.append((link.text if link else "", [person]))
    if len(ranked) > MOST_ROWS:
        rest = ranked[MOST_ROWS:]
        groups.append((counted(len(rest), "other"), rest))
    production = source.ledger.production
    rows = [
        film_row(label, [s for p in people for s in spans[p]], place, use.cut, production)
        for place, (label, people) in enumerate(groups)
    ]
    title = f"Where {name} is in the film, and who animated it; the table of shots says the same"
    return strip(title, rows, (1, use.cut.length + 1), film_marks(use.cut, production))


def time_line_of(source: PageSource, character: str) -> Strip | None:
    """The work on a character, a row per craft in the order in which it began."""
    ledger = source.ledger
    by_craft: dict[str, list[Entry]] = defaultdict(list)
    for entry in ledger.entries_by_character.get(character, ()):
        if entry.day is not None:
            by_craft[entry.craft].append(entry)
    names = {code: craft.name for code, craft in ledger.crafts.items()}
    name = ledger.characters[character].name
    title = f"The work on {name} by craft; the lists of who performed and made it say the same"
    return time_line(title, _in_order_begun(by_craft, names))


def _in_order_begun(
    by_craft: Mapping[str, list[Entry]], names: Mapping[str, str]
) -> dict[str, list[Entry]]:
    begun = {
        code: min(entry.work.started_on or entry.day for entry in own if entry.day is not None)
        for code, own in by_craft.items()
    }
    return {names[code]: by_craft[code] for code in sorted(begun, key=lambda c: (begun[c], c))}


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
    shots: Crew[tuple[CharacterShotRow, ...]] = ()


class _CharacterPages:
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
            if self.ledger.crafts[entry.craft].kind is Kind.BUILD
            and not self.ledger.is_repair(entry)
        )

    def puppets(self) -> tuple[PuppetRow, ...]:
        rows = []
        shots = self._shots_of_puppets()
        for code in self.ledger.puppets_of.get(self.code, ()):
            puppet = self.ledger.puppets[code]
            entries = self.ledger.entries_by_puppet.get(code, ())
            repairs = sum(map(self.ledger.is_repair, entries))
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
        found = [entry for entry in self.entries if self.ledger.is_repair(entry)]
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

    def shots(self) -> tuple[CharacterShotRow, ...]:
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
                CharacterShotRow(
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
            _CharacterPages(source, code).page(),
        )


@dataclass(frozen=True, slots=True)
class CharacterCard:
    """A character in the list: its picture, who gives it a voice, how many copies it has."""

    name: Everyone[Link]
    picture: Everyone[str]
    voices: Everyone[tuple[Link, ...]]
    puppets: Everyone[int]
    on_screen: Crew[Amount | None] = None
    kept: Crew[Amount | None] = None
    shots: Crew[int] = 0
    hands: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class CharactersPage:
    """All characters; those that the cut shows first, in order of appearance."""

    characters: Everyone[tuple[CharacterCard, ...]]
    in_order: Everyone[bool]
    total_kept: Crew[Amount | None] = None
    total_screen: Crew[Amount | None] = None


def characters_in_order(source: PageSource) -> tuple[str, ...]:
    """The codes of all characters: in order of appearance, then those not seen, as in the table."""
    seen = [code for code, _ in source.results.first_seen]
    return (*seen, *(code for code in source.ledger.characters if code not in set(seen)))


def _voices(source: PageSource, code: str) -> tuple[Link, ...]:
    people = {
        entry.person
        for entry in source.ledger.entries_by_character.get(code, ())
        if entry.craft == "voice"
    }
    named = (source.person(person) for person in sorted(people, key=source.name_order))
    return tuple(link for link in named if link is not None)


def characters_pages(source: PageSource) -> Iterator[Page]:
    """The one page that lists the characters."""
    results, production = source.results, source.ledger.production
    order = characters_in_order(source)
    feet = results.footage_by_character
    totals = {c: feet[c].total.character if c in feet else NO_FOOTAGE.character for c in order}
    kept = dict(zip(order, largest_remainder([totals[c].kept for c in order]), strict=True))
    screen = dict(zip(order, largest_remainder([totals[c].screen for c in order]), strict=True))
    hands = dict.fromkeys(order, 0)
    for reach in results.reach.values():
        for character in reach.characters:
            hands[character] += 1
    cards = tuple(
        CharacterCard(
            source.character(code),
            source.pictures.get(code, ""),
            _voices(source, code),
            len(source.ledger.puppets_of.get(code, ())),
            amount(totals[code].screen, production, screen[code]) if results.use else None,
            amount(totals[code].kept, production, kept[code]),
            len({cell.shot for cell in feet[code].cells}) if code in feet else 0,
            hands[code],
        )
        for code in order
    )
    whole = results.footage.total.character
    model = CharactersPage(
        cards,
        bool(results.first_seen),
        amount(whole.kept, production),
        amount(whole.screen, production) if results.use else None,
    )
    yield Page(links.CHARACTERS, "characters.html", "Characters", links.CHARACTERS, model)
