"""The frames of a take: the strip of who animated which, and the table that says the same."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from credits.footage.claims import Layer, TakeRuns
from credits.footage.footage import NO_FOOTAGE
from credits.footage.table import footage_column
from credits.model.words import listed
from credits.site.entries import without_cut
from credits.site.links import Link, linked_day
from credits.site.source import PageSource
from credits.site.strips import PATTERNS, BlockSpec, Strip, TickSpec, scale_step, strip
from credits.units.film_time import Gauge, day_text, feet_text
from credits.units.frames import Frames, Range, union
from credits.units.table import Column, Table, Unit

MOST_MARKS = 14
_FEET = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024)
People = tuple[str, ...]
_Days = dict[date | None, list[Range]]


COLUMNS = (
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


@dataclass(slots=True)
class _Done:
    """What the runs say of one person, character and day."""

    kept: list[Range] = field(default_factory=list)
    again: list[Range] = field(default_factory=list)
    puppets: set[str] = field(default_factory=set)


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

    # -- the strip -----------------------------------------------------------------------------

    def _stretches(self) -> dict[tuple[str, bool, People], _Days]:
        """Return frames by character, kept or photographed again, people, and day."""
        found: dict[tuple[str, bool, People], _Days] = {}
        for frames, layer, kept in self.layers:
            days = found.setdefault((layer.character, kept, _people(layer)), defaultdict(list))
            days[layer.day].append(frames)
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
        worked = [(day, Frames.of(*days[day])) for day in sorted(days, key=_day_order)]
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
        rows = [
            (
                self.source.character(code).text,
                sorted(blocks[code], key=lambda block: (block.thin, block.first)),
            )
            for code in self.characters
        ]
        last = max(
            self.shot.length, self.own.claimed.last, *(stop - 1 for _, stop in self.used.ranges)
        )
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

    # -- the table -----------------------------------------------------------------------------

    def _done(self) -> dict[tuple[str, str, date | None], _Done]:
        works: dict[tuple[str, str, date | None], _Done] = defaultdict(_Done)
        for frames, layer, kept in self.layers:
            for claim in layer.claims:
                work = works[layer.character, claim.person, layer.day]
                (work.kept if kept else work.again).append(frames)
                work.puppets |= claim.puppets
        return works

    def table(self, of: str) -> Table:
        """Return the strip in words and figures, in character frames.

        of: `` of take 2`` where the shot has several takes.
        """
        take = self.own.take
        figures = self.feet.by(
            lambda cell: (cell.character, cell.person, cell.day) if cell.take == take else None
        )
        works = self._done()

        def order(key: tuple[str, str, date | None]) -> tuple[object, ...]:
            ranges = works[key].kept or works[key].again
            name = self.source.name_order(key[1])
            return (self.characters.index(key[0]), min(ranges), _day_order(key[2]), name)

        rows = []
        for key in sorted(works, key=order):
            character, person, day = key
            measures = figures.get(key, NO_FOOTAGE).character
            rows.append(
                (
                    self.source.character(character),
                    self.source.person(person) or Link(""),
                    Frames.of(*works[key].kept),
                    Frames.of(*works[key].again),
                    self.source.copies(works[key].puppets),
                    linked_day(day),
                    *(measures.of(column.key) for column in FIGURES),
                )
            )
        caption, label = f"Who animated which frames{of}", "total, each character's frames"
        table = Table.of(caption, (*COLUMNS, *FIGURES), rows, label=label)
        return without_cut(self.source, replace(table.without_empty("again"), grouped=True))

    def beyond(self) -> str:
        """Return a sentence about frames claimed above the shot's length; empty without any."""
        over = self.own.claimed.from_frame(self.shot.length + 1)
        if not over:
            return ""
        length = f"the shot's length of {self.shot.length:,} frames"
        return f"Frames {over.shown} are claimed beyond {length}."


def _day_order(day: date | None) -> date:
    return day or date.min


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
