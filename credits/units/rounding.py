"""Exact rounding: a printed column adds up to its printed total.

Values are whole numbers or fractions, never floats, and never negative: they are counts of
frames, minutes and people. A value exactly halfway is rounded up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd, lcm

Exact = int | Fraction
MOST_PLACES = 12


def exact_sum(values: Iterable[Exact]) -> Exact:
    """Return the sum, whole where it is whole: whole numbers are added, each denominator once."""
    return sum_of_ratios([value.as_integer_ratio() for value in values])


def ratio_of_sum(ratios: Iterable[tuple[int, int]]) -> tuple[int, int]:
    """Return the sum of numerators over denominators as one over another, in lowest terms."""
    over: dict[int, int] = {}
    for numerator, denominator in ratios:
        if denominator in over:
            over[denominator] += numerator
        else:
            over[denominator] = numerator
    if len(over) == 1:
        ((common, total),) = over.items()
        if common == 1:
            return total, 1
    else:
        common = lcm(*over)
        total = sum([numerator * (common // of) for of, numerator in over.items()])
    most = gcd(total, common)
    return total // most, common // most


def sum_of_ratios(ratios: Iterable[tuple[int, int]]) -> Exact:
    """Return the sum of numerators over denominators, as ``exact_sum`` does."""
    total, of = ratio_of_sum(ratios)
    return total if of == 1 else Fraction(total, of)


def exact_of(ratio: tuple[int, int]) -> Exact:
    """Return a numerator over a denominator, in any terms; whole where it is whole."""
    return sum_of_ratios([ratio])


def least_and_most(ratios: Sequence[tuple[int, int]]) -> tuple[Exact, Exact]:
    """Return the smallest and the largest of numerators over denominators, in any terms.
    ValueError when there is none.

    They are compared by their nearest floats, which keep their order, and exactly where these are
    the same.
    """
    near = [numerator / denominator for numerator, denominator in ratios]
    low, high = min(near), max(near)
    if near.count(low) == near.count(high) == 1:
        return exact_of(ratios[near.index(low)]), exact_of(ratios[near.index(high)])
    lowest = {ratio for ratio, at in zip(ratios, near, strict=True) if at == low}
    highest = {ratio for ratio, at in zip(ratios, near, strict=True) if at == high}
    return min(map(exact_of, lowest)), max(map(exact_of, highest))


def half_up(value: Exact) -> int:
    """Return the nearest whole number; exactly halfway goes up. ValueError when negative."""
    return _half_up(*value.as_integer_ratio())


def _half_up(numerator: int, denominator: int) -> int:
    if numerator < 0:
        value = Fraction(numerator, denominator)
        raise ValueError(f"a value that is not negative is rounded here, not {value}")
    return (2 * numerator + denominator) // (2 * denominator)


def decimal_text(value: Exact, places: int) -> str:
    """Write the value with exactly so many decimals, halves up: 2/3 with 2 places is "0.67".

    ValueError when the value or the number of places is negative.
    """
    if places < 0:
        raise ValueError(f"the number of places is 0 or more, not {places}")
    many, of = value.as_integer_ratio()
    digits = str(_half_up(many * 10**places, of)).zfill(places + 1)
    return f"{digits[:-places]}.{digits[-places:]}" if places else digits


def plain_decimal(value: Exact, *, grouped: bool = False) -> str:
    """Write a number in as many decimals as it has: ``20``, ``2.5``; ``1/3`` where they never end.

    grouped: whether thousands have commas.
    """
    many, of = value.as_integer_ratio()
    for places in range(MOST_PLACES + 1):
        if many * 10**places % of == 0:
            whole, point, part = decimal_text(value, places).partition(".")
            return f"{int(whole):{',' if grouped else ''}}{point}{part}"
    return str(value)


def _whole_numbers(values: Iterable[Exact]) -> tuple[list[int], int]:
    """Return values as whole numbers over one denominator, and that."""
    ratios = [value.as_integer_ratio() for value in values]
    common = lcm(*{denominator for _, denominator in ratios})
    return [numerator * (common // denominator) for numerator, denominator in ratios], common


def _with_missing_units(quotas: Sequence[int], one: int, total: int) -> list[int]:
    """Floor each quota, then hand the missing units out: largest remainder first, ties to the
    earlier row.

    one: so many of a quota are one unit.
    """
    units = [quota // one for quota in quotas]
    missing = total - sum(units)
    if missing:
        by_remainder = sorted(range(len(quotas)), key=lambda row: -(quotas[row] % one))
        for row in by_remainder[:missing]:
            units[row] += 1
    return units


def largest_remainder(values: Sequence[Exact], unit: Exact = Fraction(1)) -> list[int]:
    """Return how many units each value is shown as, so that the shown column adds up.

    unit: the size of one shown unit, ``Fraction(1, 10)`` for one decimal. Each result is the floor
    or the ceiling of ``value / unit`` (Hamilton's method); their sum is the rounded sum.
    ValueError for a negative value or a unit that is not positive.
    """
    if unit <= 0:
        raise ValueError(f"a unit is more than 0, not {unit}")
    whole, common = _whole_numbers(values)
    if any(value < 0 for value in whole):
        raise ValueError(f"values that are not negative are rounded here, not {min(values)}")
    numerator, denominator = unit.as_integer_ratio()
    quotas, one = [value * denominator for value in whole], common * numerator
    return _with_missing_units(quotas, one, half_up(Fraction(sum(quotas), one)))


def apportion(weights: Sequence[Exact], seats: int) -> list[int]:
    """Divide a whole number of seats in proportion to the weights; the result sums to ``seats``.

    Hamilton's method, ties to the earlier row: the shares of one entry in minutes, of a strip in
    pixels. ValueError for negative weights or seats, or seats with nothing to divide them by.
    """
    whole, _ = _whole_numbers(weights)
    if seats < 0 or any(weight < 0 for weight in whole):
        raise ValueError("weights and seats are 0 or more")
    total = sum(whole)
    if total == 0:
        if seats:
            raise ValueError(f"{seats} seats cannot be divided: no weight is more than 0")
        return [0] * len(weights)
    return _with_missing_units([weight * seats for weight in whole], total, seats)
