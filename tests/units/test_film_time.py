"""Film time against published values: footage, timecode, ISO weeks."""

from datetime import date, timedelta
from fractions import Fraction

import opentimelineio.opentime as otio
import pytest
from timecode import Timecode

from credits.errors import CreditsError, ProblemsFound
from credits.units.film_time import (
    FrameRate,
    Gauge,
    Period,
    clock,
    feet_text,
    frame_of_timecode,
    iso_week,
    seconds,
    seconds_text,
    timecode,
    week_days,
)

FILM = FrameRate.parse("24")
NTSC = FrameRate.parse("30000/1001")
MM35 = Gauge.parse("35mm-4perf")
MM35_3PERF = Gauge.parse("35mm-3perf")
MM16 = Gauge.parse("16mm")
MM65 = Gauge.parse("65mm-5perf")


# --- Frame rates


@pytest.mark.parametrize(
    ("text", "per_second", "nominal", "drops"),
    [
        ("24", Fraction(24), 24, False),
        ("25", Fraction(25), 25, False),
        ("30", Fraction(30), 30, False),
        ("60", Fraction(60), 60, False),
        ("24000/1001", Fraction(24000, 1001), 24, False),
        ("30000/1001", Fraction(30000, 1001), 30, True),
        ("60000/1001", Fraction(60000, 1001), 60, True),
        ("7000/1001", Fraction(7000, 1001), 7, False),
    ],
)
def test_a_rate_is_read_and_written_exactly(
    text: str, per_second: Fraction, nominal: int, drops: bool
) -> None:
    rate = FrameRate.parse(text)
    assert (rate.per_second, rate.nominal, rate.drops) == (per_second, nominal, drops)
    assert rate.text == text


def test_a_rate_may_be_written_with_spaces_or_unreduced() -> None:
    assert FrameRate.parse(" 24 ").text == "24"
    assert FrameRate.parse("48/2").text == "24"


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("29.97", "30000/1001"),
        ("23.976", "24000/1001"),
        ("23.98", "24000/1001"),
        ("59.94", "60000/1001"),
        ("29,97", "30000/1001"),
        ("24.0", "Write 24."),
        ("12.5", "24000/1001"),
        ("0.0", "24000/1001"),
        ("0", "more than 0"),
        ("24/0", "more than 0"),
        ("-24", "not a frame rate"),
        ("", "not a frame rate"),
        ("film", "not a frame rate"),
        ("٢٤", "not a frame rate"),
        ("nan", "not a frame rate"),
        ("25/2", "1000/1001"),
        ("1001", "faster than 1000"),
        ("9" * 5000, "not a frame rate"),
    ],
)
def test_a_wrong_rate_is_refused_with_what_would_be_right(text: str, right: str) -> None:
    with pytest.raises(ProblemsFound) as caught:
        FrameRate.parse(text)
    assert right in str(caught.value)
    assert "frame_rate '" in str(caught.value)


def test_the_finding_for_a_rate_reads_as_a_sentence() -> None:
    with pytest.raises(ProblemsFound) as caught:
        FrameRate.parse("29.97")
    assert str(caught.value) == "frame_rate '29.97': is not a frame rate. Write 30000/1001."


def test_no_rate_is_nothing_or_less() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        FrameRate(Fraction(0))


# --- Running time


def test_seconds_are_exact() -> None:
    assert seconds(96, FILM) == 4
    assert seconds(Fraction(32, 3), FILM) == Fraction(4, 9)
    assert seconds(86400, FrameRate.parse("24000/1001")) == Fraction(36036, 10)  # SMPTE ST 12-1


def test_seconds_as_text_round_halves_up() -> None:
    assert seconds_text(96, FILM) == "4.0"
    assert seconds_text(Fraction(32, 3), FILM, 2) == "0.44"
    assert seconds_text(6, FILM) == "0.3"  # 0.25 s
    assert seconds_text(36, FILM, 0) == "2"  # 1.5 s


