"""The page of a shot: who animated which frames of a take, and whose hands are in it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from credits.editions import Everyone
from credits.footage.claims import Layer, TakeRuns
from credits.footage.footage import NO_FOOTAGE
from credits.footage.table import footage_column
from credits.hands.hands import Spread, Via
from credits.model.facts import Kind, ShotStatus
from credits.model.words import counted, listed
from credits.site import links
from credits.site.entries import PART_COLUMNS, entry_table, part_values, without_cut
from credits.site.links import Link, Page, linked_day, with_neighbours
from credits.site.pages.shots import TakesOfShots, decision_text, sequence_link, shots_in_order
from credits.site.source import Amount, PageSource, grouped
from credits.site.strips import PATTERNS, BlockSpec, Strip, TickSpec, scale_step, strip
from credits.units.film_time import Gauge, clock, day_text, feet_text
from credits.units.frames import Frames, Range, union
from credits.units.table import Column, Marked, Table, Unit

MOST_MARKS = 14
_FEET = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024)
People = tuple[str, ...]
_Days = dict[date | None, list[Range]]
FRAME_COLUMNS = (
    Column(key="character", heading="Character"),
    Column(key="person", heading="Animated by"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="again", heading="Photographed again", unit=Unit.RANGES),
    Column(key="puppets", heading="Puppet"),
    Column(key="day", heading="Day", unit=Unit.DAY),
)
FIGURES = (
    footage_column("kept", "Kept"),
    footage_column("cut", "In the cut"),
    footage_column("screen", "On screen"),
)


class TakeFrames:
    """The claims of one take, gathered for its strip and its table."""

    def __init__(self, source: PageSource, own: TakeRuns) -> None:
        self.source = source
        self.own = own
        self.shot = source.ledger.shots[own.shot]
        self.feet = source.results.footage_by_shot[own.shot]
        self.used = source.in_cut(own.shot, own.take)
        place = source.results.places.characters
        self.layers = [
            ((run.first, run.stop), layer, layer in run.kept)
            for run in own.runs
            for layer in run.layers
        ]
        found = {layer.character for _, layer, _ in self.layers}
        self.characters = sorted(found, key=place.__getitem__)

    def _stretches(self) -> dict[tuple[str, bool, People], _Days]:
        """Return frames by character, kept or photographed again, people, and day."""
        found: dict[tuple[str, bool, People], _Days] = defaultdict(lambda: defaultdict(list))
        for frames, layer, kept in self.layers:
            found[layer.character, kept, _people(layer)][layer.day].append(frames)
        return found

    def _patterns(self) -> dict[People, int]:
        """Return a pattern for each animator, most frames first; then for those who shared some."""
        seen: Counter[People] = Counter()
        for (first, stop), layer, _ in self.layers:
            seen[_people(layer)] += stop - first
        order = sorted(seen, key=lambda p: (len(p), -seen[p], [*map(self.source.name_order, p)]))
        return {people: at for at, people in enumerate(order)}

    def _blocks(self, pattern: int, people: People, kept: bool, days: _Days) -> list[BlockSpec]:
        name = listed([link.text for link in self.source.names(people)])
        worked = [
            (day, Frames.of(*days[day])) for day in sorted(days, key=lambda day: day or date.min)
        ]
        blocks = []
        for first, stop in union(frames for _, frames in worked).ranges:
            here = Frames(((first, stop),))
            on = listed([day_text(day) for day, frames in worked if frames & here])
            later = "" if kept else ", photographed again later"
            title = f"{name}, frames {here.text}, {on}{later}"
            blocks.append(BlockSpec(first, stop, pattern, title, name, thin=not kept))
        return blocks

    def strip(self) -> Strip:
        """Tell who animated which frames, a row per character; the bracket is what the cut uses."""
        patterns = self._patterns()
        blocks: dict[str, list[BlockSpec]] = defaultdict(list)
        for (character, kept, people), days in self._stretches().items():
            blocks[character].extend(self._blocks(patterns[people], people, kept, days))
        rows = []
        for code in self.characters:
            own = sorted(blocks[code], key=lambda block: (block.thin, block.first))
            rows.append((self.source.character(code).text, own))
        last = max(self.shot.length, self.own.claimed.last, self.used.last if self.used else 0)
        title = f"Who animated which frames of shot {self.shot.code}. The same is in the table."
        marks = frame_marks(last, self.source.ledger.production.gauge)
        return strip(title, rows, (1, last + 1), marks, self.used.ranges)

    def key(self) -> tuple[tuple[int, tuple[Link, ...]], ...]:
        """Tell whose each pattern is."""
        patterns = self._patterns().items()
        return tuple((at % PATTERNS, self.source.names(people)) for people, at in patterns)

    def legend(self) -> tuple[str, ...]:
        """Tell what the strip draws beside its patterns."""
        again = not all(kept for _, _, kept in self.layers)
        whole_feet = self.source.ledger.production.gauge.whole_feet
        return (
            *(("thin: photographed again later",) if again else ()),
            *(("the bracket: what the cut uses",) if self.used else ()),
            f"above: frames; below: {'feet+frames' if whole_feet else 'feet'}",
        )

    def table(self, of: str) -> Table:
        """Return the strip in words and figures, in character frames.

        of: `` of take 2`` where the shot has several takes.
        """
        take = self.own.take
        figures = self.feet.by(
            lambda cell: (cell.character, cell.person, cell.day) if cell.take == take else None
        )
        works = grouped(
            (
                (frames, layer, claim, kept)
                for frames, layer, kept in self.layers
                for claim in layer.claims
            ),
            lambda work: (work[1].character, work[2].person, work[1].day),
        )

        def order(key: tuple[str, str, date | None]) -> tuple[object, ...]:
            # By the first frame that is kept, if any is.
            begins = min((not kept, frames) for frames, _, _, kept in works[key])[1]
            name = self.source.name_order(key[1])
            return (self.characters.index(key[0]), begins, key[2] or date.min, name)

        rows = []
        for key in sorted(works, key=order):
            character, person, day = key
            measures = figures.get(key, NO_FOOTAGE).character
            puppets = (code for _, _, claim, _ in works[key] for code in claim.puppets)
            rows.append(
                (
                    self.source.character(character),
                    self.source.person(person) or Link(""),
                    Frames.of(*(frames for frames, _, _, kept in works[key] if kept)),
                    Frames.of(*(frames for frames, _, _, kept in works[key] if not kept)),
                    self.source.copies(puppets),
                    linked_day(day),
                    *(measures.of(column.key) for column in FIGURES),
                )
            )
        caption, label = f"Who animated which frames{of}", "total, each character's frames"
        table = Table.of(caption, (*FRAME_COLUMNS, *FIGURES), rows, label=label)
        return without_cut(self.source, replace(table.without_empty("again"), grouped=True))

    def beyond(self) -> str:
        """Return a sentence about frames claimed above the shot's length; empty without any."""
        over = self.own.claimed.from_frame(self.shot.length + 1)
        length = f"the shot's length of {self.shot.length:,} frames"
        return f"Frames {over.shown} are claimed beyond {length}." if over else ""


