"""A take with claims: its strip, who animated which frames, and what is seen in it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from itertools import chain

from credits.editions import Everyone
from credits.footage.claims import Layer, TakeRuns
from credits.footage.footage import NO_FOOTAGE
from credits.footage.table import footage_columns
from credits.model.words import listed
from credits.site import strips
from credits.site.links import Link, LinkedOnce, linked_day
from credits.site.pages.worked import CharacterHands, hands_in_take
from credits.site.source import PageSource, grouped, without_cut
from credits.units.film_time import Gauge, day_text, feet_text
from credits.units.frames import Frames, Range, union
from credits.units.table import Column, Marked, Table, Unit, columns

MOST_MARKS = 14
_FEET = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024)
People = tuple[str, ...]
_Days = dict[date | None, list[Range]]
FRAME_COLUMNS = (
    *columns(character="Character", person="Animated by"),
    *columns(Unit.RANGES, frames="Frames", again="Photographed again"),
    Column(key="puppets", heading="Puppet"),
    Column(key="days", heading="Days", unit=Unit.DAY),
)
FIGURES = footage_columns(kept="Kept", cut="In the cut", screen="On screen")


class TakeFrames:
    """The claims of one take, gathered for its strip and its table."""

    def __init__(self, source: PageSource, own: TakeRuns) -> None:
        self.source = source
        self.own = own
        self.shot = source.ledger.shots[own.shot]
        self.feet = source.results.footage_of_shot(own.shot)
        self.used = source.in_cut(own.shot, own.take)
        place = source.results.places.characters
        self.layers = [
            ((run.first, run.stop), layer, layer in run.kept)
            for run in own.runs
            for layer in run.layers
        ]
        found = {layer.character for _, layer, _ in self.layers}
        self.characters = sorted(found, key=place.__getitem__)

    def _patterns(self) -> dict[People, int]:
        """Return a pattern for each animator, most frames first; then for those who shared some."""
        seen: Counter[People] = Counter()
        for (first, stop), layer, _ in self.layers:
            seen[_people(layer)] += stop - first
        order = sorted(seen, key=lambda p: (len(p), -seen[p], [*map(self.source.name_order, p)]))
        return {people: at for at, people in enumerate(order)}

    def _blocks(
        self, pattern: int, people: People, kept: bool, days: _Days
    ) -> list[strips.BlockSpec]:
        name = listed([link.text for link in self.source.names(people)])
        ordered = sorted(days, key=lambda day: day or date.min)
        blocks = []
        for first, stop in Frames.of(*chain.from_iterable(days.values())).ranges:
            here = [day for day in ordered if any(a < stop and first < b for a, b in days[day])]
            frames, on = Frames(((first, stop),)).text, listed([day_text(day) for day in here])
            title = f"{name}, frames {frames}, {on}"
            blocks.append(strips.BlockSpec(first, stop, pattern, title, name, thin=not kept))
        return blocks

    def strip(self, patterns: Mapping[People, int], feet: bool) -> strips.Strip:
        """Tell who animated which frames, a row per character; the bracket is what the cut uses.

        feet: whether the scale has them below.
        """
        found: dict[tuple[str, bool, People], _Days] = defaultdict(lambda: defaultdict(list))
        for frames, layer, kept in self.layers:
            found[layer.character, kept, _people(layer)][layer.day].append(frames)
        blocks: dict[str, list[strips.BlockSpec]] = defaultdict(list)
        for (character, kept, people), days in found.items():
            blocks[character].extend(self._blocks(patterns[people], people, kept, days))
        rows = []
        for code in self.characters:
            own = sorted(blocks[code], key=lambda block: (block.thin, block.first))
            rows.append((self.source.character(code).text, own))
        last = max(self.shot.length, self.own.claimed.last, self.used.last if self.used else 0)
        title = "Who animated which frames. The same is in the table."
        marks = frame_marks(last, self.source.ledger.production.gauge)
        if not feet:
            marks = [(at, above, "") for at, above, _ in marks]
        used = [(a, b, f"frames {Frames(((a, b),)).text}") for a, b in self.used.ranges]
        return strips.strip(title, rows, (1, last + 1), marks, used, "in the cut")

    def table(self, of: str) -> Table:
        """Return the strip in words and figures, in character frames."""
        take = self.own.take
        figures = self.feet.by(
            lambda cell: (cell.character, cell.person) if cell.take == take else None
        )
        works = grouped(
            (
                (frames, layer, claim, kept)
                for frames, layer, kept in self.layers
                for claim in layer.claims
            ),
            lambda work: (work[1].character, work[2].person),
        )

        def order(key: tuple[str, str]) -> tuple[object, ...]:
            # By the first frame that is kept, if any is.
            begins = min((not kept, frames) for frames, _, _, kept in works[key])
            return (self.characters.index(key[0]), begins, self.source.name_order(key[1]))

        rows, once = [], LinkedOnce()
        for key in sorted(works, key=order):
            character, person = key
            measures = figures.get(key, NO_FOOTAGE).character
            puppets = (code for _, _, claim, _ in works[key] for code in claim.puppets)
            rows.append(
                (
                    self.source.character(character),
                    once((self.source.person(person) or Link(""),))[0],
                    Frames.of(*(frames for frames, _, _, kept in works[key] if kept)),
                    Frames.of(*(frames for frames, _, _, kept in works[key] if not kept)),
                    once(self.source.copies(puppets)),
                    _worked_on(layer.day for _, layer, _, _ in works[key]),
                    *(measures.of(column.key) for column in FIGURES),
                )
            )
        caption, label = f"Who animated which frames{of}", "total, each character's frames"
        table = Table.of(caption, (*FRAME_COLUMNS, *FIGURES), rows, label=label)
        return without_cut(self.source, replace(table.without_empty("again"), grouped=True))

    def section(self, decision: str, several: bool, counts: bool) -> TakeSection:
        """Return the take as its page shows it. several: whether the shot has more takes.

        counts: whether the take is in the film, or meant to be; of another who made the puppets is
        not said again.
        """
        take, production = self.own.take, self.source.ledger.production
        of = f"take {take}" if several else ""
        below = "feet+frames" if production.gauge.whole_feet else "feet"
        patterns = self._patterns()
        legend = [f"above: frames; below: {below}" if counts else "above: frames"]
        if not all(kept for _, _, kept in self.layers):
            legend.insert(0, "thin: photographed again later")
        if len(patterns) > strips.PATTERNS:
            legend.append(f"patterns come again after {strips.PATTERNS}: the table says who")
        over = self.own.claimed.from_frame(self.shot.length + 1)
        length = f"the shot's length of {self.shot.length:,} frames"
        once = LinkedOnce()
        return TakeSection(
            take=take,
            of=of,
            said=(f"{decision}; in the cut" if self.used else decision) if several else "",
            strip=self.strip(patterns, feet=counts),
            key=tuple(
                (at % strips.PATTERNS, once(self.source.names(who))) for who, at in patterns.items()
            ),
            legend=tuple(legend),
            table=self.table(f" of {of}" if several else ""),
            beyond=f"Frames {over.shown} are claimed beyond {length}." if over else "",
            hands=hands_in_take(self.source, self.own, directly=not counts),
            through="directly, and through the puppets" if counts else "directly",
        )


def _worked_on(days: Iterable[date | None]) -> Marked | tuple[date, date]:
    """Return the days of some work: one, which leads to its week, or the first and the last."""
    dated = {day for day in days if day is not None}
    if len(dated) > 1:
        return min(dated), max(dated)
    return linked_day(next(iter(dated), None))


def _people(layer: Layer) -> People:
    return tuple([claim.person for claim in layer.claims])


def frame_marks(last: int, gauge: Gauge) -> list[strips.TickSpec]:
    """Return the scale of a shot of so many frames: frame numbers above, feet below."""
    foot = gauge.frames_per_foot
    whole = int(foot) if foot.denominator == 1 else 24
    steps = sorted({1, 2, 4, *(whole * n // 4 for n in (1, 2)), *(whole * n for n in _FEET)})
    step = int(strips.scale_step(last, MOST_MARKS, steps))
    while Fraction(last, step) > MOST_MARKS:
        step *= 2
    marks: list[strips.TickSpec] = [(1, "frame 1", f"{feet_text(0, gauge)} ft")]
    marks += [(at + 1, str(at + 1), feet_text(at, gauge)) for at in range(step, last, step)]
    return marks


REPLACEMENT_COLUMNS = (
    Column(key="character", heading="Character"),
    Column(key="part", heading="Part", unit=Unit.CODE),
    *columns(kind="Kind", take="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)


def replacement_table(source: PageSource, shot: str) -> Table:
    """Tell which part shows in which frames, by character and take, as they are seen.

    Who made it stands with the hands in the take.
    """
    found = source.ledger.replacements_by_shot.get(shot, ())
    shown = grouped(found, lambda one: (one.character, one.take, one.part))
    place = source.results.places.characters
    sets = {key: union(one.frames for one in own) for key, own in shown.items()}
    rows, once = [], LinkedOnce()
    for key in sorted(sets, key=lambda k: (place[k[0]], k[1] or 0, sets[k].ranges, k[2])):
        character, take, part = key
        taken = "every take" if take is None else take
        named = once((source.character(character),))
        rows.append((*named, part, source.ledger.parts[part].kind, taken, sets[key]))
    return Table.of(f"Replacements seen in shot {shot}", REPLACEMENT_COLUMNS, rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeSection:
    """A take with claims: its strip, who animated what, and the hands in it.

    through: how those whose hands are said came to the take.
    of: ``take 2`` where the shot has several. said: what became of it. key: whose each pattern of
    the strip is. legend: what else is drawn.
    """

    take: Everyone[int]
    of: Everyone[str]
    said: Everyone[str]
    strip: Everyone[strips.Strip]
    key: Everyone[tuple[tuple[int, tuple[Link, ...]], ...]]
    legend: Everyone[tuple[str, ...]]
    table: Everyone[Table]
    beyond: Everyone[str]
    hands: Everyone[tuple[CharacterHands, ...]]
    through: Everyone[str]
