"""A review as it is shown: printed figures and tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from credits.footage.claims import Exact
from credits.footage.footage import MEASURE_WORDS, MEASURES
from credits.footage.table import shown_measures
from credits.model.facts import Decision, Production
from credits.model.ledger import Ledger
from credits.review.days import Figures
from credits.review.expectation import INSTALL, Expectation, ExpectationOutcome, Regressor
from credits.review.review import Review
from credits.review.unit import Range
from credits.units.film_time import FrameRate
from credits.units.rounding import decimal_text, largest_remainder

NOTHING = "–"


def decimal_or_nothing(value: Exact | None, places: int, times: int = 1) -> str:
    """The figure in decimals; a dash where there is none."""
    return NOTHING if value is None else decimal_text(Fraction(value) * times, places)


def _outward(value: Exact, up: bool) -> Fraction:
    """The figure rounded up or down to two digits of which the second is 0 or 5."""
    unit = Fraction(1)
    while value and value < 10 * unit:
        unit /= 10
    while value >= 100 * unit:
        unit *= 10
    steps = Fraction(value) / (5 * unit)
    return (-(-steps // 1) if up else steps // 1) * 5 * unit


def _plain(value: Fraction) -> str:
    """A decimal without zeros at its end: ``1,200``, ``1.9``, ``0.046``."""
    places = 0
    while (value * 10**places).denominator != 1:
        places += 1
    whole, point, part = decimal_text(value, places).partition(".")
    return f"{int(whole):,}{point}{part}"


def range_ends(found: Range, times: int = 1) -> tuple[Fraction, Fraction]:
    """The ends of a range as they may be shown: rounded outward."""
    return _outward(found.low * times, False), _outward(found.high * times, True)


def range_text(found: Range | None, times: int = 1) -> str:
    """``1.5 to 3.5``; a dash where no range is shown."""
    if found is None:
        return NOTHING
    return " to ".join(map(_plain, range_ends(found, times)))


def takes_text(figures: Figures, ledger: Ledger) -> str:
    """``12 takes of 9 shots: 8 accepted, 3 open, 1 retake``."""
    decisions = [ledger.take(shot, take).decision for shot, take in figures.takes]
    parts = [f"{decisions.count(d)} {d}" for d in Decision if d in decisions]
    takes, shots = len(decisions), len(figures.shots)
    said = f"{takes:,} take{'s' * (takes != 1)} of {shots:,} shot{'s' * (shots != 1)}"
    return f"{said}: {', '.join(parts)}" if parts else said


def percent(share: Fraction | None) -> str:
    """``4.3 %``; a dash where there is none."""
    return NOTHING if share is None else f"{decimal_or_nothing(share, 1, 100)} %"


DAY_HEADS = (
    "stage days", "shoot", "block", "rehearsal", "pace, s a shoot day", "poses", "re-shot",
    "characters a frame", "wait, min", "takes",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShownFigure:
    """A figure of the whole period, and the others' range in the same weeks.

    ``detail``: the same in other dress, seconds and feet; empty where there is none.
    """

    name: str
    value: str
    unit: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row: a week, a shot or a period (None: undated, or no one shot), figures, the shots."""

    key: str | None
    cells: tuple[str, ...]
    shots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShownTable:
    """Rows under heads; the total where the rows have one."""

    heads: tuple[str, ...]
    rows: tuple[ShownRow, ...]
    total: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShownReview:
    """The review in ready texts. Tables of footage (in frames) and of days, by week and shot."""

    figures: tuple[ShownFigure, ...]
    takes: str
    footage_by_week: ShownTable
    days_by_week: ShownTable
    footage_by_shot: ShownTable
    days_by_shot: ShownTable
    earlier: ShownTable


def _day_cells(figures: Figures, poses: int, rate: FrameRate) -> tuple[str, ...]:
    return (
        f"{figures.stage_days:,}",
        f"{figures.shoot_days:,}",
        f"{figures.block_days:,}",
        f"{figures.rehearsal_days:,}",
        decimal_or_nothing(figures.pace(rate), 2),
        f"{poses:,}",
        percent(figures.reshot_share),
        decimal_or_nothing(figures.characters_a_frame, 2),
        f"{figures.wait:,}",
        f"{len(figures.takes):,}",
    )


@dataclass(frozen=True, slots=True)
class _Printed:
    """The columns of some figures that stand under each other, and their total."""

    footage: tuple[tuple[str, ...], ...]
    footage_total: tuple[str, ...]
    days: tuple[tuple[str, ...], ...]
    days_total: tuple[str, ...]


