"""Film time: frame rates, running time, feet, timecode labels, days and ISO weeks.

Positions (timecode) are frames counted from 0. Everything is exact, never floats. Text that cannot
be read raises ProblemsFound; a negative length or position is the caller's, and raises ValueError.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from credits.errors import Finding, ProblemsFound
from credits.units.rounding import Exact, decimal_text, half_up

FASTEST_RATE = 1000
DROP_FRAME_RATES = frozenset({Fraction(30000, 1001), Fraction(60000, 1001)})

_RATE = re.compile(r"([0-9]{1,7})(?:/([0-9]{1,7}))?")
_DECIMAL_RATE = re.compile(r"[0-9]{1,7}[.,][0-9]{1,7}")
_LABEL = re.compile(r"([0-9]{2,6})[:;]([0-9]{2})[:;]([0-9]{2})([:;])([0-9]{2,4})")
_WEEK = re.compile(r"([0-9]{4})-W([0-9]{2})")

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

RATE_HINT = "Write a whole number such as 24, or a rate such as 24000/1001."


def _problem(what: str, hint: str, value: str, column: str | None = None) -> ProblemsFound:
    return ProblemsFound(Finding(what, hint, column=column, value=value))


@dataclass(frozen=True, slots=True)
class FrameRate:
    """Frames per second, exactly: 24, or 24000/1001. ValueError when it is not more than 0."""

    per_second: Fraction

    def __post_init__(self) -> None:
        if self.per_second <= 0:
            raise ValueError(f"a frame rate is more than 0, not {self.per_second}")

    @classmethod
    def parse(cls, text: str) -> FrameRate:
        """Read "24", "25", "30", "60", "24000/1001", "30000/1001" and the like.

        Decimals are refused: 29.97 is near 30000/1001 but not the same, and every total is exact.
        """
        written = text.strip()
        match = _RATE.fullmatch(written)
        if match is None:
            raise _problem("is not a frame rate", _rate_meant(written), text, "frame_rate")
        above, below = int(match[1]), int(match[2] or 1)
        if above == 0 or below == 0:
            raise _problem("a frame rate is more than 0", RATE_HINT, text, "frame_rate")
        per_second = Fraction(above, below)
        if per_second > FASTEST_RATE:
            what = f"is faster than {FASTEST_RATE} frames a second"
            raise _problem(what, RATE_HINT, text, "frame_rate")
        if per_second not in (nominal := math.ceil(per_second), Fraction(nominal * 1000, 1001)):
            what = "is neither a whole number nor one times 1000/1001"
            raise _problem(what, RATE_HINT, text, "frame_rate")
        return cls(per_second)

    @property
    def nominal(self) -> int:
        """Return the whole number of frames that a second of timecode counts: 24 for 24000/1001."""
        return math.ceil(self.per_second)

    @property
    def text(self) -> str:
        """Write the rate as `parse` reads it: "24", "24000/1001"."""
        slowed = Fraction(self.nominal * 1000, 1001)
        return f"{self.nominal * 1000}/1001" if self.per_second == slowed else str(self.per_second)

    @property
    def drops(self) -> bool:
        """Tell whether drop-frame timecode exists at this rate (SMPTE ST 12-1)."""
        return self.per_second in DROP_FRAME_RATES


def _rate_meant(written: str) -> str:
    """What somebody who wrote a decimal rate should write instead."""
    if _DECIMAL_RATE.fullmatch(written):
        rate = Fraction(written.replace(",", "."))
        nominal = math.ceil(rate)
        if rate and rate == nominal:
            return f"Write {nominal}."
        if rate and abs(rate - Fraction(nominal * 1000, 1001)) < Fraction(1, 100):
            return f"Write {nominal * 1000}/1001."
    return RATE_HINT


def seconds_over(frames: tuple[int, int], rate: FrameRate, parts: int = 1) -> tuple[int, int]:
    """Return how long so many frames last, in seconds: frames / rate, exactly.

    frames: a numerator over a denominator, as what is returned. parts: into how many parts that is
    divided, of which one is meant.
    """
    (many, of), (above, below) = frames, rate.per_second.as_integer_ratio()
    return many * below, of * above * parts


def seconds(frames: Exact, rate: FrameRate) -> Fraction:
    """Return how long so many frames last, in seconds: frames / rate, exactly."""
    return Fraction(*seconds_over(frames.as_integer_ratio(), rate))


def seconds_text(frames: Exact, rate: FrameRate, places: int = 1) -> str:
    """Write how long so many frames last, in seconds without a unit, halves up: "4.0"."""
    return decimal_text(seconds(frames, rate), places)


def clock(frames: Exact, rate: FrameRate) -> str:
    """Write a running time, to the nearest second, halves up: "0:42", "18:04", "1:16:04"."""
    return clock_text(half_up(seconds(frames, rate)))


def clock_text(whole_seconds: int) -> str:
    """Write whole seconds as a running time: "0:42", "18:04", "1:16:04"."""
    hours, below = divmod(whole_seconds, 3600)
    minutes, left = divmod(below, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"


@dataclass(frozen=True, slots=True)
class Gauge:
    """A film gauge: how many frames make a foot of film."""

    name: str
    frames_per_foot: Fraction

    @classmethod
    def parse(cls, text: str) -> Gauge:
        """Find the gauge of that name, upper or lower case: "35mm-4perf", "16mm"."""
        name = text.strip().lower()
        if found := next((gauge for gauge in GAUGES if gauge.name == name), None):
            return found
        known = ", ".join(gauge.name for gauge in GAUGES)
        raise _problem("is not a known gauge", f"Known gauges: {known}.", text, "gauge")

    @property
    def whole_feet(self) -> bool:
        """Tell whether lengths are written as feet+frames; otherwise as decimal feet.

        So it is where a foot, or three feet, hold a whole number of frames. In 35 mm 3-perf a
        frame belongs to the foot in which it begins: feet hold 22, 21 and 21 frames in turn.
        """
        return self.frames_per_foot.denominator in (1, 3)

    def first_frame(self, foot: int) -> int:
        """Return the number, from 0, of the first frame that begins in this foot, from 0."""
        above, below = self.frames_per_foot.as_integer_ratio()
        return -(-foot * above // below)


# Perforations are 64 a foot in 35 mm and 65 mm, so frames a foot are 64 / perforations a frame
# (NFSA Preservation Glossary, "Footage"). 16 mm and Super 8: one perforation a frame, 40 and 72.
GAUGES = (
    Gauge("35mm-4perf", Fraction(16)),
    Gauge("35mm-3perf", Fraction(64, 3)),
    Gauge("35mm-2perf", Fraction(32)),
    Gauge("16mm", Fraction(40)),
    Gauge("65mm-5perf", Fraction(64, 5)),
    Gauge("super8", Fraction(72)),
)


def feet_text(frames: Exact, gauge: Gauge) -> str:
    """Write a length of film: "12+08" for 200 frames of 35 mm 4-perf, "15.63" (feet) for 65 mm.

    Feet+frames first rounds a divided length to whole frames, halves up, so that the frames part
    never shows a full foot. Decimal feet have two places, halves up, which is finer than a frame.
    """
    if not gauge.whole_feet:
        return decimal_text(frames / gauge.frames_per_foot, 2)
    whole = half_up(frames)
    above, below = gauge.frames_per_foot.as_integer_ratio()
    feet = whole * below // above
    return f"{feet}+{whole - gauge.first_frame(feet):02}"


def _skipped_a_minute(rate: FrameRate) -> int:
    """Labels that drop-frame timecode skips in a minute: 2 at 30000/1001, 4 at 60000/1001."""
    return rate.nominal // 15


def _no_drop(value: str, rate: FrameRate) -> ProblemsFound:
    what = f"drop-frame timecode exists only at 30000/1001 and 60000/1001, not at {rate.text}"
    return _problem(what, "Use non-drop timecode, with a colon before the frames.", value)


def timecode(frame: int, rate: FrameRate, drop: bool = False) -> str:
    """Return the label of a frame, counted from 0 (SMPTE ST 12-1): "00:00:43:17", "00:01:00;02".

    Drop-frame labels have a semicolon before the frames and skip ;00 and ;01 (at 60000/1001 ;00 to
    ;03) in every minute that is not a multiple of ten. Hours go on past 23: a total never wraps.
    """
    if frame < 0:
        raise ValueError(f"a timecode counts from frame 0, not {frame}")
    nominal, number = rate.nominal, frame
    if drop:
        if not rate.drops:
            raise _no_drop("drop", rate)
        skipped = _skipped_a_minute(rate)
        tens, over = divmod(frame, 600 * nominal - 9 * skipped)
        number += tens * 9 * skipped
        if over >= 60 * nominal:  # the first of ten minutes is whole, the other nine are short
            number += skipped * (1 + (over - 60 * nominal) // (60 * nominal - skipped))
    whole_seconds, frames_part = divmod(number, nominal)
    minutes, seconds_part = divmod(whole_seconds, 60)
    separator = ";" if drop else ":"
    return f"{minutes // 60:02}:{minutes % 60:02}:{seconds_part:02}{separator}{frames_part:02}"


def frame_of_timecode(label: str, rate: FrameRate, drop: bool | None = None) -> int:
    """Return the frame, counted from 0, that carries this label; the inverse of `timecode`.

    ``drop=None`` goes by the label: a semicolon before the frames means drop-frame.
    ``drop=True`` reads a label with colons as drop-frame, as edit lists that declare it at the top
    write it; ``drop=False`` refuses a semicolon. Labels that do not exist are refused.
    """
    match = _LABEL.fullmatch(label.strip())
    if match is None:
        hint = "Write hours, minutes, seconds and frames, two digits each, such as 00:01:00:12."
        raise _problem("is not a timecode", hint, label)
    hours, minutes, whole_seconds, frames_part = (int(match[i]) for i in (1, 2, 3, 5))
    semicolon = match[4] == ";"
    if semicolon and drop is False:
        hint = "Write a colon before the frames, or say that it is drop-frame."
        raise _problem("is drop-frame timecode where non-drop was expected", hint, label)
    drops = semicolon if drop is None else drop
    if drops and not rate.drops:
        raise _no_drop(label, rate)
    parts = {"minutes": minutes, "seconds": whole_seconds, "frames": frames_part}
    for name, part in parts.items():
        limit = rate.nominal if name == "frames" else 60
        if part >= limit:
            raise _problem(f"{name} go from 00 to {limit - 1}", "Correct the timecode.", label)
    whole_minutes = hours * 60 + minutes
    number = (whole_minutes * 60 + whole_seconds) * rate.nominal + frames_part
    if not drops:
        return number
    skipped = _skipped_a_minute(rate)
    if minutes % 10 and whole_seconds == 0 and frames_part < skipped:
        hint = f"The minute begins at {hours:02}:{minutes:02}:00;{skipped:02}."
        raise _problem("does not exist: drop-frame timecode skips it", hint, label)
    return number - skipped * (whole_minutes - whole_minutes // 10)


def day_text(day: date | None) -> str:
    """Write a day for people: ``3 March 2026``; ``undated`` for None."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}" if day is not None else "undated"


