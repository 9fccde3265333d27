"""Characters and puppets, and a page each."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

from credits.editions import Crew, Edition, Everyone
from credits.footage.footage import Footage
from credits.hands.hands import together
from credits.model.facts import Kind, Replacement
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links, strips
from credits.site.folded import MOST_ROWS, Folded, folded, folded_by_kit, natural
from credits.site.links import About, Link, LinkedOnce, Page
from credits.site.source import (
    PART_COLUMNS,
    Amount,
    PageSource,
    grouped,
    part_values,
    plain,
    repairs_table,
    without_cut,
    worked_days,
)
from credits.units.film_time import clock, days_between
from credits.units.frames import Frames, Range, union
from credits.units.rounding import decimal_text, largest_remainder
from credits.units.table import Column, Marked, Table, Unit, columns

KEPT = "Kept, all takes"
MOST_LINKED = 1000  # places of replacements in shots
PUPPET_COLUMNS = (
    Column(key="puppet", heading="Puppet"),
    Column(key="code", heading="Code", unit=Unit.CODE),
    *columns(scale="Scale", makers="Made by"),
    Column(key="ready", heading="Ready", unit=Unit.DAY, edition=Edition.CREW),
    *columns(Unit.NUMBER, edition=Edition.CREW, shots="Shots", repairs="Repairs"),
)
PARTS_COLUMNS = (
    *PART_COLUMNS,
    *columns(edition=Edition.CREW, fitted="Fitted to", shown="Shown in"),
)
KEPT_COLUMNS = (
    Column(key="kept", heading=KEPT, unit=Unit.FRAMES, adds_up=True),
    Column(key="feet", heading="Feet", unit=Unit.FEET, adds_up=True),
    Column(key="screen", heading="On screen", unit=Unit.FRAMES, adds_up=True),
)
SHOT_COLUMNS = (
    *columns(shot="Shot", animators="Animated by"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    *KEPT_COLUMNS,
    Column(key="in_film", heading="Position in the film", unit=Unit.RUNNING, nothing=""),
)
FOOTAGE_COLUMNS = (
    Column(key="character", heading="Character"),
    *columns(Unit.NUMBER, copies="Copies", shots="Shots", hands="Hands"),
    *KEPT_COLUMNS,
    Column(key="screen_time", heading="Time", unit=Unit.RUNNING, adds_up=True),
)
REPLACEMENT_COLUMNS = (
    *PART_COLUMNS,
    Column(key="seen", heading="Shots and frames", unit=Unit.RANGES),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
    Column(key="in_cut", heading="In the cut", unit=Unit.FRAMES, adds_up=True),
)


@dataclass(frozen=True, slots=True)
class Footaged:
    """A person, and how much is kept of their footage."""

    person: Everyone[Link]
    footage: Crew[Amount | None] = None


@dataclass(frozen=True, slots=True)
class Performed:
    """A craft and everybody who performed it: those with footage first, then the others."""

    craft: Everyone[Link]
    with_footage: Everyone[tuple[Footaged, ...]]
    others: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A craft and everybody who did it, through what their work reaches the frames, and when."""

    craft: Everyone[Link]
    people: Everyone[tuple[tuple[str, tuple[Link, ...]], ...]]
    days: Crew[str] = ""


