"""Figures and dates as a page says them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from credits.editions import Everyone
from credits.model.facts import Production
from credits.units.film_time import MONTHS, Gauge, clock, day_text, feet_text, seconds, seconds_text
from credits.units.rounding import apportion, largest_remainder

Exact = int | Fraction


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


def whole(value: Exact) -> int:
    """The figure rounded half up to a whole number, for a figure that stands alone."""
    return int((Fraction(value) * 2 + 1) // 2)


@dataclass(frozen=True, slots=True)
class Amount:
    """A footage figure in every dress: frames, seconds, running time, feet+frames."""

    frames: Everyone[str]
    seconds: Everyone[str]
    running: Everyone[str]
    feet: Everyone[str]
    sort: Everyone[int]


def amount(frames: Exact, production: Production, shown: int | None = None) -> Amount:
    """A figure of footage for a page.

    ``shown``: the whole number of frames that a column gives it so that the column adds up (rule
    3.8); without one it is rounded half up.
    """
    rounded = whole(frames) if shown is None else shown
    return Amount(
        f"{rounded:,}",
        seconds_text(frames, production.rate, 1),
        clock(frames, production.rate),
        feet_text(rounded, production.gauge),
        rounded,
    )


TENTH = Fraction(1, 10)
HUNDREDTH = Fraction(1, 100)


@dataclass(frozen=True, slots=True)
class Length:
    """A length in every dress, and the number that it sorts by."""

    frames: Everyone[str]
    seconds: Everyone[str]
    feet: Everyone[str]
    sort: Everyone[int]


@dataclass(frozen=True, slots=True)
class Printed:
    """A length in the units that are printed. ``hundredths``: of a foot, for decimal feet."""

    frames: int
    tenths: int
    hundredths: int

    def length(self, gauge: Gauge) -> Length:
        """The length as a page shows it."""
        feet = _decimal(self.hundredths, 2)
        if gauge.whole_feet:
            feet = feet_text(self.frames, gauge)
        return Length(f"{self.frames:,}", _decimal(self.tenths, 1), feet, self.frames)


def _decimal(units: int, places: int) -> str:
    whole, part = divmod(units, 10**places)
    return f"{whole:,}.{part:0{places}}"


def _units(values: Sequence[Fraction], unit: Fraction, total: int | None) -> list[int]:
    return largest_remainder(values, unit) if total is None else apportion(values, total)


def adding_up(
    lengths: Sequence[int], production: Production, total: Printed | None = None
) -> list[Printed]:
    """Lengths in frames, rounded so that each printed column adds up.

    ``total``: what they are to add up to where it is printed already (a sequence in the film).
    """
    rate, foot = production.rate, production.gauge.frames_per_foot
    tenths = _units(
        [Fraction(seconds(frames, rate)) for frames in lengths],
        TENTH,
        total.tenths if total else None,
    )
    hundredths = _units(
        [frames / foot for frames in lengths], HUNDREDTH, total.hundredths if total else None
    )
    return [Printed(*units) for units in zip(lengths, tenths, hundredths, strict=True)]


def together(parts: Sequence[Printed]) -> Printed:
    """The printed total of some printed lengths."""
    return Printed(
        sum(part.frames for part in parts),
        sum(part.tenths for part in parts),
        sum(part.hundredths for part in parts),
    )