def _printed(
    parts: Sequence[Figures], total: Figures, has_cut: bool, production: Production
) -> _Printed:
    by_shot, by_shot_total = shown_measures([p.totals.by_shot for p in parts], production)
    character, character_total = shown_measures([p.totals.character for p in parts], production)
    measures = len(MEASURES) if has_cut else 3

    def cells(place: int) -> tuple[str, ...]:
        shown = by_shot[place] if place >= 0 else by_shot_total
        own = character[place] if place >= 0 else character_total
        frames = tuple(f"{figure:,}" for figure in shown.frames[:measures])
        kept = shown.at("kept")
        return (*frames, kept[1], kept[2], f"{own.at('kept')[0]:,}")

    poses = largest_remainder([part.poses for part in parts])
    rate = production.rate
    return _Printed(
        tuple(cells(place) for place in range(len(parts))),
        cells(-1),
        tuple(_day_cells(part, poses[place], rate) for place, part in enumerate(parts)),
        _day_cells(total, sum(poses), rate),
    )


def footage_heads(has_cut: bool) -> tuple[str, ...]:
    """The heads of a table of footage: frames by measure, then kept in other dress."""
    words = tuple(MEASURE_WORDS.values())
    return (*(words if has_cut else words[:3]), "kept, s", "kept, feet", "kept by character")


def _tables(
    keys: Sequence[str | None],
    shots: Sequence[tuple[str, ...]],
    printed: _Printed,
    has_cut: bool,
) -> tuple[ShownTable, ShownTable]:
    """The table of footage and the table of days of the same rows."""

    def rows(cells: Sequence[tuple[str, ...]]) -> tuple[ShownRow, ...]:
        return tuple(ShownRow(*row) for row in zip(keys, cells, shots, strict=True))

    return (
        ShownTable(footage_heads(has_cut), rows(printed.footage), printed.footage_total),
        ShownTable(DAY_HEADS, rows(printed.days), printed.days_total),
    )


def _with_ranges(table: ShownTable, head: str, name: str, review: Review) -> ShownTable:
    """The table with the others' range of one figure as its last column."""
    rows = tuple(
        replace(row, cells=(*row.cells, range_text(week.ranges.get(name))))
        for row, week in zip(table.rows, review.weeks, strict=True)
    )
    total = (*table.total, range_text(review.ranges.get(name)))
    return ShownTable((*table.heads, head), rows, total)


def _by_week(
    review: Review, has_cut: bool, production: Production
) -> tuple[ShownTable, ShownTable]:
    printed = _printed([row.figures for row in review.weeks], review.total, has_cut, production)
    shots = [tuple(own.shot for own in row.shots if own.shot is not None) for row in review.weeks]
    footage, days = _tables([row.week for row in review.weeks], shots, printed, has_cut)
    return (
        _with_ranges(footage, "others: kept", "kept", review),
        _with_ranges(days, "others: pace", "pace", review),
    )


def _by_shot(
    review: Review, has_cut: bool, production: Production
) -> tuple[ShownTable, ShownTable]:
    printed = _printed([row.figures for row in review.shots], review.total, has_cut, production)
    keys = [row.shot for row in review.shots]
    return _tables(keys, [()] * len(keys), printed, has_cut)


def _figures(review: Review, has_cut: bool, production: Production) -> tuple[ShownFigure, ...]:
    total, ranges = review.total, review.ranges
    shown = shown_measures([total.totals.by_shot], production)[1]
    character = shown_measures([total.totals.character], production)[1]

    def figure(name: str, key: str, value: str, times: int = 1) -> ShownFigure:
        return ShownFigure(name, value, range_text(ranges.get(key), times))

    found = []
    for measure in MEASURES if has_cut else MEASURES[:3]:
        frames, seconds, feet = shown.at(measure)
        own = figure(f"frames {MEASURE_WORDS[measure]}", measure, f"{frames:,}")
        found.append(replace(own, detail=f"{seconds} s, {feet} ft"))
    rows: tuple[tuple[str, str, str, int], ...] = (
        ("character frames kept", "character_kept", f"{character.at('kept')[0]:,}", 1),
        ("stage days", "stage_days", f"{total.stage_days:,}", 1),
        ("of them shoot", "shoot_days", f"{total.shoot_days:,}", 1),
        ("of them block", "block_days", f"{total.block_days:,}", 1),
        ("of them rehearsal", "rehearsal_days", f"{total.rehearsal_days:,}", 1),
        ("pace, seconds a shoot day", "pace",
         decimal_or_nothing(total.pace(production.rate), 2), 1),
        ("poses", "poses", f"{largest_remainder([total.poses])[0]:,}", 1),
        ("re-shot share, %", "reshot_share",
         decimal_or_nothing(total.reshot_share, 1, 100), 100),
        ("characters a frame", "characters_a_frame",
         decimal_or_nothing(total.characters_a_frame, 2), 1),
        ("wait for repairs, minutes", "wait", f"{total.wait:,}", 1),
        ("takes", "takes", f"{len(total.takes):,}", 1),
        ("minutes logged at the animation", "minutes", f"{total.minutes:,}", 1),
    )  # fmt: skip
    return (*found, *(figure(name, key, value, times) for name, key, value, times in rows))