def made_by(
    source: PageSource,
    works: Iterable[tuple[str, list[Entry]]],
    through: Callable[[Entry], str] | None = None,
) -> tuple[Made, ...]:
    """Return who did some work, a line for each craft in the order given.

    through: what the work of an entry came through, in words; None, and empty words: it goes
    without saying. Each person leads to their page once.
    """
    lines, once = [], LinkedOnce()
    for craft, entries in works:
        ways = grouped(entries, through).items() if through else (("", entries),)
        named = ((way, once(source.names(entry.person for entry in own))) for way, own in ways)
        if people := tuple((way, who) for way, who in named if who):
            days = days_between(*(worked_days(entries) or (None, None)))
            lines.append(Made(craft=source.craft(craft), people=people, days=days))
    return tuple(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class CharacterPage:
    """Everything the character's page shows."""

    name: Everyone[Link]
    note: Everyone[str]
    silent: Everyone[bool]
    picture: Everyone[str]
    performed_by: Everyone[tuple[Performed, ...]]
    makers: Everyone[tuple[tuple[Link, tuple[Link, ...]], ...]]
    made_by: Everyone[tuple[Made, ...]]
    puppets: Everyone[Table]
    parts: Everyone[Folded]
    place: Everyone[str]
    on_screen: Crew[Amount | None] = None
    of_film: Crew[str] = ""
    kept: Crew[Amount | None] = None
    hands: Crew[int] = 0
    shot_count: Crew[int] = 0
    first_seen: Crew[str] = ""
    first_shot: Crew[Link | None] = None
    film_strip: Crew[strips.Strip | None] = None
    time_line: Crew[strips.Strip | None] = None
    replacements: Crew[Link | None] = None
    repairs: Crew[Table | None] = None
    repaired_copies: Crew[str] = ""
    shots: Crew[Folded | None] = None


class _CharacterPage:
    def __init__(self, source: PageSource, code: str) -> None:
        self.source = source
        self.code = code
        self.name = source.ledger.characters[code].name
        self.ledger = source.ledger
        self.entries = source.ledger.entries_by_character.get(code, ())
        self.feet = source.results.footage_by_character.get(code, Footage((), None))
        self.replacements = source.replacements.get(code, {})
        self.animated = source.animated_on.get(code, {})

    def performed_by(self) -> Iterator[Performed]:
        """Yield who performed, craft by craft; those with footage first, who kept most first."""
        source = self.source
        kept = {p: f.character.kept for p, f in self.feet.by(lambda c: c.person).items()}
        for craft in self.ledger.crafts.values():
            if craft.kind is not Kind.PERFORMANCE:
                continue
            own = (entry for entry in self.entries if entry.craft == craft.code)
            people = grouped(own, lambda entry: entry.person)
            claimed = [p for p in people if kept.get(p)] if craft.footage else []
            rounded = largest_remainder([kept[p] for p in claimed])
            frames = dict(zip(claimed, rounded, strict=True))
            named = source.named_people(people)
            first = sorted((one for one in named if one[0] in frames), key=lambda o: -frames[o[0]])
            footage = (Footaged(link, source.amount(kept[p], frames[p])) for p, link in first)
            others = tuple(link for person, link in named if person not in frames)
            if named:
                yield Performed(source.craft(craft.code), tuple(footage), others)

    def makers(self) -> tuple[tuple[Link, tuple[Link, ...]], ...]:
        """Return who built and repaired it, craft by craft; each leads to their page once."""
        once, found = LinkedOnce(), []
        for craft, entries in self.source.by_craft(self.built()):
            if names := once(self.source.names(entry.person for entry in entries)):
                found.append((self.source.craft(craft), names))
        return tuple(found)

    def built(self) -> Iterator[Entry]:
        """Yield the work that made or repaired anything of the character."""
        crafts = self.ledger.crafts
        return (entry for entry in self.entries if crafts[entry.craft].kind is Kind.BUILD)

    def made_by(self) -> tuple[Made, ...]:
        """Return the same by what the work came through: the character, its copies, its parts.

        The names lead nowhere: they stand above.
        """
        parts = self.ledger.parts

        def through(entry: Entry) -> str:
            if entry.part is not None:
                return parts[entry.part].kind
            return "the copies" if entry.puppet is not None else ""

        made = made_by(self.source, self.source.by_craft(self.built()), through)
        return tuple(
            replace(
                own,
                craft=links.plain(own.craft),
                people=tuple([(way, plain(people)) for way, people in own.people]),
            )
            for own in made
        )

    def puppets(self) -> Table:
        """Return the copies of the character."""
        filmed = {(e.puppet, e.shot) for e in self.entries if e.shot and self.ledger.is_footage(e)}
        shots = Counter(puppet for puppet, _ in filmed)
        rows = []
        for code in self.ledger.puppets_of.get(self.code, ()):
            puppet = self.ledger.puppets[code]
            entries = self.ledger.entries_beside_shots("puppet").get(code, ())
            rows.append(
                (
                    self.source.puppet(code),
                    code,
                    puppet.scale,
                    plain(self.source.makers(entries)),
                    puppet.ready_on,
                    shots[code],
                    sum(map(self.ledger.is_repair, entries)),
                )
            )
        return Table.of(f"The copies of {self.name}", PUPPET_COLUMNS, rows)

    def parts(self) -> Folded:
        """Return the parts made for the character, by kit, and where they are seen."""
        rows = []
        for code, part in self.ledger.parts.items():
            if part.character == self.code:
                fittings = self.ledger.fittings_of_part.get(code, ())
                fitted = ", ".join(dict.fromkeys(fitting.puppet for fitting in fittings))
                seen = self.replacements.get(code, ())
                frames = counted(sum(one.frames.count for one in seen), "frame")
                shown = f"{frames} in {counted(len({one.shot for one in seen}), 'shot')}"
                number, kind, makers = part_values(self.source, code)
                rows.append((number, kind, plain(makers), fitted, shown if seen else ""))
        table = Table.of(f"Parts made for {self.name}", PARTS_COLUMNS, rows)
        return folded_by_kit(table, [str(row[1]) for row in rows])

    def shots(self) -> Table:
        """Return the takes that the character is in: who animated it there, how much is kept."""
        rows = []
        for (shot, take), totals in self.feet.by(lambda cell: (cell.shot, cell.take)).items():
            animated = self.animated.get((shot, take), ())
            frames = union(each.frames for each in animated)
            spans = self.source.film_spans(shot, take, frames)
            kept = totals.character.kept
            rows.append(
                (
                    self.source.shot(shot),
                    plain(self.source.names(each.person for each in animated)),
                    f"{frames.shown} of take {take}" if take != 1 else frames,
                    *(kept, kept, totals.character.screen),
                    spans[0][0] - 1 if spans else None,
                )
            )
        table = Table.of(f"Shots of {self.name}", SHOT_COLUMNS, rows, self.source.scale, "total")
        return without_cut(self.source, table)

    def film_strip(self) -> strips.Strip | None:
        """Draw the whole film with what shows the character, and a row per animator."""
        source, use = self.source, self.source.results.use
        if use is None:
            return None
        spans: dict[str, list[Range]] = defaultdict(list)
        for take, animated in self.animated.items():
            for person, own in grouped(animated, lambda each: each.person).items():
                frames = together(each.frames for each in own)
                if shown := source.film_spans(*take, frames):
                    spans[person] += shown
        if not spans:
            return None
        seen = {person: sum(b - a for a, b in own) for person, own in spans.items()}
        ranked = sorted(seen, key=lambda person: (-seen[person], source.name_order(person)))
        rows = [(self.name, [span for own in spans.values() for span in own])]
        rows += [(str(source.person(person) or ""), spans[person]) for person in ranked]
        title = f"Where {self.name} is in the film, and who animated it"
        said = f"{title}; the table of shots says the same"
        return strips.film_strip(said, rows, use.cut, self.ledger.production)

    def time_line(self) -> strips.Strip | None:
        """Draw the work on a character, a row per craft in the order in which it began."""
        by_craft = dict(self.source.by_craft(self.entries))
        begun = {craft: days[0] for craft, own in by_craft.items() if (days := worked_days(own))}
        order = sorted(begun, key=lambda craft: (begun[craft], craft))
        rows = [
            (self.ledger.crafts[craft].name, strips.days_of(by_craft[craft])) for craft in order
        ]
        said = "the lists of who performed and made it say the same"
        return strips.day_strip(f"The work on {self.name} by craft; {said}", rows)

    def page(self) -> CharacterPage:
        """Return everything that the page shows."""
        source, results = self.source, self.source.results
        production, use = self.ledger.production, results.use
        character = self.ledger.characters[self.code]
        order = [code for code, _ in results.first_seen]
        seen = dict(results.first_seen).get(self.code)
        total = self.feet.total.character
        share = Fraction(100 * total.screen) / use.cut.length if use and use.cut.length else None
        clips = use.clips if use is not None and seen else ()
        shown = (clip for clip in clips if 0 <= (seen or 0) - clip.film_first < clip.shown)
        every = [entry for entry in self.entries if self.ledger.is_repair(entry)]
        repairs = every
        if len(every) > MOST_ROWS:  # those of a copy are on its page
            repairs = [entry for entry in every if entry.puppet is None or entry.part is not None]
        copies = len(every) - len(repairs)
        face_sheet = Link("which replacement is seen where", links.replacements_page(self.code))
        return CharacterPage(
            name=source.character(self.code),
            note=character.note or "",
            silent=character.silent,
            picture=source.pictures.get(self.code, ""),
            performed_by=tuple(self.performed_by()),
            makers=self.makers(),
            made_by=self.made_by(),
            puppets=self.puppets(),
            parts=self.parts(),
            place=f"{order.index(self.code) + 1} of {len(order)}" if self.code in order else "",
            on_screen=source.amount(total.screen) if use else None,
            of_film=f"{decimal_text(share, 1)} % of the film" if share is not None else "",
            kept=source.amount(total.kept),
            hands=source.results.hands_on.get(self.code, 0),
            shot_count=len({cell.shot for cell in self.feet.cells}),
            first_seen=clock(seen - 1, production.rate) if seen else "",
            first_shot=next((source.shot(clip.shot) for clip in shown), None),
            film_strip=self.film_strip() if source.crew else None,
            time_line=self.time_line() if source.crew else None,
            replacements=face_sheet if self.replacements else None,
            repairs=repairs_table(source, repairs, f"of {self.name}").without("minutes"),
            repaired_copies=counted(copies, "repair") if copies else "",
            shots=folded(source, self.shots()) if source.crew else None,
        )


CharacterCard = tuple[Link, str, tuple[Link, ...]]
"""A character in the list, its picture, and who gives it a voice."""


@dataclass(frozen=True, slots=True)
class CharactersPage:
    """All characters; those that the cut shows first, in order of appearance."""

    characters: Everyone[tuple[CharacterCard, ...]]
    in_order: Everyone[bool]
    footage: Crew[Table | None] = None


def characters_in_order(source: PageSource) -> tuple[str, ...]:
    """Return the codes of all characters: in order of appearance, then as in the table."""
    seen = dict(source.results.first_seen)
    return (*seen, *(code for code in source.ledger.characters if code not in seen))


def character_cards(source: PageSource) -> tuple[CharacterCard, ...]:
    """Return a card for every character, in their order."""
    cards = []
    for code in characters_in_order(source):
        voices = source.names(source.voices.get(code, ()))
        cards.append((source.character(code), source.pictures.get(code, ""), voices))
    return tuple(cards)


def _footage(source: PageSource) -> Table:
    feet = source.results.footage_by_character
    hands = source.results.hands_on
    rows = []
    for code in characters_in_order(source):
        own = feet.get(code, Footage((), None))
        totals = own.total.character
        rows.append(
            (
                source.character(code),
                len(source.ledger.puppets_of.get(code, ())),
                len({cell.shot for cell in own.cells}),
                hands.get(code, 0),
                *(totals.kept, totals.kept, totals.screen, totals.screen),
            )
        )
    table = Table.of("Footage by character", FOOTAGE_COLUMNS, rows, source.scale, "total")
    return without_cut(source, table)


def _characters_page(source: PageSource) -> CharactersPage:
    footage = _footage(source) if source.crew else None
    return CharactersPage(character_cards(source), bool(source.results.first_seen), footage)


def _character_page(source: PageSource, code: str) -> CharacterPage:
    return _CharacterPage(source, code).page()


def _also(source: PageSource, code: str) -> object:
    """Return what a character's page says that depends on other characters and other people."""
    order = [seen for seen, _ in source.results.first_seen]
    place = (order.index(code), len(order)) if code in order else None
    return place, dict(source.results.first_seen).get(code), source.results.hands_on.get(code, 0)


def _share(source: PageSource) -> object:
    """Compute what the pages of characters have in common."""
    results = source.results
    return (
        *(results.hands_on, source.animated_on),
        *(results.footage_by_character, results.first_seen),
    )


def character_pages(source: PageSource) -> Iterator[Page]:
    """Yield the list of the characters, and a page for each, in the order of the table."""
    whole = partial(_characters_page, source)
    yield Page(links.CHARACTERS, "characters.html", "Characters", links.CHARACTERS, whole)
    for code, character in source.ledger.characters.items():
        make = partial(_character_page, source, code)
        path, about = (
            links.character_page(code),
            About("character", code, partial(_also, source, code)),
        )
        share = partial(_share, source)
        yield Page(path, "character.html", character.name, links.CHARACTERS, make, about, share)


@dataclass(frozen=True, slots=True)
class ReplacementsPage:
    """The replacements of one character."""

    character: Everyone[Link]
    said: Crew[str] = ""
    table: Crew[Folded | None] = None


def _in_cut(source: PageSource, shown: list[Replacement]) -> int:
    """Count the different frames of the cut that show a replacement."""
    by_take: dict[tuple[str, int], list[Frames]] = defaultdict(list)
    for replacement in shown:
        for take in source.takes_in_cut.get(replacement.shot, ()):
            if replacement.take in (None, take):
                by_take[replacement.shot, take].append(replacement.frames)
    return sum((union(own) & source.in_cut(*take)).count for take, own in by_take.items())


def _replacement_table(
    source: PageSource, name: str, by_part: Mapping[str, list[Replacement]]
) -> Folded:
    rows = []
    # The list of a replacement that is seen in many shots names them, and leads to none.
    every = sum(len({one.shot for one in own}) for own in by_part.values())
    name_of = source.shot if every <= MOST_LINKED else Link
    for part in sorted(by_part, key=natural):
        shown = grouped(by_part[part], lambda one: one.shot)
        shots = sorted(shown, key=source.results.places.shots.__getitem__)
        seen = [(shot, union(one.frames for one in shown[shot])) for shot in shots]
        code, *values = part_values(source, part)
        rows.append(
            (
                Marked(value=code, sort=natural(code)),
                *values,
                tuple((name_of(shot), frames.shown) for shot, frames in seen),
                sum(frames.count for _, frames in seen),
                _in_cut(source, by_part[part]),
            )
        )
    table = without_cut(source, Table.of(f"Replacements of {name}", REPLACEMENT_COLUMNS, rows))
    return folded_by_kit(table, [str(row[1]) for row in rows], sums=True)


def _replacements_page(source: PageSource, code: str) -> ReplacementsPage:
    by_part, name = source.replacements[code], source.character(code)
    shots = {replacement.shot for shown in by_part.values() for replacement in shown}
    said = f"{counted(len(by_part), 'replacement')} seen in {counted(len(shots), 'shot')}"
    return ReplacementsPage(name, said, _replacement_table(source, name.text, by_part))


def replacement_pages(source: PageSource) -> Iterator[Page]:
    """Yield one page for every character whose face sheets show replacements."""
    for code in source.ledger.characters:
        if source.replacements.get(code):
            title = f"Replacements of {source.character(code)}"
            make = partial(_replacements_page, source, code)
            path, about = links.replacements_page(code), About("replacements", code)
            yield Page(path, "replacements.html", title, links.CHARACTERS, make, about)
