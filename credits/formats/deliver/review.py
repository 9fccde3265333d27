"""A review as CSV, JSON and PDF."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType

from credits.billing.setting.rows import one_line
from credits.footage.footage import MEASURES
from credits.formats.deliver.fonts import SERIF, Needed
from credits.formats.deliver.plain import table_csv, table_of
from credits.formats.deliver.typesetting import Typesetter, typeset
from credits.model.facts import Production
from credits.model.ledger import Ledger
from credits.review.days import DAYS, Figures
from credits.review.expectation import LEVEL, Expectation
from credits.review.review import Review
from credits.review.shown import (
    TITLE,
    UNDATED,
    WEEK_PARTS,
    RangeMark,
    ShownExpectation,
    ShownReview,
    WeekBar,
    range_ends,
)
from credits.review.unit import Range
from credits.units.film_time import WHOLE_TIME, FrameRate, Period
from credits.units.rounding import Exact, decimal_text, exact_sum, half_up
from credits.units.table import Table

TIME = ("minutes", *DAYS)
COLUMNS = (
    "row", "from", "to", "week", "shot", "month", "sequence",
    *(f"{measure}_frames" for measure in MEASURES), "kept_character_frames", "kept_seconds",
    *TIME, "pace", "poses", "reshot_percent", "characters_a_frame", "wait_minutes", "takes",
    "others_pace_low", "others_pace_high", "caution",
)  # fmt: skip
PLACES = 4


def _decimals(value: Exact | None, times: int = 1) -> str:
    return "" if value is None else decimal_text(Fraction(value) * times, PLACES)


def _exact(value: Exact) -> str:
    """A divided figure in decimals: fine enough that a column still adds up to a whole frame."""
    return str(value) if value.denominator == 1 else _decimals(value)


def _figures(figures: Figures, rate: FrameRate) -> tuple[str, ...]:
    frames = figures.totals.by_shot
    return (
        *(_exact(frames.of(measure)) for measure in MEASURES),
        _exact(figures.totals.character.kept),
        _decimals(frames.kept / rate.per_second),
        *(str(getattr(figures, name)) for name in TIME),
        _decimals(figures.pace(rate)),
        _exact(figures.poses),
        _decimals(figures.reshot_share, 100),
        _decimals(figures.characters_a_frame),
        str(figures.wait),
        str(len(figures.takes)),
    )


def _day(day: date | None) -> str | None:
    return day.isoformat() if day is not None else None


def _rows(review: Review, rate: FrameRate, caution: str) -> Iterator[tuple[object, ...]]:
    def row(
        kind: str,
        figures: Figures,
        *,
        period: Period = WHOLE_TIME,
        week: str = "",
        shot: str | None = None,
        month: str = "",
        sequence: str = "",
        ranges: Mapping[str, Range] = MappingProxyType({}),
        caution: str = "",
    ) -> tuple[object, ...]:
        days = _day(period.first), _day(period.last)
        pace = ranges.get("pace")
        ends = map(_decimals, range_ends(pace)) if pace is not None else ("", "")
        of = (*days, week, shot, month, sequence)
        return kind, *of, *_figures(figures, rate), *ends, caution

    yield row("total", review.total, period=review.period, ranges=review.ranges, caution=caution)
    for own in review.weeks:
        week = own.week or UNDATED
        yield row("week", own.figures, week=week, ranges=own.ranges)
        for shot, figures in own.shots.items():
            yield row("week and shot", figures, week=week, shot=shot)
    for shot, figures in review.shots.items():
        yield row("shot", figures, shot=shot)
    for each in review.months:
        month = each.month.isoformat()[:7]
        yield row("month", each.figures, month=month, ranges=each.ranges)
    for part in review.sequences:
        yield row("sequence", part.figures, sequence=part.sequence, ranges=part.ranges)
    for period, figures in review.earlier.items():
        yield row("earlier", figures, period=period)


def review_csv(review: Review, production: Production, caution: str) -> bytes:
    """Return the review as CSV.

    ``row`` says what a row is: total, week, week and shot, shot, month, sequence, earlier. Weeks
    add up to the total, and so do the footage, poses, minutes and waits of the shots. Divided
    figures have four decimals; ``pace`` is in seconds a shoot day. The caution stands in the row of
    the total.
    """
    return table_csv(table_of("Review", COLUMNS, _rows(review, production.rate, caution)))


def _rounded(value: Exact, places: int = 2) -> float:
    return float(decimal_text(value, places))


def figures_json(figures: Figures, ledger: Ledger) -> dict[str, object]:
    """Return the figures of a row as data: exactly as texts, and rounded as numbers."""
    rate = ledger.production.rate
    character, by_shot = figures.totals.character, figures.totals.by_shot
    places = {shot: place for place, shot in enumerate(ledger.shots)}
    takes = sorted(figures.takes, key=lambda own: (places[own[0]], own[1]))
    divided: dict[str, object] = {}
    for name, value, decimals in (
        ("pace", figures.pace(rate), 2),
        ("poses", figures.poses, 2),
        ("reshot_share", figures.reshot_share, 4),
        ("characters_a_frame", figures.characters_a_frame, 2),
    ):
        divided[name] = None if value is None else str(value)
        divided[f"{name}_rounded"] = None if value is None else _rounded(value, decimals)
    return {
        "character_frames": {m: str(character.of(m)) for m in MEASURES},
        "shot_frames": {m: str(by_shot.of(m)) for m in MEASURES},
        "seconds": {m: _rounded(by_shot.of(m) / rate.per_second) for m in MEASURES},
        **{name: getattr(figures, name) for name in TIME},
        **divided,
        "wait_minutes": figures.wait,
        "takes": [{"shot": shot, "take": take} for shot, take in takes],
    }


def _ranges(ranges: Mapping[str, Range]) -> dict[str, object]:
    """The others' ranges, each end rounded outward, and how many others have the figure."""
    ends = {name: map(float, range_ends(own)) for name, own in ranges.items()}
    return {
        name: {"low": low, "high": high, "others": ranges[name].others}
        for name, (low, high) in ends.items()
    }