@pytest.mark.parametrize(
    ("frames", "shown"),
    [
        (0, "0:00"),
        (42 * 24, "0:42"),
        (11, "0:00"),
        (12, "0:01"),  # half a second goes up
        (59 * 24 + 12, "1:00"),
        ((18 * 60 + 4) * 24, "18:04"),
        ((76 * 60 + 4) * 24, "1:16:04"),
        (3600 * 24 - 1, "1:00:00"),
        (30 * 3600 * 24, "30:00:00"),
    ],
)
def test_running_time_for_people(frames: int, shown: str) -> None:
    assert clock(frames, FILM) == shown


# --- Feet


@pytest.mark.parametrize(
    ("gauge", "frames_per_foot", "feet_a_minute"),
    [
        ("35mm-4perf", 16, 90),  # NFSA Preservation Glossary, "Footage"; ISO 491, ISO 69
        ("35mm-3perf", Fraction(64, 3), Fraction(135, 2)),  # calculated
        ("35mm-2perf", 32, 45),  # calculated
        ("16mm", 40, 36),  # "Filmfuss"
        ("65mm-5perf", Fraction(64, 5), Fraction(225, 2)),  # calculated
        ("super8", 72, 20),  # "Filmfuss"; SMPTE 149-2004 pitch
    ],
)
def test_frames_a_foot_and_feet_a_minute_at_24(
    gauge: str, frames_per_foot: Fraction, feet_a_minute: Fraction
) -> None:
    film = Gauge.parse(gauge)
    assert film.frames_per_foot == frames_per_foot
    assert 60 * 24 / film.frames_per_foot == feet_a_minute


@pytest.mark.parametrize(
    ("frames", "gauge", "written"),
    [
        (200, "35mm-4perf", "12+08"),  # NFSA Preservation Glossary: 16 frames a foot
        (100 * 60 * 24, "35mm-4perf", "9000+00"),  # "Filmfuss": 100 min of sound film
        (100 * 60 * 24, "16mm", "3600+00"),  # "Filmfuss"
        (100 * 60 * 24, "super8", "2000+00"),  # "Filmfuss"
        (1049, "35mm-4perf", "65+09"),  # sum of the clips of screening_example.edl
        (30330, "35mm-4perf", "1895+10"),  # sum of the clips of speed_effects.edl
        (64, "35mm-3perf", "3+00"),  # calculated: 64 frames make 3 feet
        (200, "65mm-5perf", "15.63"),  # calculated: 15.625
        (0, "35mm-4perf", "0+00"),
        (39, "16mm", "0+39"),
    ],
)
def test_lengths_in_feet(frames: int, gauge: str, written: str) -> None:
    assert feet_text(frames, Gauge.parse(gauge)) == written


def frames_in(feet: int, over: int, gauge: Gauge) -> int:
    """The frames in so many feet and frames of a gauge whose feet hold whole frames."""
    return int(feet * gauge.frames_per_foot) + over


def test_a_thousand_feet_of_35mm_last_eleven_minutes() -> None:
    frames = frames_in(1000, 0, MM35)
    assert seconds(frames, FILM) == Fraction(2000, 3)  # calculated: 666 2/3 s
    assert seconds(frames, FrameRate.parse("25")) == 640  # calculated


def test_feet_and_frames_arithmetic() -> None:
    # "Math for Movies", after M. Lustig, Music Editing for Motion Pictures, 1980.
    total = frames_in(1769, 7, MM35) + frames_in(39, 14, MM35)
    assert feet_text(total, MM35) == "1809+05"
    assert feet_text(frames_in(36, 0, MM16), MM35) == "90+00"
    assert feet_text(frames_in(83, 38, MM16), MM35) == "209+14"
    counting_the_last = frames_in(1827, 13, MM35) - frames_in(12, 0, MM35) + 1
    assert feet_text(counting_the_last, MM35) == "1815+14"


def test_a_divided_frame_rounds_before_feet_are_counted() -> None:
    assert feet_text(Fraction(31, 2), MM35) == "1+00"  # never 0+16
    assert feet_text(Fraction(46, 3), MM35) == "0+15"


