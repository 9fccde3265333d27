"""Strips and time lines."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from markupsafe import escape

from credits.editions import Everyone
from credits.model.facts import Cut, Production
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.units.film_time import MONTHS, FrameRate, clock, days_between

WIDTH = 1000.0
LABEL_WIDTH = 150.0
TOP = 22.0
ROW = 36.0
BAND_TOP = 15.0
BAND = 13.0
THIN = 4.0
LETTER = 6.2
LETTERS = int((LABEL_WIDTH - 8) / LETTER)  # of a row's name
PATTERNS = 6
MOST_BLOCKS = 16  # of a row; more are one line
MOST_TOLD = 24  # of a strip; where there are more nobody points at one, and the table tells them


class BlockSpec(NamedTuple):
    """A stretch ``first .. stop`` (half open, in the strip's own unit) of a row.

    ``pattern``: 0 to 5, cycling. ``label`` is drawn where it fits; ``title`` says everything.
    ``thin`` draws it below the band: photographed, and photographed again later.
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
    """A drawn stretch."""

    x: Everyone[str]
    y: Everyone[str]
    width: Everyone[str]
    height: Everyone[str]
    pattern: Everyone[int]
    title: Everyone[str]
    label: Everyone[str]
    label_y: Everyone[str]

    @property
    def svg(self) -> str:
        """Write it, and its title and its label where it has them."""
        title = f"><title>{escape(self.title)}</title></rect>" if self.title else "/>"
        at = f'x="{self.x}" y="{self.label_y}"'
        label = f'<text class="label" {at}>{escape(self.label)}</text>' if self.label else ""
        return (
            f'<rect x="{self.x}" y="{self.y}" width="{self.width}" height="{self.height}" '
            f'fill="url(#w{self.pattern})"{title}{label}\n'
        )


@dataclass(frozen=True, slots=True)
class Crowd:
    """Many drawn stretches of one pattern: a broken line as thick as they are high."""

    path: Everyone[str]
    pattern: Everyone[int]
    title: Everyone[str]

    @property
    def svg(self) -> str:
        """Write it with its title."""
        return (
            f'<path class="crowd" stroke="url(#w{self.pattern})" d="{self.path}">'
            f"<title>{escape(self.title)}</title></path>\n"
        )


@dataclass(frozen=True, slots=True)
class Row:
    """A drawn row: its stretches one by one, or all in one line where they are many."""

    label: Everyone[str]
    label_y: Everyone[str]
    line_y: Everyone[str]
    blocks: Everyone[tuple[StripBlock, ...]]
    crowd: Everyone[Crowd | None] = None

    @property
    def svg(self) -> str:
        """Write its name, its stretches, and the line below it."""
        crowd = self.crowd.svg if self.crowd is not None else ""
        blocks = "".join([block.svg for block in self.blocks])
        y = self.line_y
        return (
            f'<text class="row" x="0" y="{self.label_y}">{escape(self.label)}</text>\n'
            f"{crowd}{blocks}"
            f'<line class="rule" x1="0" x2="1000" y1="{y}" y2="{y}"/>\n'
        )


Tick = tuple[str, str, str, str]
"""A drawn mark of the scale: where it is, where its words begin, those above and those below."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip, ready to be written as SVG. brackets: SVG paths over the rows.

    first, stop: what it runs from and to, half open, in its own unit. key: what patterns mean.
    """

    title: Everyone[str]
    height: Everyone[str]
    bottom: Everyone[str]
    below_y: Everyone[str]
    rows: Everyone[tuple[Row, ...]]
    ticks: Everyone[tuple[Tick, ...]]
    brackets: Everyone[tuple[str, ...]] = ()
    first: Everyone[str] = ""
    stop: Everyone[str] = ""
    key: Everyone[tuple[tuple[int, str], ...]] = ()

    def __html__(self) -> str:
        """Write the strip as SVG: what a template shows where it names a strip."""
        title = escape(self.title)
        brackets = "".join([f'<path class="bracket" d="{path}"/>' for path in self.brackets])
        return (
            f'<div class="strip-wrap" tabindex="0" role="group" aria-label="{title}">\n'
            f'<svg class="strip" data-first="{self.first}" data-stop="{self.stop}" '
            f'viewBox="0 0 1000 {self.height}" role="img" aria-label="{title}">\n'
            f"{self._scale()}{brackets}{''.join([row.svg for row in self.rows])}"
            "</svg>\n</div>"
        )

    def _scale(self) -> str:
        """Write the marks of the scale and their words."""
        if not self.ticks:
            return ""
        rules = "".join([f"M{x} 22V{self.bottom}" for x, _, _, _ in self.ticks])
        words = []
        for _, x, above, below in self.ticks:
            if above:
                words.append(f'<text x="{x}" y="14">{escape(above)}</text>')
            if below:
                words.append(f'<text x="{x}" y="{self.below_y}">{escape(below)}</text>')
        return f'<path class="rule" d="{rules}"/>\n<g class="tick">{"".join(words)}</g>\n'


@lru_cache(maxsize=20_000)
def svg_number(value: float) -> str:
    """Write a length of the drawing with one decimal at most."""
    return f"{value:.1f}".rstrip("0").rstrip(".")


def tick(x: float, above: str, below: str) -> Tick:
    """Return a mark of the scale, its words a little to the right of it."""
    return svg_number(x), svg_number(x + 3), above, below


def drawn_block(
    x: float,
    y: float,
    width: float,
    height: float,
    pattern: int,
    title: str,
    label: str = "",
    label_y: float = 0,
) -> StripBlock:
    """Return a drawn stretch."""
    sizes = (svg_number(x), svg_number(y), svg_number(width), svg_number(height))
    return StripBlock(*sizes, pattern, title, label, svg_number(label_y))


def drawn_strip(title: str, bottom: float, rows: Iterable[Row], ticks: Iterable[Tick]) -> Strip:
    """Return a strip whose rows end at ``bottom``, with room for the scale below."""
    sizes = (svg_number(bottom + 18), svg_number(bottom), svg_number(bottom + 13))
    return Strip(title, *sizes, rows=tuple(rows), ticks=tuple(ticks))


def _block(spec: BlockSpec, along: Callable[[float], float], top: float, told: bool) -> StripBlock:
    x = along(spec.first)
    width = max(along(spec.stop) - x, 0.8)
    room = len(spec.label) * LETTER <= width
    y = top + BAND_TOP + (BAND + 1 if spec.thin else 0)
    height = THIN if spec.thin else BAND
    title = spec.title if told else ""
    label = spec.label if room and not spec.thin else ""
    return drawn_block(
        x, y, width, height, spec.pattern % PATTERNS, title, label, top + BAND_TOP - 3
    )


def _crowd(
    label: str, blocks: Sequence[BlockSpec], along: Callable[[float], float], top: float
) -> Crowd:
    """Draw the stretches of a row as one path, in whole units, that goes on from each to the next.

    A stretch is at least one unit wide.
    """
    middle = svg_number(top + BAND_TOP + BAND / 2)
    pieces: list[str] = []
    at = 0
    for spec in sorted(blocks, key=attrgetter("first")):
        x = max(round(along(spec.first)), at)
        width = max(round(along(spec.stop)) - x, 1)
        pieces.append(f"m{x - at} 0h{width}" if pieces else f"M{x} {middle}h{width}")
        at = x + width
    title = f"{label}: {counted(len(blocks), 'stretch', 'stretches')}"
    return Crowd("".join(pieces), blocks[0].pattern % PATTERNS, title)


def _is_crowded(blocks: Sequence[BlockSpec]) -> bool:
    """Tell whether a row has too many stretches of one kind for each to be pointed at."""
    plain = len({block.pattern for block in blocks}) == 1 and not any(b.thin for b in blocks)
    return plain and len(blocks) > MOST_BLOCKS


def strip(
    title: str,
    rows: Sequence[tuple[str, Sequence[BlockSpec]]],
    span: tuple[float, float],
    ticks: Iterable[TickSpec] = (),
    brackets: Iterable[tuple[float, float]] = (),
) -> Strip:
    """Draw the rows over ``span`` (half open). ``brackets`` mark stretches of the whole strip."""
    per_unit = (WIDTH - LABEL_WIDTH - 10) / max(span[1] - span[0], 1e-9)

    def along(at: float) -> float:
        return LABEL_WIDTH + (at - span[0]) * per_unit

    bottom = TOP + ROW * len(rows)
    told = sum(len(blocks) for _, blocks in rows) <= MOST_TOLD
    drawn = []
    for place, (label, blocks) in enumerate(rows):
        top = TOP + ROW * place
        name = label if len(label) <= LETTERS else f"{label[: LETTERS - 1]}…"
        places = (svg_number(top + BAND_TOP + BAND - 3), svg_number(top + ROW - 1))
        if _is_crowded(blocks):
            drawn.append(Row(name, *places, (), _crowd(label, blocks, along, top)))
        else:
            shown = tuple([_block(spec, along, top, told) for spec in blocks])
            drawn.append(Row(name, *places, shown))
    marks = tuple(tick(along(at), above, below) for at, above, below in ticks)
    foot = svg_number(TOP + 4)
    paths = tuple(
        f"M{svg_number(along(a))} {foot}V{svg_number(TOP)}H{svg_number(along(b))}V{foot}"
        for a, b in brackets
    )
    first, stop = map(svg_number, span)
    whole = drawn_strip(title, bottom, drawn, marks)
    return replace(whole, brackets=paths, first=first, stop=stop)


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


def day_blocks(what: str, days: Iterable[Days], pattern: int) -> list[BlockSpec]:
    """Return bands where the days (first and last, both included) go on, over short pauses."""
    blocks = []
    for a, b in merged(((a.toordinal(), b.toordinal() + 1) for a, b in days), gap=PAUSE_DAYS):
        when = days_between(date.fromordinal(int(a)), date.fromordinal(int(b) - 1))
        blocks.append(BlockSpec(a, b, pattern, f"{what}: {when}"))
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
    dated = [(at, name, days) for at, (name, days) in enumerate(rows) if days]
    if not dated:
        return None
    every = [day for _, _, days in dated for span in days for day in span]
    every += [day for day, _ in marks]
    first, last = min(every), max(every)
    specs = [(name, day_blocks(name, days, at)) for at, name, days in dated]
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
    return [(float(1 + frames), "", clock(frames, rate)) for frames in marks]


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
    for place, (label, spans) in enumerate(shown):
        joined = [(int(a), int(b)) for a, b in merged(spans, gap=cut.length / HAIRS)]
        if len(joined) > MOST_BLOCKS:  # nobody points at one of them
            blocks = [BlockSpec(*span, place, "") for span in joined]
        else:
            blocks = [film_block(label, span, place, film.rate) for span in joined]
        specs.append((label, blocks))
    return strip(title, specs, (1, cut.length + 1), film_marks(cut, film))
