"""Laws of film time, rounding and the order of names, over inputs nobody chose."""

from datetime import date
from fractions import Fraction
from itertools import pairwise

import opentimelineio.opentime as otio
from apportionment import methods
from hypothesis import assume, given
from hypothesis import strategies as st
from timecode import Timecode

from credits.checks.names import alike
from credits.names import direction, fold, initial, sort_key
from credits.units.film_time import (
    GAUGES,
    FrameRate,
    Gauge,
    clock,
    feet_text,
    frame_of_timecode,
    iso_week,
    seconds,
    timecode,
    week_days,
)
from credits.units.rounding import apportion, decimal_text, half_up, largest_remainder

RATES = [FrameRate.parse(text) for text in ("24", "25", "30", "24000/1001", "60")]
DROP_RATES = [FrameRate.parse(text) for text in ("30000/1001", "60000/1001")]
A_DAY_OF_30_DROP = 2_589_408

frames = st.integers(min_value=0, max_value=10_000_000)
amounts = st.fractions(min_value=0, max_value=100_000, max_denominator=60)
texts = st.text(st.characters(), max_size=40)  # surrogates and unassigned characters too


@given(frame=frames, rate=st.sampled_from(RATES + DROP_RATES))
def test_a_timecode_reads_back_as_its_frame(frame: int, rate: FrameRate) -> None:
    assert frame_of_timecode(timecode(frame, rate), rate) == frame


@given(frame=frames, rate=st.sampled_from(DROP_RATES))
def test_a_drop_frame_timecode_reads_back_as_its_frame(frame: int, rate: FrameRate) -> None:
    label = timecode(frame, rate, drop=True)
    assert frame_of_timecode(label, rate) == frame
    assert frame_of_timecode(label.replace(";", ":"), rate, drop=True) == frame


@given(frame=frames, rate=st.sampled_from(DROP_RATES))
def test_drop_frame_labels_rise_with_their_frames(frame: int, rate: FrameRate) -> None:
    here, after = (timecode(at, rate, drop=True) for at in (frame, frame + 1))
    assert [int(part) for part in here.replace(";", ":").split(":")] < [
        int(part) for part in after.replace(";", ":").split(":")
    ]


def test_drop_frame_labels_are_those_of_the_reference_through_a_day() -> None:
    rate = DROP_RATES[0]
    per_second = float(rate.per_second)
    around_minutes = {
        minute * 1800 + off for minute in range(0, 1439, 7) for off in range(-45, 45) if minute
    }
    for frame in sorted(around_minutes | set(range(0, A_DAY_OF_30_DROP, 1009))):
        time = otio.RationalTime(frame, per_second)
        label = timecode(frame, rate, drop=True)
        assert label == otio.to_timecode(time, per_second, True)


@given(frame=st.integers(min_value=0, max_value=A_DAY_OF_30_DROP - 1))
def test_the_package_timecode_reads_the_same_frame(frame: int) -> None:
    label = timecode(frame, DROP_RATES[0], drop=True)
    assert Timecode("30000/1001", label).frame_number == frame


@given(frame=frames, gauge=st.sampled_from(GAUGES))
def test_feet_read_back_as_their_frames(frame: int, gauge: Gauge) -> None:
    feet, plus, over = feet_text(frame, gauge).partition("+")
    if plus:
        assert gauge.first_frame(int(feet)) + int(over) == frame
    else:
        assert half_up(Fraction(feet) * gauge.frames_per_foot) == frame


@given(frame=frames, gauge=st.sampled_from([gauge for gauge in GAUGES if gauge.whole_feet]))
def test_feet_are_as_long_as_their_frames(frame: int, gauge: Gauge) -> None:
    feet, over = (int(part) for part in feet_text(frame, gauge).split("+"))
    length = feet + over / gauge.frames_per_foot
    assert abs(length - frame / gauge.frames_per_foot) < 1 / gauge.frames_per_foot


@given(length=amounts, rate=st.sampled_from(RATES + DROP_RATES))
def test_running_time_is_within_half_a_second(length: Fraction, rate: FrameRate) -> None:
    total = 0
    for part in clock(length, rate).split(":"):
        total = total * 60 + int(part)
    assert abs(total - seconds(length, rate)) <= Fraction(1, 2)