def test_three_perforations_label_each_frame_by_the_foot_it_begins_in() -> None:
    labels = [feet_text(frame, MM35_3PERF) for frame in (0, 21, 22, 42, 43, 63, 64)]
    assert labels == ["0+00", "0+21", "1+00", "1+20", "2+00", "2+20", "3+00"]


def test_which_gauges_count_whole_feet() -> None:
    names = ("35mm-4perf", "35mm-3perf", "35mm-2perf", "16mm", "super8", "65mm-5perf")
    assert [Gauge.parse(name).whole_feet for name in names] == [True] * 5 + [False]


def test_a_gauge_is_found_in_any_case_and_an_unknown_one_names_the_known() -> None:
    assert Gauge.parse(" 35MM-4PERF ") == MM35
    with pytest.raises(ProblemsFound) as caught:
        Gauge.parse("35mm")
    assert str(caught.value) == (
        "gauge '35mm': is not a known gauge. Known gauges: "
        "35mm-4perf, 35mm-3perf, 35mm-2perf, 16mm, 65mm-5perf, super8."
    )


# --- Timecode (SMPTE ST 12-1)

LABELS = [
    ("30000/1001", True, 1799, "00:00:59;29"),
    ("30000/1001", True, 1800, "00:01:00;02"),
    ("30000/1001", True, 17981, "00:09:59;29"),
    ("30000/1001", True, 17982, "00:10:00;00"),
    ("30000/1001", True, 75526, "00:42:00;02"),
    ("30000/1001", True, 107892, "01:00:00;00"),
    ("30000/1001", True, 116883, "01:04:59;29"),
    ("30000/1001", True, 116884, "01:05:00;02"),
    ("30000/1001", True, 2589407, "23:59:59;29"),
    ("30000/1001", False, 108000, "01:00:00:00"),
    ("24", False, 1049, "00:00:43:17"),
    ("24", False, 30330, "00:21:03:18"),
    ("25", False, 496, "00:00:19:21"),
    ("24000/1001", False, 86400, "01:00:00:00"),
    ("60000/1001", True, 3600, "00:01:00;04"),
]


@pytest.mark.parametrize(("rate", "drop", "frame", "label"), LABELS)
def test_labels_of_frames(rate: str, drop: bool, frame: int, label: str) -> None:
    assert timecode(frame, FrameRate.parse(rate), drop) == label
    assert frame_of_timecode(label, FrameRate.parse(rate)) == frame
    assert frame_of_timecode(label, FrameRate.parse(rate), drop) == frame


@pytest.mark.parametrize(("rate", "drop", "frame", "label"), LABELS)
def test_the_references_agree_on_these_labels(
    rate: str, drop: bool, frame: int, label: str
) -> None:
    per_second = FrameRate.parse(rate).per_second
    time = otio.RationalTime(frame, float(per_second))
    assert otio.to_timecode(time, float(per_second), drop) == label
    other = Timecode(rate, label, force_non_drop_frame=not drop)
    assert other.frame_number == frame


def test_hours_never_wrap() -> None:
    assert timecode(2589408, NTSC, drop=True) == "24:00:00;00"
    assert timecode(2589408, NTSC) == "23:58:33:18"
    assert timecode(100 * 3600 * 24, FILM) == "100:00:00:00"
    assert frame_of_timecode("100:00:00:00", FILM) == 100 * 3600 * 24


@pytest.mark.parametrize(
    ("label", "rate", "right"),
    [
        ("00:01:00;00", "30000/1001", "skips it. The minute begins at 00:01:00;02."),
        ("00:01:00;01", "30000/1001", "skips it"),
        ("00:59:00;00", "30000/1001", "skips it"),
        ("00:01:00;03", "60000/1001", "begins at 00:01:00;04"),
        ("00:60:00:00", "24", "minutes go from 00 to 59"),
        ("00:00:60:00", "24", "seconds go from 00 to 59"),
        ("00:00:00:24", "24", "frames go from 00 to 23"),
        ("00:00:00:24", "24000/1001", "frames go from 00 to 23"),
        ("00:01:00;02", "24", "only at 30000/1001 and 60000/1001, not at 24"),
        ("00:01:00;02", "24000/1001", "not at 24000/1001"),
        ("1:00:00:00", "24", "two digits each"),
        ("00:00:00", "24", "is not a timecode"),
        ("-00:00:00:01", "24", "is not a timecode"),
        ("٠٠:00:00:00", "24", "is not a timecode"),
        ("", "24", "is not a timecode"),
    ],
)
def test_labels_that_do_not_exist_are_refused(label: str, rate: str, right: str) -> None:
    with pytest.raises(ProblemsFound) as caught:
        frame_of_timecode(label, FrameRate.parse(rate))
    assert right in str(caught.value)


