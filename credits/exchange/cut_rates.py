"""Frame rates as editing programs write them: 23.976023976, 23.98 and 23.976 are 24000/1001."""

from __future__ import annotations

import math
from fractions import Fraction

from credits.units.film_time import FrameRate
from credits.units.rounding import decimal_text


def meets(written: float, rate: FrameRate) -> bool:
    """Whether a rate written as a decimal number means this rate, and not another one near it.

    Rates are whole numbers or those times 1000/1001 (SMPTE ST 12-1); at 24 the two are 0.024 apart.
    What is nearer than 0.4 of that distance is meant.
    """
    if not math.isfinite(written):
        return False
    apart = Fraction(rate.nominal, 1001)
    return abs(Fraction(written) - rate.per_second) < apart * Fraction(2, 5)


def rate_text(written: float) -> str:
    """A decimal rate as we write rates: "24", "24000/1001", or its decimals when it is neither."""
    if math.isfinite(written) and 0 < written < 10_000:
        nominal = math.ceil(written - 1e-6)
        for exact in (Fraction(nominal), Fraction(nominal * 1000, 1001)):
            if meets(written, FrameRate(exact)):
                return FrameRate(exact).text
        return decimal_text(Fraction(written), 3)
    return str(written)