def _people(layer: Layer) -> People:
    return tuple(claim.person for claim in layer.claims)


def frame_marks(last: int, gauge: Gauge) -> list[TickSpec]:
    """Return the scale of a shot of so many frames: frame numbers above, feet below."""
    foot = gauge.frames_per_foot
    whole = int(foot) if foot.denominator == 1 else 24
    steps = sorted({1, 2, 4, *(whole * n // 4 for n in (1, 2)), *(whole * n for n in _FEET)})
    step = int(scale_step(last, MOST_MARKS, steps))
    while Fraction(last, step) > MOST_MARKS:
        step *= 2
    return [TickSpec(at + 1, str(at + 1), feet_text(at, gauge)) for at in range(0, last, step)]


MOST_PARTS = 12
_WORDS = {Via.FRAME: "these frames", Via.SHOT: "the shot", Via.SEQUENCE: "the sequence"}
_ORDER = list(Via)
HAND_COLUMNS = (
    Column(key="character", heading="Character"),
    Column(key="craft", heading="Craft"),
    Column(key="person", heading="By"),
    Column(key="way", heading="By way of"),
    Column(key="since", heading="Since", unit=Unit.DAY),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)
REPLACEMENT_COLUMNS = (
    Column(key="character", heading="Character"),
    *PART_COLUMNS,
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)
_Key = tuple[str, str, str, Via]


def _way(source: PageSource, craft: str, via: Via, own: list[Spread]) -> str | tuple[Link, ...]:
    """Tell by way of what a hand is in the frames: words, or the puppets."""
    if via is Via.CHARACTER:
        whole = source.ledger.crafts[craft].kind is Kind.PERFORMANCE
        return "the whole part" if whole else "the character"
    if via is Via.PART:
        parts = sorted({hand.part for hand in own if hand.part is not None})
        kinds = grouped(parts, lambda code: source.ledger.parts[code].kind)
        return "; ".join(f"{kind} {listed(codes, MOST_PARTS)}" for kind, codes in kinds.items())
    return _WORDS.get(via) or source.copies(hand.puppet for hand in own)


def hand_table(source: PageSource, shot: str, take: int, of: str) -> Table:
    """Return the hands of a take by character, in the order of the crafts.

    of: ``take 2`` where the shot has several.
    """
    places = source.results.places
    hands = source.results.hands.of_take(shot, take)
    reached = grouped(hands, lambda hand: (hand.character, hand.craft, hand.person, hand.via))

    def order(key: _Key) -> tuple[object, ...]:
        character, craft, person, via = key
        at = (places.characters[character], places.crafts[craft])
        return (*at, source.name_order(person), _ORDER.index(via))

    rows = []
    for key in sorted(reached, key=order):
        character, craft, person, via = key
        own = reached[key]
        way = _way(source, craft, via, own)
        since = min((hand.since for hand in own if hand.since is not None), default=None)
        frames = union(hand.frames for hand in own)
        names = (source.character(character), source.craft(craft), source.person(person))
        rows.append((*names, way, since, frames))
    mentioned = (row for row in rows if row[2] is not None)
    table = Table.of(f"Everybody whose hands are in {of or 'it'}", HAND_COLUMNS, mentioned)
    return replace(table, grouped=True)


def replacement_table(source: PageSource, shot: str) -> Table:
    """Tell which part shows in which frames, by character and take, as they are seen."""
    found = source.ledger.replacements_by_shot.get(shot, ())
    shown = grouped(found, lambda one: (one.character, one.take, one.part))
    place = source.results.places.characters
    sets = {key: union(one.frames for one in own) for key, own in shown.items()}
    rows = []
    for key in sorted(sets, key=lambda k: (place[k[0]], k[1] or 0, sets[k].ranges, k[2])):
        character, take, part = key
        taken = "every take" if take is None else take
        rows.append((source.character(character), *part_values(source, part), taken, sets[key]))
    return Table.of(f"Replacements seen in shot {shot}", REPLACEMENT_COLUMNS, rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeSection:
    """A take with claims: its strip, who animated what, and the hands in it.

    of: ``take 2`` where the shot has several. said: what became of it. key: whose each pattern of
    the strip is. legend: what else is drawn.
    """

    of: Everyone[str]
    said: Everyone[str]
    strip: Everyone[Strip]
    key: Everyone[tuple[tuple[int, tuple[Link, ...]], ...]]
    legend: Everyone[tuple[str, ...]]
    table: Everyone[Table]
    beyond: Everyone[str]
    hands: Everyone[Table]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotPage:
    """Everything the shot's page shows. counting: the takes that count, and what became of them."""

    code: Everyone[str]
    sequence: Everyone[Link]
    description: Everyone[str]
    picture: Everyone[str]
    length: Everyone[Amount]
    status: Everyone[str]
    omitted: Everyone[bool]
    has_cut: Everyone[bool]
    in_cut: Everyone[str]
    in_cut_where: Everyone[str]
    counting: Everyone[tuple[Marked, ...]]
    hands: Everyone[str]
    hands_word: Everyone[str]
    sections: Everyone[tuple[TakeSection, ...]]
    replacements: Everyone[Table]
    takes: Everyone[Table]
    entries: Everyone[Table]
    previous: Everyone[Link | None]
    following: Everyone[Link | None]


class _ShotPages:
    """What is the same for all shots, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = TakesOfShots(source)

    def section(self, shot: str, take: int, several: bool) -> TakeSection:
        frames = TakeFrames(self.source, self.source.results.runs[shot, take])
        decision = decision_text(self.ledger.take(shot, take))
        of = f"take {take}" if several else ""
        return TakeSection(
            of=of,
            said=(f"{decision}; in the cut" if frames.used else decision) if several else "",
            strip=frames.strip(),
            key=frames.key(),
            legend=frames.legend(),
            table=frames.table(f" of {of}" if several else ""),
            beyond=frames.beyond(),
            hands=hand_table(self.source, shot, take, of),
        )

    def in_cut(self, shot: str) -> tuple[str, str]:
        """Count the frames that the cut uses, and tell which, how often, and where in the film."""
        use, used = self.source.results.use, self.takes.in_cut(shot)
        takes = self.takes.that_count(shot)
        clips = [c for take in takes for c in use.clips_of.get((shot, take), ())] if use else []
        if not used or not clips:
            return "", ""
        several = len(used) > 1
        ranges = [f"{own.shown} of take {n}" if several else own.shown for n, own in used.items()]
        at = clock(min(clip.film_first for clip in clips) - 1, self.ledger.production.rate)
        told = [listed(ranges), f"at {at} in the film"]
        count = sum(frames.count for frames in used.values())
        shown = sum(clip.shown for clip in clips)
        if shown != count:
            told.append(f"on screen for {counted(shown, 'frame')}")
        return f"{count:,}", "; ".join(told)

    def page(self, code: str, previous: str | None, following: str | None) -> ShotPage:
        shot, source = self.ledger.shots[code], self.source
        counting = self.takes.that_count(code)
        claimed = self.takes.with_claims(code)
        in_cut, where = self.in_cut(code)
        entries = sorted(self.ledger.entries_by_shot.get(code, ()), key=lambda e: e.number)
        log = entry_table(source, f"Entries of the log that name shot {code}", entries)
        found = (hand for n in counting for hand in source.results.hands.of_take(code, n))
        hands = len({hand.person for hand in found})
        return ShotPage(
            code=code,
            sequence=sequence_link(source, shot.sequence),
            description=shot.description or "",
            picture=source.pictures.get(code, ""),
            length=source.amount(shot.length),
            status=shot.status.value,
            omitted=shot.status is ShotStatus.OMITTED,
            has_cut=source.has_cut,
            in_cut=in_cut,
            in_cut_where=where,
            counting=tuple(
                Marked(value=n, note=decision_text(self.ledger.take(code, n))) for n in counting
            ),
            hands=f"{hands:,}" if hands else "",
            hands_word="person" if hands == 1 else "people",
            sections=tuple(self.section(code, take, len(claimed) > 1) for take in claimed),
            replacements=replacement_table(source, code),
            takes=self.takes.table(code),
            entries=log.without("shot"),
            previous=source.shot(previous) if previous else None,
            following=source.shot(following) if following else None,
        )


def shot_pages(source: PageSource) -> Iterator[Page]:
    """Make one page for every shot, in the order of the sequences."""
    builder = _ShotPages(source)
    for previous, code, following in with_neighbours(shots_in_order(source.ledger)):
        page = builder.page(code, previous, following)
        yield Page(links.shot_page(code), "shot.html", f"Shot {code}", links.SHOTS, page)
