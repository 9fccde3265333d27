"""The days of the weeks: how they are written, and how a day leads to the page of its week."""

from __future__ import annotations

from datetime import date

from credits.pages.links import week_page
from credits.pages.page import Link
from credits.pages.words import MONTHS, day_text
from credits.units.film_time import iso_week

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def day_link(day: date | None) -> Link:
    """A day on which something was logged, leading to its week; ``undated`` leads nowhere."""
    return Link(day_text(day), None if day is None else week_page(iso_week(day)))


def days_text(first: date, last: date) -> str:
    """``2–8 March 2026``, ``30 March – 5 April 2026``, ``29 December 2025 – 4 January 2026``."""
    if first.year != last.year:
        return f"{day_text(first)} – {day_text(last)}"
    if first.month != last.month:
        return f"{first.day} {MONTHS[first.month - 1]} – {day_text(last)}"
    return f"{first.day}–{day_text(last)}"