def test_minutes_of_ten_skip_nothing() -> None:
    assert frame_of_timecode("00:10:00;00", NTSC) == 17982
    assert frame_of_timecode("00:00:00;00", NTSC) == 0


def test_the_caller_may_say_what_kind_a_label_is() -> None:
    assert frame_of_timecode("00:01:00:02", NTSC, drop=True) == 1800
    assert frame_of_timecode("00;01;00;02", NTSC) == 1800
    assert frame_of_timecode("00:01:00:02", NTSC) == 1802
    with pytest.raises(ProblemsFound, match="drop-frame timecode where non-drop"):
        frame_of_timecode("00:01:00;02", NTSC, drop=False)


def test_drop_frame_labels_are_made_only_where_they_exist() -> None:
    with pytest.raises(CreditsError, match="not at 24"):
        timecode(0, FILM, drop=True)
    with pytest.raises(ValueError, match="from frame 0"):
        timecode(-1, FILM)


# --- ISO 8601 weeks


@pytest.mark.parametrize(
    ("day", "week", "weekday"),
    [  # ISO 8601 week dates, as the calendar examples for the turn of the year give them
        (date(2005, 1, 1), "2004-W53", 6),
        (date(2007, 12, 31), "2008-W01", 1),
        (date(2010, 1, 3), "2009-W53", 7),
        (date(2024, 12, 30), "2025-W01", 1),
        (date(2026, 12, 31), "2026-W53", 4),
        (date(2027, 1, 4), "2027-W01", 1),
        (date(2026, 3, 2), "2026-W10", 1),
    ],
)
def test_weeks_at_the_turn_of_the_year(day: date, week: str, weekday: int) -> None:
    assert iso_week(day) == week
    assert week_days(week)[weekday - 1] == day


def test_a_week_is_seven_days_monday_first() -> None:
    assert week_days("2026-W10") == tuple(date(2026, 3, 2) + timedelta(days=d) for d in range(7))
    assert week_days("2026-W53")[6] == date(2027, 1, 3)  # 2026 has 53 weeks


@pytest.mark.parametrize(
    ("week", "right"),
    [
        ("2025-W53", "2025 has 52 weeks. Weeks of 2025 go from 2025-W01 to 2025-W52."),
        ("2026-W54", "2026 has 53 weeks"),
        ("2026-W00", "2026-W01"),
        ("2026W10", "2026-W10"),
        ("2026-10", "2026-W10"),
        ("", "2026-W10"),
        ("0000-W01", "0001 to 9998"),
        ("9999-W52", "0001 to 9998"),
    ],
)
def test_weeks_that_do_not_exist_are_refused(week: str, right: str) -> None:
    with pytest.raises(ProblemsFound) as caught:
        week_days(week)
    assert right in str(caught.value)


# --- Periods


@pytest.mark.parametrize(
    ("first", "last", "held"),
    [
        (None, None, [1, 2, 3, 4, 5]),
        (2, None, [2, 3, 4, 5]),
        (None, 4, [1, 2, 3, 4]),
        (2, 4, [2, 3, 4]),
        (3, 3, [3]),
    ],
)
def test_a_period_holds_its_first_day_and_its_last(
    first: int | None, last: int | None, held: list[int]
) -> None:
    ends = (None if day is None else date(2026, 3, day) for day in (first, last))
    period = Period(*ends)
    assert [day for day in range(1, 6) if period.holds(date(2026, 3, day))] == held
    assert period.holds(None) == (first is None and last is None)
