"""Rounding: shown columns add up, nothing is decided by a float."""

import math
from fractions import Fraction

import pytest
from apportionment import methods
from hypothesis import given
from hypothesis import strategies as st

from credits.units.rounding import (
    apportion,
    decimal_text,
    exact_sum,
    half_up,
    largest_remainder,
    least_and_most,
    plain_decimal,
    sum_of_ratios,
)

# US apportionment of 1790, 60 seats (Electowiki, "Hamilton method").
APPORTIONMENT_OF_1790 = {
    "Virginia": (630560, 11),
    "Massachusetts": (475327, 8),
    "Pennsylvania": (432879, 7),
    "North Carolina": (353523, 6),
    "New York": (331589, 6),
    "Maryland": (278514, 5),
    "Connecticut": (236841, 4),
    "South Carolina": (206236, 3),
    "New Jersey": (179570, 3),
    "New Hampshire": (141822, 2),
    "Vermont": (85533, 1),
    "Georgia": (70835, 1),
    "Kentucky": (68705, 1),
    "Rhode Island": (68446, 1),
    "Delaware": (55540, 1),
}


def test_apportion_the_seats_of_1790() -> None:
    people = [people for people, _ in APPORTIONMENT_OF_1790.values()]
    assert apportion(people, 60) == [seats for _, seats in APPORTIONMENT_OF_1790.values()]


def test_apportion_shows_the_alabama_paradox_as_hamiltons_method_must() -> None:
    # Electowiki, "Hamilton method": one seat more takes one from the smallest.
    assert apportion([6, 6, 2], 10) == [4, 4, 2]
    assert apportion([6, 6, 2], 11) == [5, 5, 1]


@pytest.mark.parametrize(
    ("weights", "seats"),
    [([6, 6, 2], 10), ([53, 24, 23], 7), ([630560, 475327, 432879], 101), ([1, 7, 91, 2], 13)],
)
def test_apportion_agrees_with_the_package_apportionment_where_nothing_ties(
    weights: list[int], seats: int
) -> None:
    reference = methods.compute("hamilton", weights, seats, fractions=True, tiesallowed=False)
    assert apportion(weights, seats) == reference


def test_a_tie_goes_to_the_earlier_row() -> None:
    assert apportion([1, 1, 1], 2) == [1, 1, 0]
    assert largest_remainder([Fraction(1, 2), Fraction(1, 2)]) == [1, 0]
    assert largest_remainder([Fraction(1, 3), Fraction(4, 3), Fraction(1, 3)]) == [1, 1, 0]


def test_apportion_exactly_with_fractions() -> None:
    assert apportion([Fraction(1, 3), Fraction(2, 3)], 48) == [16, 32]
    assert apportion([0, 5, 0], 3) == [0, 3, 0]
    assert apportion([], 0) == []
    assert apportion([0, 0], 0) == [0, 0]


@pytest.mark.parametrize(("weights", "seats"), [([0, 0], 1), ([], 1), ([1, -1], 1), ([1], -1)])
def test_apportion_refuses_what_cannot_be_divided(weights: list[int], seats: int) -> None:
    with pytest.raises(ValueError, match="seats"):
        apportion(weights, seats)


def test_largest_remainder_adds_up_to_the_rounded_total() -> None:
    thirds = [Fraction(32, 3), Fraction(32, 3), Fraction(32, 3)]
    assert largest_remainder(thirds) == [11, 11, 10]  # 32 in all, not 33
    tenths = largest_remainder(thirds, Fraction(1, 10))
    assert tenths == [107, 107, 106]
    assert sum(tenths) == 320


def test_the_total_itself_is_rounded_half_up() -> None:
    assert largest_remainder([Fraction(1, 4), Fraction(1, 4)]) == [1, 0]  # 0.5 is shown as 1
    assert largest_remainder([Fraction(1, 4), Fraction(1, 5)]) == [0, 0]  # 0.45 as 0


def test_whole_values_stay_as_they_are() -> None:
    assert largest_remainder([24, 0, 36]) == [24, 0, 36]
    assert largest_remainder([]) == []
    assert largest_remainder([90, 30], 60) == [2, 0]  # minutes shown in hours: 2 h in all


