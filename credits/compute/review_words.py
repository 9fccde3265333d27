"""Figures of a review in words. A dash stands where there is nothing to show.

An end of a range is rounded outward, to two figures of which the second is 0 or 5: it says where
the others are, and is nobody's own figure.
"""

from __future__ import annotations

from fractions import Fraction

from credits.compute.review_figures import Figures
from credits.compute.review_ranges import Range
from credits.footage.claims import Exact
from credits.model.facts import Decision
from credits.model.ledger import Ledger
from credits.units.rounding import decimal_text

NOTHING = "–"


def decimal_or_nothing(value: Exact | None, places: int, times: int = 1) -> str:
    """The figure in decimals; a dash where there is none."""
    return NOTHING if value is None else decimal_text(Fraction(value) * times, places)


def _outward(value: Exact, up: bool) -> Fraction:
    """The figure rounded up or down to two digits of which the second is 0 or 5."""
    unit = Fraction(1)
    while value and value < 10 * unit:
        unit /= 10
    while value >= 100 * unit:
        unit *= 10
    steps = Fraction(value) / (5 * unit)
    return (-(-steps // 1) if up else steps // 1) * 5 * unit


def _plain(value: Fraction) -> str:
    """A decimal without zeros at its end: ``1,200``, ``1.9``, ``0.046``."""
    places = 0
    while (value * 10**places).denominator != 1:
        places += 1
    whole, point, part = decimal_text(value, places).partition(".")
    return f"{int(whole):,}{point}{part}"


def range_ends(found: Range, times: int = 1) -> tuple[Fraction, Fraction]:
    """The ends of a range as they may be shown: rounded outward."""
    return _outward(found.low * times, False), _outward(found.high * times, True)


def range_text(found: Range | None, times: int = 1) -> str:
    """``1.5 to 3.5``; a dash where no range is shown."""
    if found is None:
        return NOTHING
    return " to ".join(map(_plain, range_ends(found, times)))


def takes_text(figures: Figures, ledger: Ledger) -> str:
    """``12 takes of 9 shots: 8 accepted, 3 open, 1 retake``."""
    decisions = [ledger.take(shot, take).decision for shot, take in figures.takes]
    parts = [f"{decisions.count(d)} {d}" for d in Decision if d in decisions]
    takes, shots = len(decisions), len(figures.shots)
    said = f"{takes:,} take{'s' * (takes != 1)} of {shots:,} shot{'s' * (shots != 1)}"
    return f"{said}: {', '.join(parts)}" if parts else said


def percent(share: Fraction | None) -> str:
    """``4.3 %``; a dash where there is none."""
    return NOTHING if share is None else f"{decimal_or_nothing(share, 1, 100)} %"
