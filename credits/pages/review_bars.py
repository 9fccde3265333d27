"""Weekly bars: what was shot each week, with the kept and the accepted part of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from credits.editions import Office
from credits.footage.footage import FootageTotals
from credits.pages.strips import LABEL_WIDTH, TOP, WIDTH, Block, Row, Strip, Tick
from credits.pages.words import Exact, whole
from credits.units.film_time import iso_week, week_days

HEIGHT = 130.0
MOST_TICKS = 10
# From the foot of the bar up; each with the pattern that it is drawn in.
PARTS = ("accepted", "kept, not accepted", "photographed again")


@dataclass(frozen=True, slots=True)
class WeekBars:
    """The picture, and what its patterns mean: pattern and words, from the foot of a bar up."""

    strip: Office[Strip | None] = None
    key: Office[tuple[tuple[int, str], ...]] = ()


def _number(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _weeks_between(first: str, last: str) -> list[str]:
    day, end = week_days(first)[0], week_days(last)[0]
    weeks = []
    while day <= end:
        weeks.append(iso_week(day))
        if day > date.max - timedelta(days=7):
            break
        day += timedelta(days=7)
    return weeks


def _bar(
    week: str, parts: tuple[Exact, ...], x: float, width: float, a_frame: float
) -> list[Block]:
    """The parts of one bar, from its foot up. A part of nothing is not drawn."""
    blocks, foot = [], TOP + HEIGHT
    for pattern, (name, frames) in enumerate(zip(PARTS, parts, strict=True)):
        height = float(frames) * a_frame
        if frames > 0:
            foot -= height
            title = f"{week}: {whole(frames):,} frames {name}"
            size = _number(max(height, 0.8))
            blocks.append(
                Block(_number(x), _number(foot), _number(width), size, pattern, title, "", "0")
            )
    return blocks


def week_bars(title: str, footage: Mapping[str, FootageTotals]) -> WeekBars | None:
    """A bar for every week from the first to the last, in shot frames; None without any.

    Weeks without footage keep their room. The same figures stand in a table beside it.
    """
    if not footage:
        return None
    weeks = _weeks_between(min(footage), max(footage))
    most = max(totals.by_shot.shot for totals in footage.values())
    if not most:
        return None
    a_week = (WIDTH - LABEL_WIDTH - 10) / len(weeks)
    blocks: list[Block] = []
    for place, week in enumerate(weeks):
        if week in footage:
            frames = footage[week].by_shot
            parts = (frames.accepted, frames.kept - frames.accepted, frames.shot - frames.kept)
            x = LABEL_WIDTH + place * a_week + a_week * 0.12
            blocks += _bar(week, parts, x, min(a_week * 0.76, 40.0), HEIGHT / float(most))
    every = -(-len(weeks) // MOST_TICKS)
    ticks = tuple(
        Tick(_number(x := LABEL_WIDTH + place * a_week), _number(x + 3), "", week)
        for place, week in enumerate(weeks)
        if place % every == 0
    )
    foot = _number(TOP + HEIGHT)
    rows = (
        Row(f"{whole(most):,} frames", _number(TOP + 10), _number(TOP), ()),
        Row("0", _number(TOP + HEIGHT - 3), foot, tuple(blocks)),
    )
    drawn = Strip(
        title, _number(TOP + HEIGHT + 18), foot, _number(TOP + HEIGHT + 13), rows, ticks, ()
    )
    return WeekBars(drawn, tuple(enumerate(PARTS)))
