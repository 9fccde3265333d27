"""A review as CSV: the period, its weeks and their shots, the shots, the earlier periods."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from credits.compute.review import Period, Review
from credits.compute.review_figures import Figures
from credits.compute.review_words import decimal_or_nothing, range_ends
from credits.footage.claims import Exact
from credits.footage.footage import MEASURES
from credits.model.facts import Production
from credits.text import guarded
from credits.units.rounding import decimal_text

COLUMNS = (
    "row", "from", "to", "week", "shot",
    *(f"{measure}_frames" for measure in MEASURES), "kept_character_frames", "kept_seconds",
    "minutes", "stage_days", "shoot_days", "block_days", "rehearsal_days", "pace", "poses",
    "reshot_percent", "characters_a_frame", "wait_minutes", "takes",
    "others_pace_low", "others_pace_high", "caution",
)  # fmt: skip
PLACES = 4


def _exact(value: Exact) -> str:
    """A divided figure in decimals: fine enough that a column still adds up to a whole frame."""
    return str(value) if isinstance(value, int) or value.denominator == 1 else _decimals(value)


def _decimals(value: Exact) -> str:
    return decimal_text(value, PLACES)


def _or_empty(value: Exact | None, times: int = 1) -> str:
    return "" if value is None else decimal_or_nothing(value, PLACES, times)


def _figures(figures: Figures, production: Production) -> tuple[str, ...]:
    frames = figures.totals.by_shot
    return (
        *(_exact(frames.of(measure)) for measure in MEASURES),
        _exact(figures.totals.character.kept),
        _decimals(frames.kept / production.rate.per_second),
        str(figures.minutes),
        str(figures.stage_days),
        str(figures.shoot_days),
        str(figures.block_days),
        str(figures.rehearsal_days),
        _or_empty(figures.pace(production.rate)),
        _exact(figures.poses),
        _or_empty(figures.reshot_share, 100),
        _or_empty(figures.characters_a_frame),
        str(figures.wait),
        str(len(figures.takes)),
    )


def _days(period: Period) -> tuple[str, str]:
    return (
        period.first.isoformat() if period.first is not None else "",
        period.last.isoformat() if period.last is not None else "",
    )


def _rows(review: Review, production: Production, caution: str) -> Iterator[tuple[str, ...]]:
    def of(figures: Figures) -> tuple[str, ...]:
        return _figures(figures, production)

    pace = review.ranges.get("pace")
    ends = tuple(map(_decimals, range_ends(pace))) if pace is not None else ("", "")
    yield ("total", *_days(review.period), "", "", *of(review.total), *ends, caution)
    for week in review.weeks:
        pace = week.ranges.get("pace")
        ends = tuple(map(_decimals, range_ends(pace))) if pace is not None else ("", "")
        name = week.week or "undated"
        yield ("week", "", "", name, "", *of(week.figures), *ends, "")
        for shot in week.shots:
            code = guarded(shot.shot or "")
            yield ("week and shot", "", "", name, code, *of(shot.figures), "", "", "")
    for shot in review.shots:
        yield ("shot", "", "", "", guarded(shot.shot or ""), *of(shot.figures), "", "", "")
    for own in review.earlier:
        yield ("earlier", *_days(own.period), "", "", *of(own.figures), "", "", "")


def review_csv(review: Review, production: Production, caution: str) -> bytes:
    """The review as CSV: UTF-8 with a byte-order mark, which spreadsheets need.

    ``row`` says what a row is: total, week, week and shot, shot, earlier. Weeks add up to the
    total, and so do the footage, poses, minutes and waits of the shots. Divided figures have four
    decimals; ``pace`` is in seconds a shoot day. The caution stands in the row of the total.
    """
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    writer.writerows(_rows(review, production, caution))
    return text.getvalue().encode("utf-8-sig", "replace")
