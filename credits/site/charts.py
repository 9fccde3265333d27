"""Charts: bars by week over an axis with round figures, and a line at their mean.

A chart is drawn as strips are: along it and up it everything is a share, and letters keep their
size.
"""

from __future__ import annotations

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
from credits.site.strips import Tick, drawn_ticks, scale_svg, share
from credits.units.rounding import Exact, exact_sum, half_up

HIGH = 0.9
"""How high the top line of the axis stands, as a share of the picture; its figure lies over it."""
LOWEST = 0.006
WIDEST = 0.05
"""How high a part of a bar is at least, and how wide a bar at most, as shares of the picture."""
MEAN_LINE = "dashed: the mean of what was kept"
TARGET_LINE = "the line: the target of frames kept in a week"
MOST_RULES = 5
MOST_TICKS = 10
MOST_BARS = 60
"""Weeks whose bars stand apart, each part with its figures; of more weeks there is one shape."""
ROUND = (1, 2, 5)
PARTS = tuple(zip((SOLID, HATCHED, DOTTED), WEEK_PARTS, strict=True))
"""The patterns of the parts of a bar, from its foot up, and what they are called."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A drawn part of a bar, in hundredths of the picture."""

    x: Everyone[str]
    y: Everyone[str]
    width: Everyone[str]
    height: Everyone[str]
    title: Everyone[str] = ""

    @property
    def svg(self) -> str:
        """Write it, and its title where it has one."""
        title = f"><title>{escape(self.title)}</title></rect>" if self.title else "/>"
        place = f'x="{self.x}%" y="{self.y}%" width="{self.width}%" height="{self.height}%"'
        return f"<rect {place}{title}"


@dataclass(frozen=True, slots=True)
class Bars:
    """One part of every bar, in one pattern. title: what that is."""

    pattern: Everyone[int]
    title: Everyone[str]
    bars: Everyone[tuple[Bar, ...]]

    @property
    def svg(self) -> str:
        """Write them."""
        drawn = "".join([bar.svg for bar in self.bars])
        return f'<g fill="url(#w{self.pattern})"><title>{escape(self.title)}</title>{drawn}</g>'


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Bars over an axis, ready to be written.

    unit: what the figures of the axis are. rules: how far below the top each line of the axis is,
    and its figure. ticks: the words below. mean: where its line is, and its words. target: pieces
    of the line of what was to be kept: from where to where, and how far below the top. key: what
    the patterns mean, and lines: what the lines do.
    """

    title: Everyone[str]
    unit: Everyone[str]
    rules: Everyone[tuple[tuple[str, str], ...]]
    ticks: Everyone[tuple[Tick, ...]]
    parts: Everyone[tuple[Bars, ...]]
    mean: Everyone[tuple[str, str] | None]
    target: Everyone[tuple[tuple[str, str, str], ...]]
    key: Everyone[tuple[tuple[int, str], ...]]
    lines: Everyone[tuple[str, ...]]

    def __html__(self) -> str:
        """Write the chart as HTML: what a template shows where it names it."""
        return (
            '<div class="lanes"><div class="drawn below" role="img" '
            f'aria-label="{escape(self.title)}">\n{scale_svg(self.ticks)}'
            f'<bdi>{escape(self.unit)}</bdi><svg class="bars tall">{"".join(self._pieces())}</svg>'
            "\n</div></div>"
        )

    def _pieces(self) -> Iterator[str]:
        for y, _ in self.rules:
            yield f'<line class="rule" x2="100%" y1="{y}%" y2="{y}%"/>'
        yield from (own.svg for own in self.parts)
        for x, to, y in self.target:
            yield f'<line x1="{x}%" x2="{to}%" y1="{y}%" y2="{y}%"/>'
        if self.mean is not None:
            y, words = self.mean
            yield f'<line class="mean" x2="100%" y1="{y}%" y2="{y}%"/>'
            yield f'<text class="e" x="100%" y="{y}%">{escape(words)}</text>'
        for y, figure in self.rules:
            yield f'<text y="{y}%">{figure}</text>'


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
    weeks: Sequence[WeekBar], parts: Sequence[tuple[int, str]], top: Exact
) -> tuple[Bars, ...]:
    """Draw the parts of every bar, from its foot up; weeks without footage keep their room."""
    a_week = 1 / len(weeks)
    apart = len(weeks) <= MOST_BARS
    wide = min(a_week * 0.76, WIDEST) if apart else a_week
    drawn: list[list[Bar]] = [[] for _ in parts]
    for at, bar in enumerate(weeks):
        x, foot = share(at * a_week + (a_week - wide) / 2), 1.0
        for own, (_, name), frames in zip(drawn, parts, bar.parts, strict=False):
            if frames > 0:
                height = HIGH * float(frames / Fraction(top))
                foot -= height
                title = f"{bar.week}: {half_up(frames):,} frames {name}" if apart else ""
                own.append(Bar(x, share(foot), share(wide), share(max(height, LOWEST)), title))
    every = zip(parts, drawn, strict=True)
    return tuple(Bars(pattern, name, tuple(own)) for (pattern, name), own in every if own)


def _target(heights: Sequence[float | None]) -> Iterator[tuple[str, str, str]]:
    """Draw the targets of the weeks as pieces of a line, one for all weeks of one target."""
    begun = 0
    for at, height in enumerate(heights):
        if at + 1 == len(heights) or heights[at + 1] != height:
            if height is not None:
                yield share(begun / len(heights)), share((at + 1) / len(heights)), share(height)
            begun = at + 1


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

    def below_top(frames: Exact) -> float:
        return 1 - HIGH * float(Fraction(frames) / steps[-1])

    drawn = any(totals.by_shot.kept for totals in footage.values()) and len(footage) > 1
    target = tuple(_target([None if each is None else below_top(each) for each in wanted]))
    return Chart(
        title=title,
        unit="frames a week",
        rules=tuple((share(below_top(step)), f"{step:,}") for step in steps),
        ticks=drawn_ticks(
            (at / len(weeks), "", weeks[at].week)
            for at in range(0, len(weeks), -(-len(weeks) // MOST_TICKS))
        ),
        parts=_bars(weeks, parts, steps[-1]),
        mean=(share(below_top(mean)), f"mean of kept: {half_up(mean):,}") if drawn else None,
        target=target,
        key=parts,
        lines=(*((MEAN_LINE,) if drawn else ()), *((TARGET_LINE,) if target else ())),
    )