EARLIER_HEADS = (
    "kept", "kept, s", "kept by character", "stage days", "pace, s a shoot day", "poses",
    "re-shot", "characters a frame", "wait, min", "takes",
)  # fmt: skip


def _earlier(review: Review, production: Production) -> ShownTable:
    """The earlier periods; each stands alone, so there is nothing to add up."""
    rows = []
    for own in review.earlier:
        printed = _printed([own.figures], own.figures, True, production)
        footage, days = printed.footage_total, printed.days_total
        cells = (footage[1], footage[5], footage[7], days[0], *days[4:])
        rows.append(ShownRow(f"{own.period.first} to {own.period.last}", cells))
    return ShownTable(EARLIER_HEADS, tuple(rows))


def shown_review(review: Review, ledger: Ledger) -> ShownReview:
    """The review in ready texts."""
    has_cut, production = ledger.cut is not None, ledger.production
    return ShownReview(
        _figures(review, has_cut, production),
        takes_text(review.total, ledger),
        *_by_week(review, has_cut, production),
        *_by_shot(review, has_cut, production),
        _earlier(review, production),
    )


TITLE = "A model: what pace would be usual for these shots"
STEPS = {
    Regressor.CHARACTERS: "one more character in the frame",
    Regressor.HOLD: "each pose held for one frame more",
    Regressor.WAIT: "one more hour of waiting for repairs a day",
    Regressor.LENGTH: "a shot twice as long",
    Regressor.RETAKES: "one more take of the shot that was asked for again",
}
NAMES = {
    Regressor.CHARACTERS: "characters in the frame",
    Regressor.HOLD: "frames that a pose is held",
    Regressor.WAIT: "waits for repairs",
    Regressor.LENGTH: "length of the shot",
    Regressor.RETAKES: "takes asked for again",
}


@dataclass(frozen=True, slots=True)
class ShownExpectation:
    """The model in ready texts. ``effects``: what changes, the factor of the pace, its interval.

    Without an expectation ``said`` says why, and there are no effects.
    """

    said: tuple[str, ...]
    effects: tuple[tuple[str, str, str], ...] = ()


def _names(regressors: tuple[Regressor, ...]) -> str:
    return ", ".join(NAMES[regressor] for regressor in regressors)


def _too_few(found: Expectation) -> str:
    return (
        f"Not enough days to say: {found.own_days:.0f} shoot days of this person in the period,"
        f" and {found.days:.0f} of the others in the log. A model needs more of both, and at least"
        " three others."
    )


def shown_expectation(found: Expectation) -> ShownExpectation | None:
    """The expectation in ready texts; None where it is switched off."""
    if found.outcome is ExpectationOutcome.OFF:
        return None
    if found.outcome is ExpectationOutcome.NOT_INSTALLED:
        return ShownExpectation((f"The statistics library is not installed. {INSTALL}",))
    if found.outcome is ExpectationOutcome.TOO_FEW:
        return ShownExpectation((_too_few(found),))
    said = [
        f"For these shots {found.pace:.2f} seconds a shoot day would be usual: in nine of ten cases"
        f" somebody's pace lies between {found.low:.2f} and {found.high:.2f}. Over the same"
        f" {found.own_days:.0f} days it was {found.own_pace:.2f}.",
        f"Estimated from the work of {found.others} others on {found.days:.0f} shoot days,"
        f" {found.pieces} pieces of work (one person on one shot); this person's own work is left"
        f" out, and who animated is no part of it. It explains {100 * found.explained:.0f} % of how"
        " those pieces differ; the rest is what the log does not say.",
    ]
    if found.unused:
        said.append(f"Not used, since it does not vary by itself here: {_names(found.unused)}.")
    if found.beyond:
        said.append(
            "This work goes beyond that of the others in one thing or more, so the model is less"
            f" sure than its interval says: {_names(found.beyond)}."
        )
    effects = tuple(
        (STEPS[each.regressor], f"× {each.factor:.2f}", f"{each.low:.2f} to {each.high:.2f}")
        for each in found.effects
    )
    return ShownExpectation(tuple(said), effects)