def test_a_row_of_nothing_never_gains_a_unit() -> None:
    assert largest_remainder([0, Fraction(1, 2), 0, Fraction(2, 3)]) == [0, 0, 0, 1]


@pytest.mark.parametrize("unit", [0, -1, Fraction(-1, 10)])
def test_a_unit_is_more_than_nothing(unit: Fraction) -> None:
    with pytest.raises(ValueError, match="unit"):
        largest_remainder([1], unit)


def test_negative_values_are_refused() -> None:
    with pytest.raises(ValueError, match="-1"):
        largest_remainder([3, -1])
    with pytest.raises(ValueError, match="-1/2"):
        half_up(Fraction(-1, 2))
    with pytest.raises(ValueError, match="not -3"):
        decimal_text(Fraction(-3), 1)


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (Fraction(2, 3), 2, "0.67"),
        (Fraction(1, 2), 0, "1"),
        (Fraction(5, 2), 0, "3"),
        (Fraction(1005, 1000), 2, "1.01"),  # the float 1.005 would show 1.00
        (Fraction(1, 1000), 2, "0.00"),
        (Fraction(999, 1000), 2, "1.00"),
        (0, 1, "0.0"),
        (12, 3, "12.000"),
        (Fraction(10**20 + 1, 10), 1, "10000000000000000000.1"),
    ],
)
def test_decimals_are_exact_and_round_halves_up(
    value: Fraction | int, places: int, text: str
) -> None:
    assert decimal_text(value, places) == text


def test_places_are_not_negative() -> None:
    with pytest.raises(ValueError, match="places"):
        decimal_text(1, -1)


@given(st.lists(st.fractions(max_denominator=60) | st.integers(), max_size=12))
def test_an_exact_sum_is_the_sum_and_whole_where_it_is_whole(values: list[Fraction | int]) -> None:
    total = exact_sum(values)
    assert total == sum(values, Fraction(0))
    assert isinstance(total, int) == (total.denominator == 1)
    assert sum_of_ratios((2 * v.numerator, 2 * v.denominator) for v in values) == total


@given(
    st.lists(st.fractions(0, 50, max_denominator=12) | st.integers(0, 50), max_size=8),
    st.sampled_from([Fraction(1), Fraction(1, 10), Fraction(24), Fraction(16, 3)]),
)
def test_the_largest_remainder_is_that_of_exact_quotas(
    values: list[Fraction | int], unit: Fraction
) -> None:
    quotas = [Fraction(value) / unit for value in values]
    units = [math.floor(quota) for quota in quotas]
    ordered = sorted(range(len(values)), key=lambda row: units[row] - quotas[row])
    for row in ordered[: half_up(sum(quotas, Fraction(0))) - sum(units)]:
        units[row] += 1
    assert largest_remainder(values, unit) == units


@given(st.lists(st.one_of(st.integers(0, 9), st.fractions(0, 9, max_denominator=12)), min_size=1))
def test_the_least_and_the_most_are_what_comparing_each_with_each_finds(
    values: list[int | Fraction],
) -> None:
    ratios = [value.as_integer_ratio() for value in values]
    assert least_and_most(ratios) == (min(values), max(values))


def test_ratios_are_compared_in_any_terms_and_given_in_whole_numbers_where_they_are() -> None:
    assert least_and_most([(6, 4), (4, 2), (9, 6)]) == (Fraction(3, 2), 2)
    assert isinstance(least_and_most([(4, 2)])[0], int)


def test_values_that_are_one_float_are_told_apart() -> None:
    near = [Fraction(10**20 + more, 10**20) for more in (2, 1, 3)]
    assert len({float(value) for value in near}) == 1
    assert least_and_most([value.as_integer_ratio() for value in near]) == (near[1], near[2])


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(20), "20"),
        (Fraction(5, 2), "2.5"),
        (Fraction(1, 10**12), "0.000000000001"),
        (Fraction(1, 10**13), "1/10000000000000"),
        (Fraction(1, 3), "1/3"),
    ],
)
def test_a_number_is_written_in_as_many_decimals_as_it_has_up_to_twelve(
    value: Fraction, text: str
) -> None:
    assert plain_decimal(value) == text