def days_between(first: date | None, last: date | None) -> str:
    """Write ``3 March 2026 – 9 March 2026``, one day where both are the same or one is None."""
    if first is None or last is None or first == last:
        return day_text(first or last)
    return f"{day_text(first)} – {day_text(last)}"


def iso_week(day: date) -> str:
    """Return the ISO 8601 week of the day: "2026-W10"; it belongs to the year of its Thursday."""
    year, week, _ = day.isocalendar()
    return f"{year:04}-W{week:02}"


def week_days(week: str) -> tuple[date, ...]:
    """Return the seven dates of an ISO 8601 week such as "2026-W10", Monday first."""
    match = _WEEK.fullmatch(week.strip())
    if match is None:
        raise _problem("is not an ISO week", "Write year and week such as 2026-W10.", week)
    year, number = int(match[1]), int(match[2])
    if not 1 <= year < date.max.year:
        raise _problem("is outside the calendar", "Write a year from 0001 to 9998.", week)
    last = date(year, 12, 28).isocalendar().week  # 28 December is always in the last week
    if not 1 <= number <= last:
        hint = f"Weeks of {year:04} go from {year:04}-W01 to {year:04}-W{last}."
        raise _problem(f"{year:04} has {last} weeks", hint, week)
    return tuple(date.fromisocalendar(year, number, day) for day in range(1, 8))


@dataclass(frozen=True, slots=True)
class Period:
    """From a day to a day, both included; None: no end on that side.

    A period with an end holds dated work alone; one without holds undated work too.
    """

    first: date | None = None
    last: date | None = None

    def holds(self, day: date | None) -> bool:
        """Tell whether work of that day counts."""
        if day is None:
            return self.first is None and self.last is None
        return (self.first or day) <= day <= (self.last or day)

    @property
    def days(self) -> tuple[date, ...] | None:
        """Return its days; None: it has no end on one side."""
        if self.first is None or self.last is None:
            return None
        ordinals = range(self.first.toordinal(), self.last.toordinal() + 1)
        return tuple(map(date.fromordinal, ordinals))


WHOLE_TIME = Period()


def month_of_week(week: str) -> date:
    """Return the first day of the month that an ISO week belongs to: that of its Thursday."""
    return week_days(week)[3].replace(day=1)


def month_text(day: date) -> str:
    """Write the month of a day: ``March 2026``."""
    return f"{MONTHS[day.month - 1]} {day.year}"
