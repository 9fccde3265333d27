"""Charts: an axis of round figures, bars that are the figures beside them, a shape where many."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from credits.footage.footage import FootageTotals, Measures
from credits.model.facts import WeeklyTarget
from credits.site.bands import DOTTED, HATCHED, SOLID
from credits.site.charts import HIGH, MOST_BARS, MOST_RULES, Chart, round_steps, week_chart
from credits.units.film_time import iso_week, week_days
from credits.units.rounding import Exact


def frames(shot: Exact, kept: Exact, accepted: Exact) -> FootageTotals:
    return FootageTotals(by_shot=Measures(shot=shot, kept=kept, accepted=accepted))


def heights(chart: Chart) -> list[tuple[int, str, float]]:
    """Pattern, place and height of every part of a bar."""
    return [(own.pattern, bar.x, float(bar.height)) for own in chart.parts for bar in own.bars]


@pytest.mark.parametrize(
    ("most", "steps"),
    [
        (1, [0, 1]),
        (4, [0, 1, 2, 3, 4]),
        (Fraction(9, 2), [0, 2, 4, 6]),
        (285, [0, 100, 200, 300]),
        (619, [0, 200, 400, 600, 800]),
        (2001, [0, 1000, 2000, 3000]),
    ],
)
def test_the_axis_has_round_figures_and_room_for_the_highest_bar(
    most: Exact, steps: list[int]
) -> None:
    assert round_steps(most) == steps
    assert len(steps) <= MOST_RULES


def test_a_bar_is_as_high_as_its_frames_on_the_axis() -> None:
    chart = week_chart("Frames", {"2026-W10": frames(285, 261, 24), "2026-W11": frames(36, 36, 36)})
    assert chart is not None
    drawn = heights(chart)
    assert [pattern for pattern, _, _ in drawn] == [SOLID, SOLID, HATCHED, DOTTED]
    assert len({x for _, x, _ in drawn}) == 2
    for (*_, high), own in zip(drawn, (24, 36, 237, 24), strict=True):
        assert abs(high - 100 * HIGH * own / 300) < 0.1
    assert [figure for _, figure in chart.rules] == ["0", "100", "200", "300"]
    assert (chart.rules[0][0], chart.rules[-1][0]) == ("100", "10")
    assert chart.mean == ("55.45", "mean of kept: 149")  # 100 - 90 * 148.5 / 300


def test_weeks_without_footage_keep_their_room_and_count_for_no_mean() -> None:
    own = frames(10, 10, 10)
    chart = week_chart("Frames", {"2026-W01": own, "2026-W53": own})
    assert chart is not None
    xs = [float(x) for _, x, _ in heights(chart)]
    assert max(xs) - min(xs) > 90
    assert len(chart.ticks) <= 10
    assert chart.mean is not None
    assert chart.mean[1] == "mean of kept: 10"


def test_many_weeks_are_one_shape_of_each_part() -> None:
    monday = week_days("2024-W01")[0].toordinal()
    weeks = [
        iso_week(week_days("2024-W01")[0].fromordinal(monday + 7 * at))
        for at in range(MOST_BARS + 1)
    ]
    chart = week_chart("Frames", {week: frames(30, 20, 10) for week in weeks})
    assert chart is not None
    assert [own.title for own in chart.parts] == ["accepted", "kept, not accepted", "re-shot"]
    assert [len(own.bars) for own in chart.parts] == [len(weeks)] * 3
    assert not any(bar.title for own in chart.parts for bar in own.bars)


def test_what_a_week_was_to_keep_is_a_line_that_has_room() -> None:
    weeks = {f"2026-W1{at}": frames(10, 10, 10) for at in range(4)}
    targets = (WeeklyTarget(60, date(2026, 3, 9)), WeeklyTarget(40, date(2026, 3, 16)))
    chart = week_chart("Frames", weeks, targets)
    assert chart is not None
    assert chart.rules[-1] == ("10", "60")
    assert chart.target == (("25", "50", "10"), ("50", "100", "40"))
    assert '<line x1="25%" x2="50%" y1="10%" y2="10%"/>' in chart.__html__()


def test_a_chart_is_drawn_of_something() -> None:
    assert week_chart("Frames", {}) is None
    assert week_chart("Frames", {"2026-W10": frames(0, 0, 0)}) is None


def test_its_title_and_words_are_escaped() -> None:
    chart = week_chart("<b>", {"2026-W10": frames(1, 1, 1)})
    assert chart is not None
    assert "<b>" not in chart.__html__()
    assert chart.mean is None  # of one week