def _period_json(period: Period) -> dict[str, object]:
    return {"from": _day(period.first), "to": _day(period.last)}


def _expectation(found: Expectation | None) -> dict[str, object] | None:
    if found is None:
        return None
    if found.lacks:
        lacks = [{"of": of, "has": int(has), "needs": needs} for of, has, needs in found.lacks]
        return {"model": True, "outcome": "too-few", "lacks": lacks}

    def rounded(value: Exact | None) -> float | None:
        return None if value is None else _rounded(value, PLACES)

    return {
        "model": True,
        "outcome": "given",
        "level": LEVEL,
        **{name: round(getattr(found, name), 4) for name in ("pace", "low", "high", "own_pace")},
        **{name: float(getattr(found, name)) for name in ("own_days", "days")},
        "pieces": found.pieces,
        "others": found.others,
        "mix": [
            {"of": of, "own": rounded(own), "others": rounded(others)}
            for of, own, others in found.mix
        ],
    }


def review_json(
    review: Review, ledger: Ledger, expectation: Expectation | None, caution: str
) -> dict[str, object]:
    """Return the review of one person, and nobody else's figures, ready to be written as JSON."""

    def shots(by_shot: Mapping[str | None, Figures]) -> list[dict[str, object]]:
        return [{"shot": shot, **figures_json(own, ledger)} for shot, own in by_shot.items()]

    return {
        "person": review.person,
        "name": ledger.people[review.person].credit_name,
        **_period_json(review.period),
        "cut": ledger.cut.version if ledger.cut is not None else None,
        **figures_json(review.total, ledger),
        "others": review.others,
        "ranges": _ranges(review.ranges),
        "weeks": [
            {
                "week": row.week,
                **figures_json(row.figures, ledger),
                "ranges": _ranges(row.ranges),
                "shots": shots(row.shots),
            }
            for row in review.weeks
        ],
        "shots": shots(review.shots),
        "waits": [
            {
                "entry": str(wait.entry),
                "date": _day(wait.day),
                **{name: getattr(wait, name) for name in ("shot", "puppet", "part", "minutes")},
            }
            for wait in review.waits
        ],
        "months": [
            {
                "month": row.month.isoformat()[:7],
                "weeks": list(row.weeks),
                **figures_json(row.figures, ledger),
                "ranges": _ranges(row.ranges),
            }
            for row in review.months
        ],
        "sequences": [
            {
                "sequence": row.sequence,
                **figures_json(row.figures, ledger),
                "ranges": _ranges(row.ranges),
            }
            for row in review.sequences
        ],
        "characters": [
            {
                "character": code,
                "character_frames": {m: str(own.totals.character.of(m)) for m in MEASURES},
                "shot_frames": {m: str(own.totals.by_shot.of(m)) for m in MEASURES},
            }
            for code, own in review.characters.items()
        ],
        "retakes": [
            {
                "shot": shot,
                "takes": own.takes,
                "marked_retake": own.retakes,
                "shot_frames": str(own.shot),
                "shot_again_frames": str(own.again),
                "kept_in_retakes_frames": str(own.of_retakes),
            }
            for shot, own in review.again.items()
        ],
        "earlier": [
            {**_period_json(period), **figures_json(own, ledger)}
            for period, own in review.earlier.items()
        ],
        "expectation": _expectation(expectation),
        "caution": caution,
    }


