"""Charts: bars by week over an axis with round figures, and a line at their mean."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import escape

from credits.editions import Everyone
from credits.footage.footage import FootageTotals
from credits.model.facts import WeeklyTarget
from credits.review.projection import target_of
from credits.review.shown import WEEK_PARTS, WeekBar, week_parts
from credits.site.bands import DOTTED, HATCHED, SOLID
from credits.site.strips import WIDTH, svg_number
from credits.units.rounding import Exact, exact_sum, half_up

LEFT, TOP, HEIGHT = 64.0, 22.0, 150.0
RIGHT = WIDTH - 8
MEAN_LINE = "dashed: the mean of what was kept"
TARGET_LINE = "the line: the target of frames kept in a week"
MOST_RULES = 5
MOST_TICKS = 10
MOST_BARS = 60
"""Weeks whose bars stand apart, each with its figures; of more weeks there is one shape."""
WIDEST = 40.0
ROUND = (1, 2, 5)
PARTS = tuple(zip((SOLID, HATCHED, DOTTED), WEEK_PARTS, strict=True))
"""The patterns of the parts of a bar, from its foot up, and what they are called."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A drawn part of a bar, or of all bars where they are many: an SVG path and its pattern."""

    path: Everyone[str]
    pattern: Everyone[int]
    title: Everyone[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Bars over an axis, ready to be written as SVG.

    unit: what the figures of the axis are. rules: how high each line of the axis is, and its
    figure. ticks: where a word stands below, and the word. mean: how high its line is, and its
    words. target: the line of what was to be kept; empty: there is none. key: what the patterns
    mean.
    """

    title: Everyone[str]
    unit: Everyone[str]
    rules: Everyone[tuple[tuple[str, str], ...]]
    ticks: Everyone[tuple[tuple[str, str], ...]]
    bars: Everyone[tuple[Bar, ...]]
    mean: Everyone[tuple[str, str] | None]
    target: Everyone[str]
    key: Everyone[tuple[tuple[int, str], ...]]
    lines: Everyone[tuple[str, ...]]

    def __html__(self) -> str:
        """Write the chart as SVG: what a template shows where it names it."""
        title, foot = escape(self.title), TOP + HEIGHT
        return (
            f'<div class="strip-wrap" tabindex="0" role="group" aria-label="{title}">\n'
            f'<svg class="strip chart" viewBox="0 0 1000 {foot + 22:g}" role="img"'
            f' aria-label="{title}">\n{"".join(self._pieces())}</svg>\n</div>'
        )

    def _pieces(self) -> Iterator[str]:
        yield f'<g class="tick"><text x="0" y="10">{escape(self.unit)}</text>'
        for y, figure in self.rules:
            yield f'<text class="at" x="{LEFT - 8:g}" y="{y}" dy="4">{figure}</text>'
        for x, word in self.ticks:
            yield f'<text x="{x}" y="{TOP + HEIGHT + 15:g}">{escape(word)}</text>'
        lines = "".join(f"M{LEFT:g} {y}H{RIGHT:g}" for y, _ in self.rules)
        lines += "".join(f"M{x} {TOP + HEIGHT:g}v5" for x, _ in self.ticks)
        yield f'</g>\n<path class="rule" d="{lines}"/>\n'
        for bar in self.bars:
            title = f"><title>{escape(bar.title)}</title></path>" if bar.title else "/>"
            yield f'<path d="{bar.path}" fill="url(#w{bar.pattern})"{title}\n'
        if self.target:
            yield f'<path class="bracket" d="{self.target}"/>\n'
        if self.mean is not None:
            y, words = self.mean
            yield f'<path class="mean" d="M{LEFT:g} {y}H{RIGHT:g}"/>\n'
            yield f'<text class="label at" x="{RIGHT:g}" y="{y}" dy="-4">{escape(words)}</text>\n'


def round_steps(most: Exact) -> list[int]:
    """Return round figures from 0 on, no more than the axis has room for; the last is the top."""
    size = 1
    while True:
        for one in ROUND:
            step = one * size
            if most <= step * (MOST_RULES - 1):
                return list(range(0, step * (-(-most // step)) + 1, step))
        size *= 10


def _bars(
    weeks: Sequence[WeekBar], parts: Sequence[tuple[int, str]], a_frame: float
) -> Iterator[Bar]:
    """Draw the parts of every bar, from its foot up; weeks without footage keep their room."""
    a_week = (RIGHT - LEFT) / len(weeks)
    apart = len(weeks) <= MOST_BARS
    width = min(a_week * 0.76, WIDEST) if apart else a_week
    shapes: dict[int, list[str]] = defaultdict(list)
    for at, bar in enumerate(weeks):
        foot, x = TOP + HEIGHT, svg_number(LEFT + at * a_week + (a_week - width) / 2)
        for (pattern, name), frames in zip(parts, bar.parts, strict=False):
            if frames <= 0:
                continue
            high = max(float(frames) * a_frame, 0.8)
            wide, up = svg_number(width), svg_number(high)
            path = f"M{x} {svg_number(foot)}h{wide}v-{up}h-{wide}z"
            foot -= float(frames) * a_frame
            if apart:
                yield Bar(path, pattern, f"{bar.week}: {half_up(frames):,} frames {name}")
            else:
                shapes[pattern].append(path)
    for pattern, name in parts:
        if shapes[pattern]:
            yield Bar("".join(shapes[pattern]), pattern, name)


def _ticks(weeks: Sequence[str]) -> Iterator[tuple[str, str]]:
    a_week = (RIGHT - LEFT) / len(weeks)
    for at in range(0, len(weeks), -(-len(weeks) // MOST_TICKS)):
        yield svg_number(LEFT + at * a_week), weeks[at]


def _target(heights: Sequence[str | None]) -> str:
    """Draw the targets of the weeks as one line, which is broken where a week has none."""
    a_week = (RIGHT - LEFT) / len(heights)
    path, before = "", None
    for at, y in enumerate(heights):
        if y is not None:
            start = f"M{svg_number(LEFT + at * a_week)} {y}" if before is None else f"V{y}"
            path += f"{start}H{svg_number(LEFT + (at + 1) * a_week)}"
        before = y
    return path


def mean_kept(footage: Iterable[FootageTotals]) -> Fraction:
    """Return the mean of kept shot frames of some weeks; 0 of none."""
    kept = [totals.by_shot.kept for totals in footage]
    return Fraction(exact_sum(kept), len(kept)) if kept else Fraction(0)


def week_chart(
    title: str,
    footage: Mapping[str, FootageTotals],
    targets: Sequence[WeeklyTarget] = (),
    *,
    again: bool = True,
) -> Chart | None:
    """Draw a bar for every week from the first to the last, in shot frames; None without any.

    A line stands at the mean of what was kept in the weeks in which something was shot. The same
    figures stand in a table beside it. targets: a line lies at what each week is to keep. again:
    whether what was re-shot is drawn, too.
    """
    weeks = week_parts(footage)
    parts = PARTS if again else PARTS[:2]
    most = max((exact_sum(bar.parts[: len(parts)]) for bar in weeks), default=0)
    if not most:
        return None
    wanted = [target_of(bar.week, targets) for bar in weeks]
    steps = round_steps(max(most, *(target or 0 for target in wanted)))
    mean = mean_kept(footage.values())
    a_frame = HEIGHT / steps[-1]

    def height(frames: Exact) -> str:
        return svg_number(TOP + HEIGHT - float(frames) * a_frame)

    drawn = any(totals.by_shot.kept for totals in footage.values()) and len(footage) > 1
    target = _target([None if each is None else height(each) for each in wanted])
    return Chart(
        title=title,
        unit="frames a week",
        rules=tuple((height(step), f"{step:,}") for step in steps),
        ticks=tuple(_ticks([bar.week for bar in weeks])),
        bars=tuple(_bars(weeks, parts, a_frame)),
        mean=(height(mean), f"mean of kept: {half_up(mean):,}") if drawn else None,
        target=target,
        key=parts,
        lines=(*((MEAN_LINE,) if drawn else ()), *((TARGET_LINE,) if target else ())),
    )
