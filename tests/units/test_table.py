"""The one kind of table: every printed column that adds up equals its printed total."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.editions import Edition
from credits.units.film_time import GAUGES, FrameRate, Gauge
from credits.units.frames import Frames
from credits.units.table import Column, Marked, PrintedCell, Scale, Table, Unit, printed

SCALE = Scale(FrameRate.parse("24"), Gauge.parse("35mm-4perf"))
ADDING = (
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
    Column(key="seconds", heading="Seconds", unit=Unit.SECONDS, places=1, adds_up=True),
    Column(key="time", heading="Running time", unit=Unit.RUNNING, adds_up=True),
    Column(key="feet", heading="Feet", unit=Unit.FEET, adds_up=True),
)
lengths = st.fractions(min_value=0, max_value=200_000, max_denominator=12)


def seconds_of(clock: str) -> int:
    total = 0
    for part in clock.split(":"):
        total = total * 60 + int(part)
    return total


def feet_of(text: str) -> int:
    feet, frames = text.split("+")
    return int(feet) * 16 + int(frames)


def table_of(values: list[Fraction], scale: Scale = SCALE) -> Table:
    return Table(
        caption="Lengths",
        columns=(Column(key="shot", heading="Shot", unit=Unit.CODE), *ADDING),
        rows=tuple((f"{n}", *([value] * 4)) for n, value in enumerate(values)),
        scale=scale,
        label="total",
    )


def test_four_rows_of_half_a_second_stand_over_two_seconds() -> None:
    shown = table_of([Fraction(12)] * 4).printed()
    assert [row[3].text for row in shown.rows] == ["0:01", "0:01", "0:00", "0:00"]
    assert shown.total[3].text == "0:02"


@given(st.lists(lengths, max_size=12))
def test_every_printed_column_adds_up(values: list[Fraction]) -> None:
    shown = table_of(values).printed()
    columns = list(zip(*[[cell.text for cell in row] for row in shown.rows], strict=True))
    total = [cell.text for cell in shown.total]
    if not columns:
        assert total[1:] == ["0", "0.0", "0:00", "0+00"]
        return
    frames = [int(text.replace(",", "")) for text in columns[1]]
    assert sum(frames) == int(total[1].replace(",", ""))
    tenths = [int(text.replace(",", "").replace(".", "")) for text in columns[2]]
    assert sum(tenths) == int(total[2].replace(",", "").replace(".", ""))
    assert sum(map(seconds_of, columns[3])) == seconds_of(total[3])
    assert sum(map(feet_of, columns[4])) == feet_of(total[4])


@given(st.lists(lengths, max_size=12), st.sampled_from(GAUGES))
def test_feet_add_up_on_every_gauge(values: list[Fraction], gauge: Gauge) -> None:
    shown = table_of(values, Scale(SCALE.rate, gauge)).printed()
    assert sum(row[4].sort for row in shown.rows) == shown.total[4].sort


@given(st.lists(lengths, min_size=1, max_size=6), st.lists(lengths, min_size=1, max_size=6))
def test_the_parts_of_a_row_add_up_to_what_the_row_shows(
    one: list[Fraction], other: list[Fraction]
) -> None:
    whole = table_of([sum(one, Fraction(0)), sum(other, Fraction(0))]).printed()
    for place, values in enumerate((one, other)):
        shown = {key: units[place] for key, units in whole.units.items()}
        own = table_of(values)
        parts = Table(
            caption=own.caption,
            columns=own.columns,
            rows=own.rows,
            scale=SCALE,
            label="total",
            shown_totals=shown,
        ).printed()
        assert [c.text for c in parts.total[1:]] == [c.text for c in whole.rows[place][1:]]


def test_an_edition_sees_its_columns_alone() -> None:
    table = Table(
        caption="Who",
        columns=(
            Column(key="name", heading="Name"),
            Column(key="billing", heading="Billing", unit=Unit.NUMBER, edition=Edition.OFFICE),
        ),
        rows=(("Ana", 3), ("Ben", 1)),
    )
    assert table.seen_by(Edition.CREW).rows == (("Ana",), ("Ben",))
    assert table.seen_by(Edition.OFFICE) == table


def test_frames_are_seen_whole() -> None:
    columns = (Column(key="frames", heading="Frames", unit=Unit.RANGES),)
    table = Table(caption="T", columns=columns, rows=((Frames.parse("1-4"),),))
    assert table.seen_by(Edition.PUBLIC) == table


def test_a_row_of_another_width_is_refused() -> None:
    with pytest.raises(ValueError, match="has not 1 values"):
        Table(caption="One", columns=ADDING[:1], rows=((Fraction(1), Fraction(2)),))


@pytest.mark.parametrize(
    ("unit", "places", "value", "text"),
    [
        (Unit.NUMBER, 0, 1204, "1,204"),
        (Unit.PERCENT, 1, Fraction(43, 1000), "4.3 %"),
        (Unit.HOURS, 1, 90, "1.5"),
        (Unit.DECIMAL, 2, Fraction(2, 3), "0.67"),
        (Unit.SECONDS, 1, 36, "1.5"),
        (Unit.FEET, 0, 200, "12+08"),
        (Unit.DAY, 0, date(2026, 3, 2), "2 March 2026"),
        (Unit.DAY, 0, (date(2026, 3, 2), date(2026, 3, 2)), "2 March 2026"),
        (Unit.DAY, 0, (date(2026, 3, 2), date(2026, 4, 1)), "2 March 2026 – 1 April 2026"),
        (Unit.DAY, 0, "still fitted", "still fitted"),
        (Unit.NUMBER, 0, "every", "every"),
        (Unit.RANGES, 0, Frames.parse("1-20,25-48"), "1-20, 25-48"),
        (Unit.NUMBER, 0, None, "–"),
        (Unit.TEXT, 0, None, ""),
    ],
)
def test_a_value_alone(unit: Unit, places: int, value: object, text: str) -> None:
    column = Column(key="x", heading="X", unit=unit, places=places)
    assert printed(value, column, SCALE).text == text


def test_frames_without_a_rate_are_no_time() -> None:
    with pytest.raises(ValueError, match="need the rate"):
        printed(24, ADDING[2])


def test_nothing_is_a_dash_among_figures_that_add_up() -> None:
    table = Table(caption="T", columns=ADDING[:1], rows=((None,), (3,)), label="")
    assert table.printed().rows == (
        (PrintedCell("–", Unit.FRAMES, ""),),
        (PrintedCell("3", Unit.FRAMES, 3),),
    )


def test_a_column_says_what_stands_for_nothing() -> None:
    column = Column(key="wait", heading="Wait", unit=Unit.MINUTES, nothing="")
    assert printed(None, column) == PrintedCell("", Unit.MINUTES)


WORKS = Table(
    caption="Who did what",
    columns=(
        Column(key="name", heading="Name"),
        Column(key="day", heading="Day", unit=Unit.DAY),
        Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
        Column(key="note", heading="Note", unit=Unit.NOTE),
    ),
    rows=(("Wick", "Monday", 3, ""), ("Wick", "Tuesday", 4, ""), ("Brine", "Monday", 1, "")),
    label="total",
    grouped=True,
)


def test_columns_can_be_left_out() -> None:
    assert [c.key for c in WORKS.without("name", "frames").columns] == ["day", "note"]
    assert [c.key for c in WORKS.without_empty("day", "note").columns] == ["name", "day", "frames"]


def test_rows_of_one_name_stand_in_one_group() -> None:
    groups = WORKS.printed().groups
    assert [[row[1].text for row in group] for group in groups] == [
        ["Monday", "Tuesday"],
        ["Monday"],
    ]


def test_the_label_of_a_total_reaches_to_the_first_figure() -> None:
    assert WORKS.printed().label_span == 2
    assert WORKS.without("frames").printed().label_span == 3


def test_a_marked_value_has_a_note_an_order_and_an_anchor() -> None:
    value = Marked(value="Monday", note="since May", sort="2026-03-02", anchor="a-1")
    assert printed(value, WORKS.columns[1]) == PrintedCell(
        "Monday", Unit.DAY, "2026-03-02", "since May", "a-1"
    )
    clock = printed(Marked(value=48, sort=7), ADDING[2], SCALE)
    assert (clock.text, clock.sort) == ("0:02", 7)
    frames = Marked(value=Frames.parse("1-4"))
    assert frames.seen_by(Edition.PUBLIC) == frames


def test_headings_over_columns_that_stand_side_by_side() -> None:
    columns = (
        Column(key="who", heading="Who"),
        Column(key="shot", heading="shot", head="Frames"),
        Column(key="kept", heading="kept", head="Frames"),
    )
    table = Table(caption="T", columns=columns, rows=())
    assert table.printed().heads == (("", 1), ("Frames", 2))
    assert Table(caption="T", columns=columns[:1], rows=()).printed().heads == ()
