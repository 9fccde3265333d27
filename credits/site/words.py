"""Figures and dates as a page says them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone
from credits.model.facts import Production
from credits.units.film_time import MONTHS, clock, day_text, feet_text, seconds_text
from credits.units.rounding import Exact, half_up


def short_day(day: date) -> str:
    """``3 Mar``: for tables whose year is plain from elsewhere."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def days_between(first: date | None, last: date | None) -> str:
    """``3 March 2026 – 9 March 2026``, one day where both are the same; undated: ``undated``."""
    if first is None or last is None:
        return day_text(first or last)
    if first == last:
        return day_text(first)
    return f"{day_text(first)} – {day_text(last)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A figure of footage that stands alone: frames, seconds, running time, film."""

    frames: Everyone[str]
    seconds: Everyone[str]
    running: Everyone[str]
    feet: Everyone[str]
    sort: Everyone[int]


def amount(frames: Exact, production: Production, shown: int | None = None) -> Amount:
    """Return a figure of footage for a page.

    shown: the whole frames that a column gives it so that the column adds up; without one the
    frames are rounded half up.
    """
    rounded = half_up(frames) if shown is None else shown
    return Amount(
        frames=f"{rounded:,}",
        seconds=seconds_text(frames, production.rate, 1),
        running=clock(frames, production.rate),
        feet=feet_text(rounded, production.gauge),
        sort=rounded,
    )