_OWN_LETTERS = "0123456789 ,.%×–/·+ Review"
MOST_WEEKS_NAMED = 6
TEMPLATE = "review.typ"
# Letters of tables in points, and the room above and below a row in millimetres; the usual first.
SIZES: tuple[Mapping[str, float], ...] = tuple(
    {"letters": letters, "room": room}
    for letters, room in ((8, 1), (7.5, 0.8), (8.5, 1.2), (7, 0.7), (8.5, 1.6), (8.5, 2))
)
FILLED = 85.0
"""Millimetres from the upper edge of the page: a last page that ends higher is nearly empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewSheet:
    """A review ready to be set.

    data: how far the log goes. shown: its waits with the puppets' names.
    """

    film: str
    name: str
    period: str
    data: str
    caution: str
    shown: ShownReview
    expectation: ShownExpectation | None

    @property
    def texts(self) -> Iterator[Needed]:
        """Return every text that is set, with whose it is."""
        for text in (self.caution, self.shown.others, self.data, self.period, _OWN_LETTERS):
            yield Needed(text, "the page itself")
        yield Needed(one_line(self.film), "the title")
        yield Needed(one_line(self.name), f"the name {one_line(self.name)}")
        for part in self.shown.tables:
            first = part.table.columns[0].key
            if first in ("shot", "sequence", "character"):
                for named in part.table.column(first):
                    yield Needed(named, f"the {first} {named}")
        for wait in self.shown.waits.rows:
            yield Needed(" ".join(map(_words, wait)), "a wait for a repair")


def _words(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value or "")


def _table(table: Table, note: str = "") -> dict[str, object]:
    """A table for the typesetter. words: which columns hold words; total: the last row is one."""
    done = table.printed()
    return {
        "caption": done.caption,
        "heads": [column.heading[:1].upper() + column.heading[1:] for column in done.columns],
        "rows": [
            [typeset(_words(cell.text)) for cell in row] for row in (*done.rows, done.total) if row
        ],
        "words": [not column.is_number for column in done.columns],
        "total": bool(done.total),
        "note": note,
    }


def _mark(mark: RangeMark | None) -> dict[str, float | None] | None:
    """The place of a figure beside the others' range, in parts of the scale."""
    if mark is None:
        return None
    own = None if mark.own is None else mark.own / 1000
    return {"low": mark.low / 1000, "wide": mark.wide / 1000, "own": own}


def _bars(weeks: Sequence[WeekBar]) -> dict[str, object] | None:
    """The picture of the weeks: parts of the tallest bar; None where nothing was shot."""
    most = max((exact_sum(week.parts) for week in weeks), default=0)
    if not most:
        return None
    return {
        "caption": "Week by week",
        "most": f"{half_up(most):,} frames",
        "step": -(-len(weeks) // MOST_WEEKS_NAMED),
        "names": WEEK_PARTS,
        "weeks": [
            {"week": week.week, "parts": [float(part / most) for part in week.parts]}
            for week in weeks
        ],
    }


def review_pdf(sheet: ReviewSheet, folders: Sequence[Path]) -> bytes:
    """Return the review as PDF: same sheet and fonts, same bytes.

    folders: where fonts are. Raises LettersMissingError for letters that none of them has.
    """
    shown, expectation = sheet.shown, sheet.expectation
    mix = expectation.mix if expectation is not None else None
    tables = [_table(part.table, part.note) for part in shown.tables]
    if shown.waits:
        tables.append(_table(shown.waits))
    if mix is not None:
        tables.append(_table(mix))
    data: dict[str, object] = {
        "document": f"{one_line(sheet.film)}: review of {one_line(sheet.name)}",
        "film": typeset(sheet.film),
        "name": typeset(sheet.name),
        "period": f"{sheet.period}. {shown.takes}.",
        "data": sheet.data,
        "caution": sheet.caution,
        "others": shown.others,
        "figures": _table(shown.figure_table),
        "model": {
            "title": TITLE,
            "said": list(expectation.said) if expectation is not None else [],
        },
        "marks": [_mark(figure.mark) for figure in shown.figures],
        "bars": _bars(shown.weeks),
        "tables": tables,
    }
    setter = Typesetter.for_texts(folders, sheet.texts, SERIF)
    return setter.pdf(TEMPLATE, {**data, **_filled(setter, data)})


def _filled(setter: Typesetter, data: Mapping[str, object]) -> Mapping[str, float]:
    """Choose how large the letters of tables are, so that the last page is not nearly empty.

    Where no size fills it, the one that fills it best.
    """
    best, most_filled = SIZES[0], 0.0
    for size in SIZES:
        page, down = setter.end(TEMPLATE, {**data, **size})
        if page == 1 or down >= FILLED:
            return size
        if down > most_filled:
            best, most_filled = size, down
    return best
