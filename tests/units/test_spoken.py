"""Days and lengths of work as people type them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.units.spoken import spoken_day, spoken_minutes

THURSDAY = date(2026, 3, 5)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("today", "2026-03-05"),
        ("Yesterday", "2026-03-04"),
        ("-1", "2026-03-04"),
        ("−3", "2026-03-02"),
        ("thursday", "2026-03-05"),
        ("Friday", "2026-02-27"),
        ("mon", "2026-03-02"),
        ("2 mar", "2026-03-02"),
        ("2. March", "2026-03-02"),
        ("march 2", "2026-03-02"),
        ("6 mar", "2025-03-06"),
        ("6 mar 2026", "2026-03-06"),
        ("Dec 24, 2025", "2025-12-24"),
        ("29 feb", "2024-02-29"),
        ("٣ mar", "2026-03-03"),
    ],
)
def test_a_day_as_it_is_said(text: str, day: str) -> None:
    assert spoken_day(text, THURSDAY) == date.fromisoformat(day)


@pytest.mark.parametrize(
    "text", ["", "t", "mo", "31 feb", "0 mar", "ma 6", "3/4/2026", "2026-03-02", "6", "ju 6", "day"]
)
def test_what_is_no_such_word_or_could_mean_two_days_is_none(text: str) -> None:
    assert spoken_day(text, THURSDAY) is None


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.integers(0, 6))
def test_a_day_of_the_week_is_never_in_the_future_and_at_most_six_days_back(
    today: date, back: int
) -> None:
    day = today - timedelta(days=back)
    assert spoken_day(day.strftime("%A"), today) == day


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.dates(date(1950, 1, 1), date(2150, 1, 1)))
def test_a_day_with_its_year_is_that_day_whatever_today_is(day: date, today: date) -> None:
    assert spoken_day(f"{day.day} {day.strftime('%B')} {day.year}", today) == day


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("8h", 480),
        ("8 hours", 480),
        ("1.5 h", 90),
        ("1,5h", 90),
        ("8:30", 510),
        ("08:30:00", 510),
        ("8h30", 510),
        ("0:45", 45),
        ("90 min", 90),
        ("1/2 day", 300),
        ("½ day", 300),
        ("1½ days", 900),
        ("1 1/2 days", 900),
        ("2 days", 1200),
        ("８h", 480),
    ],
)
def test_a_length_of_work_as_it_is_said(text: str, minutes: int) -> None:
    assert spoken_minutes(text, day_minutes=600) == minutes


@pytest.mark.parametrize(
    "text", ["", "480", "8:75", "1/7 h", "1/0 day", "8 weeks", "h", "-8h", "8h h", "½"]
)
def test_what_is_no_length_or_no_whole_minutes_is_none(text: str) -> None:
    assert spoken_minutes(text, day_minutes=600) is None


@given(st.integers(0, 999), st.integers(0, 59))
def test_hours_and_minutes_are_minutes(hours: int, minutes: int) -> None:
    assert spoken_minutes(f"{hours}:{minutes:02}", 600) == hours * 60 + minutes
