"""Strips and time lines.

A strip is as wide as its place: where something lies along it is a share of its width, and letters
keep their size. Which label has room on how wide a strip is in ``labels.py``; heights, and where
the names of rows stand, are in the style sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from markupsafe import escape

from credits.editions import Everyone
from credits.model.facts import Cut, Production
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import labels
from credits.units.film_time import MONTHS, FrameRate, clock, days_between

PATTERNS = 12  # of as many people, told apart without colour; the colours are six
MOST_BLOCKS = 16  # of a row; more are one line
MOST_TOLD = 24  # of a strip; where there are more nobody points at one, and the table tells them
UNITS = 1000  # of a line of many stretches: what is thinner is drawn as thick
THINNEST = 0.0008
PLAIN = -1  # no pattern: the one colour of rows that carry labels


class BlockSpec(NamedTuple):
    """A stretch ``first .. stop`` (half open, in the strip's own unit) of a row.

    ``pattern``: 0 to 11, cycling, where stretches of different people or things stand in a row;
    ``PLAIN`` where the row says whose it is. ``label`` is drawn where it fits; ``title`` says
    everything. ``thin`` draws it below the band: photographed, and photographed again later.
    """

    first: float
    stop: float
    pattern: int
    title: str
    label: str = ""
    thin: bool = False


TickSpec = tuple[float, str, str]
"""A mark on the scale, and what stands above and below the strip there."""


@dataclass(frozen=True, slots=True)
class StripBlock:
    """A drawn stretch. x, width: in hundredths of the strip. label_x: where its label begins, in
    the stretch or behind it; room: what that needs."""

    x: Everyone[str]
    width: Everyone[str]
    pattern: Everyone[int]
    title: Everyone[str]
    label: Everyone[str] = ""
    label_x: Everyone[str] = ""
    room: Everyone[str] = ""
    thin: Everyone[bool] = False

    @property
    def svg(self) -> str:
        """Write it with its title where it has one."""
        title = f"><title>{escape(self.title)}</title></rect>" if self.title else "/>"
        return f'<rect x="{self.x}%" width="{self.width}%"{title}'

    @property
    def text(self) -> str:
        """Write its label where it has one."""
        if not self.label:
            return ""
        room = f' class="{self.room}"' if self.room else ""
        return f'<text{room} x="{self.label_x}%">{escape(self.label)}</text>'


def _alike(blocks: Iterable[StripBlock]) -> str:
    """Write stretches; of those of one pattern that follow each other it is said once."""
    drawn = []
    for pattern, own in groupby(blocks, attrgetter("pattern")):
        rects = "".join([block.svg for block in own])
        drawn.append(rects if pattern == PLAIN else f'<g fill="url(#w{pattern})">{rects}</g>')
    return "".join(drawn)


@dataclass(frozen=True, slots=True)
class Crowd:
    """Many drawn stretches of one pattern: a broken line as thick as they are high.

    dashes: how far it is drawn and how far not, in turn, in thousandths of the strip.
    """

    dashes: Everyone[str]
    pattern: Everyone[int]
    title: Everyone[str]

    @property
    def svg(self) -> str:
        """Write it with its title."""
        line = f'x2="{UNITS}" y1="12" y2="12" stroke-dasharray="{self.dashes}"'
        title = f"<title>{escape(self.title)}</title>"
        if self.pattern == PLAIN:
            drawn = f'<line class="crowd" {line}>{title}</line>'
        else:
            drawn = (
                f'<line class="crowd c{self.pattern}" {line}/>'
                f'<line class="crowd inner" {line} stroke="url(#w{self.pattern})">{title}</line>'
            )
        return f'<svg viewBox="0 0 {UNITS} 24" preserveAspectRatio="none">{drawn}</svg>'


@dataclass(frozen=True, slots=True)
class Row:
    """A drawn row: its stretches one by one, or all in one line where they are many.

    look: what the style sheet calls it, where it is not as high as others.
    """

    label: Everyone[str]
    blocks: Everyone[tuple[StripBlock, ...]]
    crowd: Everyone[Crowd | None] = None
    look: Everyone[str] = ""

    @property
    def svg(self) -> str:
        """Write its name, and its stretches."""
        crowd = self.crowd.svg if self.crowd is not None else ""
        # Bands lie beside each other. Of thin stretches, which may not, the last begun is on top.
        bands = sorted((b for b in self.blocks if not b.thin), key=attrgetter("pattern"))
        thin = [block for block in self.blocks if block.thin]
        words = "".join([block.text for block in self.blocks])
        blocks = _alike(bands) + (f'<g class="thin">{_alike(thin)}</g>' if thin else "") + words
        look = f"bars {self.look}" if self.look else "bars"
        name = escape(self.label)
        return f'<bdi>{name}</bdi><svg class="{look}">{crowd}{blocks}</svg>\n'


class Tick(NamedTuple):
    """A drawn mark of the scale, in hundredths of the strip, with the words above and below it.

    Of each what the style sheet calls it: which room it needs, and that it ends at the mark.
    """

    x: str
    above: str
    below: str
    above_look: str
    below_look: str


def scale_svg(ticks: Sequence[Tick]) -> str:
    """Write the marks of a scale and their words; nothing where there are none.

    How large a mark is, and where words stand that stand above, is in the style sheet.
    """
    if not ticks:
        return ""
    drawn = [f'<rect x="{tick.x}%"/>' for tick in ticks]
    for x, over, under, over_look, under_look in ticks:  # words lie over every line
        for words, look, at in ((over, over_look, ""), (under, under_look, ' y="100%"')):
            if words:
                named = f' class="{look}"' if look else ""
                drawn.append(f'<text{named} x="{x}%"{at}>{escape(words)}</text>')
    return f'<svg class="scale">{"".join(drawn)}</svg>\n'


Bracket = tuple[str, str, str]
"""Where a bracket begins, where it ends, and what it says."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip, ready to be written. brackets: of stretches of the whole strip, in a row of their
    own, which ``bracketed`` names.

    first, stop: what it runs from and to, half open, in its own unit. key: what patterns mean.
    """

    title: Everyone[str]
    rows: Everyone[tuple[Row, ...]]
    ticks: Everyone[tuple[Tick, ...]]
    brackets: Everyone[tuple[Bracket, ...]] = ()
    bracketed: Everyone[str] = ""
    first: Everyone[str] = ""
    stop: Everyone[str] = ""
    key: Everyone[tuple[tuple[int, str], ...]] = ()

    def __html__(self) -> str:
        """Write the strip as HTML: what a template shows where it names a strip."""
        title = escape(self.title)
        above = " above" if any(tick.above for tick in self.ticks) else ""
        below = " below" if any(tick.below for tick in self.ticks) else ""
        span = f' data-first="{self.first}" data-stop="{self.stop}"' if self.stop else ""
        rows = "".join([row.svg for row in self.rows])
        return (
            f'<div class="lanes"><div class="drawn{above}{below}"{span} '
            f'role="img" aria-label="{title}">\n'
            f"{scale_svg(self.ticks)}{self._brackets()}{rows}</div></div>"
        )

    def _brackets(self) -> str:
        if not self.brackets:
            return ""
        drawn = []
        for x, to, title in self.brackets:
            drawn.append(
                f'<g><title>{escape(title)}</title><line x1="{x}%" x2="{x}%" y1="3" y2="100%"/>'
                f'<line x1="{x}%" x2="{to}%" y1="3" y2="3"/>'
                f'<line x1="{to}%" x2="{to}%" y1="3" y2="100%"/></g>'
            )
        name = escape(self.bracketed)
        return f'<bdi>{name}</bdi><svg class="bars bracket">{"".join(drawn)}</svg>\n'


@lru_cache(maxsize=20_000)
def svg_number(value: float) -> str:
    """Write a length of the drawing with two decimals at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def share(value: float) -> str:
    """Write a share of the strip, 0 to 1, in hundredths."""
    return svg_number(100 * value)


def drawn_ticks(ticks: Iterable[tuple[float, str, str]]) -> tuple[Tick, ...]:
    """Return marks of the scale with the words that have room.

    ticks: at which share of the strip, and what would stand above and below it.
    """
    every = sorted(ticks)
    above = _looks(tuple([(at, over) for at, over, _ in every]))
    below = _looks(tuple([(at, under) for at, _, under in every]))
    return tuple(
        Tick(
            share(x),
            over if at in above else "",
            under if at in below else "",
            above.get(at, ""),
            below.get(at, ""),
        )
        for at, (x, over, under) in enumerate(every)
    )


@lru_cache(maxsize=2_000)  # shots of one length have one scale
def _looks(words: tuple[tuple[float, str], ...]) -> Mapping[int, str]:
    """Return what the style sheet calls the words of marks, by place, of those that have room."""
    told = [at for at, (_, said) in enumerate(words) if said]
    own = [labels.beside_mark(*words[at]) for at in told]
    needs = labels.placed(own, labels.coarse_first(len(own)))
    return {
        at: " ".join(filter(None, (need, "e" if label.ends else "")))
        for at, label, need in zip(told, own, needs, strict=True)
        if need is not None
    }


def _blocks(
    specs: Sequence[BlockSpec], along: Callable[[float], float], told: bool
) -> tuple[StripBlock, ...]:
    """Draw stretches. A name stands in its stretch; else behind it, where nothing else does."""
    bands = sorted(along(spec.first) for spec in specs if not spec.thin)
    drawn = []
    for spec in specs:
        first, stop = along(spec.first), along(spec.stop)
        pattern = spec.pattern if spec.pattern == PLAIN else spec.pattern % PATTERNS
        title = spec.title if told else ""
        block = StripBlock(
            share(first), share(max(stop - first, THINNEST)), pattern, title, thin=spec.thin
        )
        if spec.label and not spec.thin:
            room = labels.room_for(spec.label, stop - first)
            behind = next((at for at in bands if at >= stop), 1.0)
            if room is None:
                first, room = stop, labels.room_for(spec.label, behind - stop)
            if room is not None:
                block = replace(block, label=spec.label, label_x=share(first), room=room)
        drawn.append(block)
    return tuple(drawn)


def _crowd(label: str, blocks: Sequence[BlockSpec], along: Callable[[float], float]) -> Crowd:
    """Draw the stretches of a row as one broken line, in whole units.

    A stretch is at least one unit wide.
    """
    lengths: list[int] = [0]  # a line begins with what is drawn
    at = 0
    for spec in sorted(blocks, key=attrgetter("first")):
        x = max(round(UNITS * along(spec.first)), at)
        width = max(round(UNITS * along(spec.stop)) - x, 1)
        lengths += (x - at, width)
        at = x + width
    lengths.append(UNITS)
    title = f"{label}: {counted(len(blocks), 'stretch', 'stretches')}"
    pattern = blocks[0].pattern
    return Crowd(
        " ".join(map(str, lengths)), pattern if pattern == PLAIN else pattern % PATTERNS, title
    )


def _is_crowded(blocks: Sequence[BlockSpec]) -> bool:
    """Tell whether a row has too many stretches of one kind for each to be pointed at."""
    plain = len({block.pattern for block in blocks}) == 1 and not any(b.thin for b in blocks)
    return plain and len(blocks) > MOST_BLOCKS


def strip(
    title: str,
    rows: Sequence[tuple[str, Sequence[BlockSpec]]],
    span: tuple[float, float],
    ticks: Iterable[TickSpec] = (),
    brackets: Iterable[tuple[float, float, str]] = (),
    bracketed: str = "",
) -> Strip:
    """Draw the rows over ``span`` (half open).

    brackets: stretches of the whole strip and what they say; they stand in a row of that name.
    """
    length = max(span[1] - span[0], 1e-9)

    def along(at: float) -> float:
        return min(max((at - span[0]) / length, 0.0), 1.0)

    told = sum(len(blocks) for _, blocks in rows) <= MOST_TOLD
    drawn = []
    for label, blocks in rows:
        if _is_crowded(blocks):
            drawn.append(Row(label, (), _crowd(label, blocks, along)))
        else:
            look = "twice" if any(block.thin for block in blocks) else ""
            drawn.append(Row(label, _blocks(blocks, along, told), look=look))
    marks = drawn_ticks((along(at), above, below) for at, above, below in ticks)
    paths = tuple((share(along(a)), share(along(b)), said) for a, b, said in brackets)
    first, stop = map(svg_number, span)
    return Strip(title, tuple(drawn), marks, paths, bracketed, first, stop)


def merged(spans: Iterable[tuple[float, float]], gap: float = 0) -> tuple[tuple[float, float], ...]:
    """Return spans in order, joined where no more than ``gap`` lies between them."""
    ordered = sorted(spans)
    if not ordered:
        return ()
    out = []
    low, high = ordered[0]
    for first, stop in ordered:
        if first > high + gap:
            out.append((low, high))
            low, high = first, stop
        elif stop > high:
            high = stop
    return (*out, (low, high))


def scale_step(length: float, most: int, steps: Sequence[float]) -> float:
    """Return the smallest of the steps that makes no more than ``most`` marks; else the largest."""
    return next((step for step in steps if length / step <= most), steps[-1])


# Work on one thing goes on over a weekend: shorter pauses do not break a band.
PAUSE_DAYS = 5
MOST_MARKS = 10
_MONTHS_APART = (1, 2, 3, 6, 12, 24, 60, 120, 600)
Days = tuple[date, date]
Mark = tuple[date, str]


def month_marks(first: date, last: date) -> list[TickSpec]:
    """Return marks at the beginnings of months, as many apart as the strip has room for."""
    months = [first.year * 12 + first.month - 1, last.year * 12 + last.month - 1]
    step = int(scale_step(months[1] - months[0] + 1, MOST_MARKS, _MONTHS_APART))
    begin = -(-months[0] // step) * step
    every = (date(at // 12, at % 12 + 1, 1) for at in range(begin, months[1] + 1, step))
    shown = (at for at in every if at >= first)
    return [(at.toordinal(), "", f"{MONTHS[at.month - 1][:3]} {at.year}") for at in shown]


def day_blocks(what: str, days: Iterable[Days]) -> list[BlockSpec]:
    """Return bands where the days (first and last, both included) go on, over short pauses."""
    blocks = []
    for a, b in merged(((a.toordinal(), b.toordinal() + 1) for a, b in days), gap=PAUSE_DAYS):
        when = days_between(date.fromordinal(int(a)), date.fromordinal(int(b) - 1))
        blocks.append(BlockSpec(a, b, PLAIN, f"{what}: {when}"))
    return blocks


def days_of(entries: Iterable[Entry]) -> list[Days]:
    """Return the first and the last day of each dated entry's work."""
    return [(entry.work.started_on or entry.day, entry.day) for entry in entries if entry.day]


def first_and_last(days: Iterable[Days]) -> Days | None:
    """Return the earliest first and the latest last day; None without any."""
    every = list(days)
    return (min(a for a, _ in every), max(b for _, b in every)) if every else None


def day_strip(
    title: str, rows: Iterable[tuple[str, Sequence[Days]]], marks: Sequence[Mark] = ()
) -> Strip | None:
    """Draw a row for each name, a band where its days go on; None when nothing is dated.

    marks: days that have a name; it stands above them.
    """
    dated = [(name, days) for name, days in rows if days]
    if not dated:
        return None
    every = [day for _, days in dated for span in days for day in span]
    every += [day for day, _ in marks]
    first, last = min(every), max(every)
    specs = [(name, day_blocks(name, days)) for name, days in dated]
    ticks = [(day.toordinal(), word, "") for day, word in marks]
    span = (first.toordinal(), last.toordinal() + 1)
    return strip(title, specs, span, [*month_marks(first, last), *ticks])


MOST_FILM_MARKS = 10
SECONDS_BETWEEN_MARKS = (5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600)


def film_block(
    what: str, span: tuple[int, int], pattern: int, rate: FrameRate, label: str = ""
) -> BlockSpec:
    """Return a stretch of the film, half open in film frames from 1, and from when to when."""
    first, stop = span
    title = f"{what}: {clock(first - 1, rate)} to {clock(stop - 1, rate)}"
    return BlockSpec(first, stop, pattern, title, label)


def film_marks(cut: Cut, production: Production) -> list[TickSpec]:
    """Return running time at round distances along the film."""
    rate = production.rate
    seconds = float(cut.length / rate.per_second)
    step = int(scale_step(seconds, MOST_FILM_MARKS, SECONDS_BETWEEN_MARKS))
    marks = (at * rate.per_second for at in range(0, int(seconds) + 1, step))
    return [(float(1 + at), "", f"{clock(at, rate)}{'' if at else ' minutes'}") for at in marks]


# A gap that would be thinner than the thinnest stretch does not break a band.
HAIRS = 1000
MOST_FILM_ROWS = 8


def film_strip(
    title: str, rows: Sequence[tuple[str, Sequence[tuple[int, int]]]], cut: Cut, film: Production
) -> Strip:
    """Draw the whole film, a row for all and a row for each name; past eight the rest share one.

    rows: first of all, then of each name, half-open stretches of film frames that count from 1.
    """
    shown, rest = list(rows[: 1 + MOST_FILM_ROWS]), rows[1 + MOST_FILM_ROWS :]
    if rest:
        shown.append((counted(len(rest), "other"), [span for _, own in rest for span in own]))
    specs = []
    for label, spans in shown:
        joined = [(int(a), int(b)) for a, b in merged(spans, gap=cut.length / HAIRS)]
        if len(joined) > MOST_BLOCKS:  # nobody points at one of them
            blocks = [BlockSpec(*span, PLAIN, "") for span in joined]
        else:
            blocks = [film_block(label, span, PLAIN, film.rate) for span in joined]
        specs.append((label, blocks))
    return strip(title, specs, (1, cut.length + 1), film_marks(cut, film))