@given(day=st.dates(max_value=date(9998, 12, 20)))
def test_a_day_is_in_the_week_it_is_said_to_be_in(day: date) -> None:
    days = week_days(iso_week(day))
    assert days[day.isoweekday() - 1] == day
    assert {iso_week(other) for other in days} == {iso_week(day)}


@given(values=st.lists(amounts, max_size=30), unit=st.fractions(Fraction(1, 100), 24))
def test_shown_rows_add_up_and_stay_within_a_unit(values: list[Fraction], unit: Fraction) -> None:
    shown = largest_remainder(values, unit)
    assert sum(shown) == half_up(sum(values, Fraction(0)) / unit)
    for units, value in zip(shown, values, strict=True):
        assert abs(units - value / unit) < 1


@given(values=st.lists(amounts, min_size=2, max_size=10))
def test_a_missing_unit_goes_to_the_largest_remainder_or_the_earlier_row(
    values: list[Fraction],
) -> None:
    shown = largest_remainder(values)
    remainders = [value - value.numerator // value.denominator for value in values]
    raised = [
        units > value - part for units, value, part in zip(shown, values, remainders, strict=True)
    ]
    ranks = sorted(range(len(values)), key=lambda row: (-remainders[row], row))
    assert [raised[row] for row in ranks] == sorted(raised, reverse=True)


@given(weights=st.lists(st.integers(1, 10**6), min_size=1, max_size=12), seats=st.integers(1, 500))
def test_apportion_is_hamiltons_method(weights: list[int], seats: int) -> None:
    ours = apportion(weights, seats)
    assert sum(ours) == seats
    try:
        reference = methods.compute("hamilton", weights, seats, fractions=True, tiesallowed=False)
    except methods.TiesException:
        assume(False)
    assert ours == reference


@given(value=amounts, places=st.integers(0, 6))
def test_decimals_are_within_half_a_last_place(value: Fraction, places: int) -> None:
    text = decimal_text(value, places)
    assert len(text.partition(".")[2]) == places
    error = Fraction(text) - value
    assert -Fraction(1, 2 * 10**places) < error <= Fraction(1, 2 * 10**places)


@given(one=texts, other=texts)
def test_the_order_of_names_is_total(one: str, other: str) -> None:
    assert (sort_key(one) == sort_key(other)) == (one == other)
    assert (sort_key(one) < sort_key(other)) == (not sort_key(other) <= sort_key(one))


@given(names=st.lists(texts, max_size=12))
def test_names_of_one_heading_stand_together(names: list[str]) -> None:
    headings = [initial(name) for name in sorted(names, key=sort_key)]
    changes = sum(here != after for here, after in pairwise(headings))
    assert changes == max(len(set(headings)) - 1, 0)


@given(entry=st.text(st.characters(exclude_characters=","), max_size=20), one=texts, other=texts)
def test_the_rest_never_outweighs_the_base_letters_of_the_entry_element(
    entry: str, one: str, other: str
) -> None:
    ahead, behind = sorted((one, other), key=lambda rest: sort_key(f"{entry}, {rest}"))
    assert sort_key(f"{entry}a, {behind}") > sort_key(f"{entry}, {ahead}")


@given(text=texts)
def test_folding_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert direction(text) in ("ltr", "rtl")


@given(names=st.lists(texts, max_size=12))
def test_every_likeness_is_a_pair_of_two(names: list[str]) -> None:
    coded = [(f"p{at:02}", name) for at, name in enumerate(names)]
    pairs = alike(coded)
    assert pairs == sorted(pairs) == alike(coded[::-1])
    assert all(one < other and 88 <= likeness <= 100 for one, other, likeness in pairs)


@given(name=texts)
def test_the_same_name_twice_is_always_alike(name: str) -> None:
    assume(fold(name))
    ((one, other, likeness),) = alike([("a", name), ("b", name)])
    assert (one, other) == ("a", "b")
    assert likeness == 100
