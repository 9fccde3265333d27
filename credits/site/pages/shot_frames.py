"""The frames of a take: the strip of who animated which, and the table that says the same."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from credits.editions import Everyone
from credits.footage.claims import Layer, TakeRuns
from credits.footage.footage import NO_FOOTAGE, FootageTotals
from credits.model.words import listed
from credits.site.links import day_link
from credits.site.page import Link
from credits.site.source import PageSource
from credits.site.strips import PATTERNS, BlockSpec, RowSpec, Strip, TickSpec, scale_step, strip
from credits.units.film_time import Gauge, day_text, feet_text
from credits.units.frames import NO_FRAMES, Frames, union
from credits.units.rounding import largest_remainder

MOST_MARKS = 14
_FEET = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024)
People = tuple[str, ...]
_Days = dict[date | None, list[tuple[int, int]]]


@dataclass(frozen=True, slots=True)
class ClaimRow:
    """One person's work on one character on one day."""

    person: Everyone[Link]
    frames: Everyone[str]
    again: Everyone[str]
    puppets: Everyone[tuple[Link, ...]]
    day: Everyone[Link]
    kept: Everyone[str]
    in_cut: Everyone[str]
    on_screen: Everyone[str]


@dataclass(frozen=True, slots=True)
class ClaimGroup:
    """A character of the take and its rows. ``height``: how many rows its name stands beside."""

    character: Everyone[Link]
    height: Everyone[int]
    rows: Everyone[tuple[ClaimRow, ...]]


@dataclass(frozen=True, slots=True)
class KeyItem:
    """A pattern of the strip and whose it is."""

    pattern: Everyone[int]
    names: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True)
class ClaimTable:
    """The table of claims with its totals, in character frames."""

    groups: Everyone[tuple[ClaimGroup, ...]]
    any_again: Everyone[bool]
    kept: Everyone[str]
    in_cut: Everyone[str]
    on_screen: Everyone[str]


@dataclass(slots=True)
class _Work:
    """What the runs say of one person, character and day."""

    kept: list[tuple[int, int]] = field(default_factory=list)
    again: list[tuple[int, int]] = field(default_factory=list)
    puppets: set[str] = field(default_factory=set)


