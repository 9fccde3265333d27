"""Figures and dates as a page says them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone
from credits.footage.claims import Exact
from credits.model.facts import Production
from credits.units.film_time import MONTHS, clock, day_text, days_between, feet_text, seconds_text
from credits.units.rounding import half_up

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def short_day(day: date) -> str:
    """Write ``3 Mar``: for tables whose year is plain from elsewhere."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def days_text(first: date, last: date) -> str:
    """Write days in short: ``2–8 March 2026``, ``29 December 2025 – 4 January 2026``."""
    if first.year != last.year:
        return days_between(first, last)
    if first.month != last.month:
        return f"{first.day} {MONTHS[first.month - 1]} – {day_text(last)}"
    return f"{first.day}–{day_text(last)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A figure of footage that stands alone: frames, seconds, running time, film."""

    frames: Everyone[str]
    seconds: Everyone[str]
    running: Everyone[str]
    feet: Everyone[str]


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
    )