class TakeFrames:
    """The claims of one take, gathered for its strip and its table."""

    def __init__(self, source: PageSource, own: TakeRuns, place: Mapping[str, int]) -> None:
        self.source = source
        self.own = own
        self.shot = source.ledger.shots[own.shot]
        self.feet = source.results.footage_by_shot[own.shot]
        self.used = NO_FRAMES
        if source.results.use is not None:
            self.used = source.results.use.used.get((own.shot, own.take), NO_FRAMES)
        found = {layer.character for run in own.runs for layer in run.layers}
        self.characters = sorted(found, key=place.__getitem__)

    # -- the strip -----------------------------------------------------------------------------

    def _stretches(self) -> dict[tuple[str, bool, People], _Days]:
        """Frames by character, kept or photographed again, people, and day."""
        found: dict[tuple[str, bool, People], _Days] = {}
        for run in self.own.runs:
            for layer in run.layers:
                key = (layer.character, layer in run.kept, _people(layer))
                days = found.setdefault(key, defaultdict(list))
                days[layer.day].append((run.first, run.stop))
        return found

    def _patterns(self) -> dict[People, int]:
        """A pattern for each animator, most frames first; then for those who shared frames."""
        seen: dict[People, int] = defaultdict(int)
        for run in self.own.runs:
            for layer in run.layers:
                seen[_people(layer)] += run.length
        order = sorted(seen, key=lambda p: (len(p), -seen[p], [*map(self.source.name_order, p)]))
        return {people: at for at, people in enumerate(order)}

    def _names(self, people: People) -> tuple[Link, ...]:
        links = (self.source.person(p) for p in sorted(people, key=self.source.name_order))
        return tuple(link for link in links if link is not None)

    def _blocks(self, pattern: int, people: People, kept: bool, days: _Days) -> list[BlockSpec]:
        name = listed([link.text for link in self._names(people)])
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
        """Who animated which frames, a row per character; the bracket is what the cut uses."""
        patterns = self._patterns()
        blocks: dict[str, list[BlockSpec]] = defaultdict(list)
        for (character, kept, people), days in self._stretches().items():
            blocks[character].extend(self._blocks(patterns[people], people, kept, days))
        rows = [
            RowSpec(
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

    def key(self) -> tuple[KeyItem, ...]:
        """Whose each pattern is."""
        return tuple(KeyItem(at % PATTERNS, self._names(p)) for p, at in self._patterns().items())

    # -- the table -----------------------------------------------------------------------------

    def _works(self) -> dict[tuple[str, str, date | None], _Work]:
        works: dict[tuple[str, str, date | None], _Work] = defaultdict(_Work)
        for run in self.own.runs:
            for layer in run.layers:
                for claim in layer.claims:
                    work = works[layer.character, claim.person, layer.day]
                    ranges = work.kept if layer in run.kept else work.again
                    ranges.append((run.first, run.stop))
                    work.puppets |= claim.puppets
        return works

    def table(self) -> ClaimTable:
        """The strip in words and figures. Columns add up (rule 3.8)."""
        take = self.own.take
        figures = self.feet.by(
            lambda cell: (cell.character, cell.person, cell.day) if cell.take == take else None
        )
        works = self._works()

        def order(key: tuple[str, str, date | None]) -> tuple[object, ...]:
            ranges = works[key].kept or works[key].again
            named = self.source.name_order(key[1])
            return (self.characters.index(key[0]), min(ranges), _day_order(key[2]), named)

        keys = sorted(works, key=order)
        kept, in_cut, on_screen = (
            _column([figures.get(key, NO_FOOTAGE) for key in keys], measure)
            for measure in ("kept", "cut", "screen")
        )
        rows: dict[str, list[ClaimRow]] = defaultdict(list)
        for at, key in enumerate(keys):
            rows[key[0]].append(self._row(key, works[key], (kept[at], in_cut[at], on_screen[at])))
        return ClaimTable(
            tuple(
                ClaimGroup(self.source.character(code), len(own), tuple(own))
                for code, own in rows.items()
            ),
            any(work.again for work in works.values()),
            f"{sum(kept):,}",
            f"{sum(in_cut):,}",
            f"{sum(on_screen):,}",
        )

    def _row(
        self, key: tuple[str, str, date | None], work: _Work, figures: tuple[int, int, int]
    ) -> ClaimRow:
        person = self.source.person(key[1]) or Link("")
        return ClaimRow(
            person,
            Frames.of(*work.kept).text.replace(",", ", "),
            Frames.of(*work.again).text.replace(",", ", "),
            tuple(copy_link(self.source, code) for code in sorted(work.puppets)),
            day_link(key[2]),
            *(f"{figure:,}" for figure in figures),
        )

    def beyond(self) -> str:
        """The claimed frames above the shot's length, as a sentence; empty where there are none."""
        over = self.own.claimed.from_frame(self.shot.length + 1)
        if not over:
            return ""
        frames = over.text.replace(",", ", ")
        return (
            f"Frames {frames} are claimed beyond the shot's length of {self.shot.length:,} frames."
        )


def _people(layer: Layer) -> People:
    return tuple(claim.person for claim in layer.claims)


def _day_order(day: date | None) -> date:
    return day or date.min


def _column(figures: Sequence[FootageTotals], measure: str) -> list[int]:
    return largest_remainder([totals.character.of(measure) for totals in figures])


def copy_link(source: PageSource, code: str) -> Link:
    """``copy 3``: a puppet where its character is named beside it."""
    puppet = source.ledger.puppets[code]
    copy = puppet.copy or puppet.code
    return Link(f"copy {copy}" if copy.isdigit() else copy, source.puppet(code).href)


def frame_marks(last: int, gauge: Gauge) -> list[TickSpec]:
    """The scale under a shot of so many frames: frame numbers above, feet and frames below."""
    foot = gauge.frames_per_foot
    whole = int(foot) if foot.denominator == 1 else 24
    steps = sorted({1, 2, 4, *(whole * n // 4 for n in (1, 2)), *(whole * n for n in _FEET)})
    step = int(scale_step(last, MOST_MARKS, steps))
    while Fraction(last, step) > MOST_MARKS:
        step *= 2
    return [TickSpec(at + 1, str(at + 1), feet_text(at, gauge)) for at in range(0, last, step)]
