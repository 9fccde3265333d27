"""A review as it is shown: figures, tables, and what the model says.

The page, the pack, the PDF and the terminal show the same. Everything is for the office alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from credits.editions import Edition, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES
from credits.model.facts import Decision, Production
from credits.model.ledger import Ledger
from credits.review.days import Figures
from credits.review.expectation import Expectation, ExpectationOutcome, Regressor
from credits.review.review import Period, Review
from credits.review.unit import LEAST_OTHERS, Range
from credits.units.film_time import day_text
from credits.units.rounding import Exact, decimal_text, plain_decimal
from credits.units.table import NOTHING, Column, PrintedCell, Scale, Table, Unit, printed

OTHERS = (
    "Beside each figure: the lowest and the highest of the others who animated in the same weeks,"
    " without names, each end rounded outward. A range of fewer than three others is not shown."
)
TOO_FEW_OTHERS = (
    "No range of the others is shown: fewer than three others animated in the same weeks, and a"
    " range could be one person's."
)
DAYS_BY_SHOT = "A day on which several shots were worked stands with each of them."
FOUR_WEEKS = "Four weeks at a time, the last first."
BEFORE = "As long as this period, each before the other, the last first."
# The figures that stand first, by the name under which they are compared.
FIRST = ("kept", "pace", "stage_days", "reshot_share", "characters_a_frame", "wait")


def decimal_or_nothing(value: Exact | None, places: int, times: int = 1) -> str:
    """Write a figure in decimals; a dash where there is none."""
    return NOTHING if value is None else decimal_text(Fraction(value) * times, places)


def _outward(value: Exact, up: bool) -> Fraction:
    """Round a figure up or down to two digits of which the second is 0 or 5."""
    unit = Fraction(1)
    while value and value < 10 * unit:
        unit /= 10
    while value >= 100 * unit:
        unit *= 10
    steps = Fraction(value) / (5 * unit)
    return (-(-steps // 1) if up else steps // 1) * 5 * unit


def range_ends(found: Range, times: int = 1) -> tuple[Fraction, Fraction]:
    """Round the ends of a range outward, as they may be shown."""
    return _outward(found.low * times, False), _outward(found.high * times, True)


def range_text(found: Range | None, times: int = 1) -> str:
    """Write a range: ``1.5 to 3.5``; a dash where none is shown."""
    if found is None:
        return NOTHING
    return " to ".join(plain_decimal(end, grouped=True) for end in range_ends(found, times))


def others_text(review: Review) -> str:
    """Say what the ranges of the others are, or why there are none."""
    return OTHERS if review.others >= LEAST_OTHERS else TOO_FEW_OTHERS


def period_text(period: Period) -> str:
    """Write a period: ``From 1 March 2026 to 31 March 2026``."""
    if period.first is None and period.last is None:
        return "The whole production, undated work too"
    first = f"from {day_text(period.first)}" if period.first is not None else ""
    last = f"to {day_text(period.last)}" if period.last is not None else ""
    text = f"{first} {last}".strip()
    return text[:1].upper() + text[1:]


def takes_text(figures: Figures, ledger: Ledger) -> str:
    """Write the takes: ``12 takes of 9 shots: 8 accepted, 3 open, 1 retake``."""
    decisions = [ledger.take(shot, take).decision for shot, take in figures.takes]
    parts = [f"{decisions.count(d)} {d}" for d in Decision if d in decisions]
    takes, shots = len(decisions), len(figures.shots)
    said = f"{takes:,} take{'s' * (takes != 1)} of {shots:,} shot{'s' * (shots != 1)}"
    return f"{said}: {', '.join(parts)}" if parts else said


def percent(share: Fraction | None) -> str:
    """Write a share: ``4.3 %``; a dash where there is none."""
    return NOTHING if share is None else f"{decimal_or_nothing(share, 1, 100)} %"


# A column of a table, and the value of some figures that stands in it.
_Shown = tuple[Column, Callable[[Figures], Exact | None]]


def _office(key: str, heading: str, unit: Unit, places: int = 0, adds_up: bool = False) -> Column:
    return Column(
        key=key, heading=heading, unit=unit, edition=Edition.OFFICE, places=places, adds_up=adds_up
    )


def _by_measure(measure: str) -> Callable[[Figures], Exact]:
    return lambda figures: figures.totals.by_shot.of(measure)


def _footage_columns(measures: Sequence[str]) -> list[_Shown]:
    """Frames by measure, then what was kept in other units."""
    kept = _by_measure("kept")
    own: list[_Shown] = [
        (_office(f"{m}_frames", MEASURE_WORDS[m], Unit.FRAMES, 0, True), _by_measure(m))
        for m in measures
    ]
    return [
        *own,
        (_office("kept_seconds", "kept, s", Unit.SECONDS, 2, True), kept),
        (_office("kept_feet", "kept, feet", Unit.FEET, 0, True), kept),
        (
            _office("character_kept", "kept by character", Unit.FRAMES, 0, True),
            lambda figures: figures.totals.character.kept,
        ),
    ]


def _day_columns(production: Production) -> list[_Shown]:
    """Days, pace, poses, what was re-shot, waits and takes."""
    return [
        (_office("stage_days", "stage days", Unit.NUMBER), lambda f: f.stage_days),
        (_office("shoot_days", "shoot", Unit.NUMBER), lambda f: f.shoot_days),
        (_office("block_days", "block", Unit.NUMBER), lambda f: f.block_days),
        (_office("rehearsal_days", "rehearsal", Unit.NUMBER), lambda f: f.rehearsal_days),
        (
            _office("pace", "pace, s a shoot day", Unit.DECIMAL, 2),
            lambda f: f.pace(production.rate),
        ),
        (_office("poses", "poses", Unit.NUMBER, 0, True), lambda f: f.poses),
        (_office("reshot_share", "re-shot", Unit.PERCENT, 1), lambda f: f.reshot_share),
        (
            _office("characters_a_frame", "characters a frame", Unit.DECIMAL, 2),
            lambda f: f.characters_a_frame,
        ),
        (_office("wait", "wait, min", Unit.NUMBER, 0, True), lambda f: f.wait),
        (_office("takes", "takes", Unit.NUMBER), lambda f: len(f.takes)),
    ]


def _table(
    caption: str,
    first: Column,
    rows: Sequence[tuple[object, Figures]],
    shown: Sequence[_Shown],
    production: Production,
    total: Figures | None,
    last: tuple[tuple[Column, Sequence[object]], ...] = (),
) -> Table:
    """Make a table of the same figures of several weeks, shots or periods.

    first: the column of what each row is. last: columns of other values behind the figures.
    """
    return Table(
        caption=caption,
        columns=(first, *(column for column, _ in shown), *(column for column, _ in last)),
        rows=tuple(
            (key, *(of(figures) for _, of in shown), *(values[at] for _, values in last))
            for at, (key, figures) in enumerate(rows)
        ),
        scale=Scale(production.rate, production.gauge),
        label="total" if total is not None else "",
        totals={c.key: of(total) for c, of in shown if not c.adds_up} if total else {},
    )


def _figure_columns(production: Production, measures: Sequence[str]) -> list[_Shown]:
    """Every figure that is compared with the others, under the name of its range."""
    kept = next(s for s in _footage_columns(MEASURES) if s[0].key == "character_kept")
    days = {column.key: (column, of) for column, of in _day_columns(production)}
    named = {
        "stage_days": "stage days",
        "shoot_days": "of them shoot",
        "block_days": "of them block",
        "rehearsal_days": "of them rehearsal",
        "pace": "pace, seconds a shoot day",
        "poses": "poses",
        "reshot_share": "re-shot share, %",
        "characters_a_frame": "characters a frame",
        "wait": "wait for repairs, minutes",
        "takes": "takes",
    }
    return [
        *(
            (_office(m, f"frames {MEASURE_WORDS[m]}", Unit.FRAMES), _by_measure(m))
            for m in measures
        ),
        (_office("character_kept", "character frames kept", Unit.FRAMES), kept[1]),
        *((_renamed(days[key][0], name), days[key][1]) for key, name in named.items()),
        (_office("minutes", "minutes logged at the animation", Unit.NUMBER), lambda f: f.minutes),
    ]


def _renamed(column: Column, heading: str) -> Column:
    return _office(column.key, heading, column.unit, column.places)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewFigure:
    """A figure of the whole period.

    detail: the same in seconds and feet; empty where there is none. others: the range of the
    others in the same weeks.
    """

    key: Office[str] = ""
    name: Office[str] = ""
    value: Office[str] = ""
    detail: Office[str] = ""
    others: Office[str] = ""


def _figures(
    review: Review, production: Production, measures: Sequence[str]
) -> tuple[ReviewFigure, ...]:
    scale = Scale(production.rate, production.gauge)
    found = []
    for column, of in _figure_columns(production, measures):
        value = of(review.total)
        share = column.unit is Unit.PERCENT
        text = printed(value, column, scale).text
        detail = ""
        if column.key in measures:
            seconds = printed(value, _office("", "", Unit.SECONDS, 2), scale).text
            detail = f"{seconds} s, {printed(value, _office('', '', Unit.FEET), scale).text} ft"
        found.append(
            ReviewFigure(
                key=column.key,
                name=column.heading,
                value=text.removesuffix(" %") if share else text,
                detail=detail,
                others=range_text(review.ranges.get(column.key), 100 if share else 1),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownReview:
    """A review ready to be shown. Tables of footage and of days, by week and by shot."""

    figures: tuple[ReviewFigure, ...]
    takes: str
    others: str
    footage_by_week: Table
    days_by_week: Table
    footage_by_shot: Table
    days_by_shot: Table
    earlier: Table
    earlier_note: str
    waits: Table

    @property
    def tables(self) -> tuple[tuple[str, Table, str], ...]:
        """The tables that hold something, each under its heading ("": the same) and its note."""
        every = (
            ("By week", self.footage_by_week, ""),
            ("", self.days_by_week, ""),
            ("By shot", self.footage_by_shot, ""),
            ("", self.days_by_shot, DAYS_BY_SHOT),
            ("Earlier", self.earlier, self.earlier_note),
        )
        return tuple(each for each in every if each[1])


def _ranges(review: Review, name: str, heading: str) -> tuple[Column, Sequence[object]]:
    """The others' range of one figure, week by week, as a column."""
    column = _office(f"others_{name}", heading, Unit.DECIMAL)
    texts = (range_text(week.ranges.get(name)) for week in review.weeks)
    return column, [PrintedCell(text, column.unit) for text in texts]


def _waits(review: Review) -> Table:
    """The repairs behind the wait; who repaired is not part of a review."""
    return Table(
        caption="Waits for repairs",
        columns=(
            _office("day", "day", Unit.DAY),
            _office("puppet", "puppet", Unit.CODE),
            _office("part", "part", Unit.CODE),
            _office("shot", "shot", Unit.CODE),
            _office("entry", "entry", Unit.CODE),
            _office("minutes", "minutes", Unit.NUMBER, 0, True),
        ),
        rows=tuple(
            (w.day or "undated", w.puppet, w.part, w.shot or "no one shot", str(w.entry), w.minutes)
            for w in review.waits
        ),
    )


def shown_review(review: Review, ledger: Ledger) -> ShownReview:
    """Return the review as it is shown."""
    production, total = ledger.production, review.total
    measures = MEASURES if ledger.cut is not None else MEASURES[:3]
    footage, days = _footage_columns(measures), _day_columns(production)
    week, shot = _office("week", "week", Unit.CODE), _office("shot", "shot", Unit.CODE)
    weeks = [(row.week or "undated", row.figures) for row in review.weeks]
    shots = [(row.shot or "no one shot", row.figures) for row in review.shots]
    behind: tuple[Column, Sequence[object]] = (
        _office("shots", "shots", Unit.TEXT),
        [tuple(own.shot for own in row.shots if own.shot is not None) for row in review.weeks],
    )
    kept = {"kept_frames", "kept_seconds", "character_kept"}
    before = [s for s in _footage_columns(MEASURES) if s[0].key in kept]
    before += [s for s in days if s[0].key not in ("shoot_days", "block_days", "rehearsal_days")]
    return ShownReview(
        figures=_figures(review, production, measures),
        takes=takes_text(total, ledger),
        others=others_text(review),
        footage_by_week=_table(
            "Frames by week", week, weeks, footage, production, total,
            (_ranges(review, "kept", "others, kept"), behind),
        ),
        days_by_week=_table(
            "Days and pace by week", week, weeks, days, production, total,
            (_ranges(review, "pace", "others, pace"), behind),
        ),
        footage_by_shot=_table("Frames by shot", shot, shots, footage, production, total),
        days_by_shot=_table("Days and pace by shot", shot, shots, days, production, total),
        earlier=_table(
            "The person's own earlier periods",
            _office("days", "days", Unit.CODE),
            [(f"{day_text(o.period.first)} – {day_text(o.period.last)}", o.figures)
             for o in review.earlier],
            before, production, None,
        ),
        earlier_note=FOUR_WEEKS if review.period.first is None else BEFORE,
        waits=_waits(review),
    )  # fmt: skip


TITLE = "A model: what pace would be usual for these shots"
STEPS = {
    Regressor.CHARACTERS: "one more character in the frame",
    Regressor.HOLD: "each pose held for one frame more",
    Regressor.WAIT: "one more hour of waiting for repairs a day",
    Regressor.LENGTH: "a shot twice as long",
    Regressor.RETAKES: "one more retake of the shot",
}
NAMES = {
    Regressor.CHARACTERS: "characters in the frame",
    Regressor.HOLD: "frames that a pose is held",
    Regressor.WAIT: "waits for repairs",
    Regressor.LENGTH: "length of the shot",
    Regressor.RETAKES: "retakes",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownExpectation:
    """What the model says; effects: what changes the pace, by which factor, and its interval.

    Without an expectation ``said`` says why, and there are no effects.
    """

    title: Office[str] = TITLE
    said: Office[tuple[str, ...]] = ()
    effects: Office[Table | None] = None


def _names(regressors: tuple[Regressor, ...]) -> str:
    return ", ".join(NAMES[regressor] for regressor in regressors)


def _too_few(found: Expectation) -> str:
    return (
        f"Not enough days to say: {found.own_days:.0f} shoot days of this person in the period,"
        f" and {found.days:.0f} of the others in the log. A model needs more of both, and at least"
        " three others."
    )


def shown_expectation(found: Expectation, missing: str = "") -> ShownExpectation | None:
    """Return what the model says; None where it is switched off.

    missing: what the office asks for where the statistics library is not installed.
    """
    if found.outcome is ExpectationOutcome.OFF:
        return None
    if found.outcome is ExpectationOutcome.NOT_INSTALLED:
        said = ("The statistics library is not installed.", missing)
        return ShownExpectation(said=(" ".join(filter(None, said)),))
    if found.outcome is ExpectationOutcome.TOO_FEW:
        return ShownExpectation(said=(_too_few(found),))
    said_of_it = [
        f"For these shots {found.pace:.2f} seconds a shoot day would be usual: in nine of ten cases"
        f" somebody's pace lies between {found.low:.2f} and {found.high:.2f}. Over the same"
        f" {found.own_days:.0f} days it was {found.own_pace:.2f}.",
        f"Estimated from the work of {found.others} others on {found.days:.0f} shoot days,"
        f" {found.pieces} pieces of work (one person on one shot); this person's own work is left"
        f" out, and who animated is no part of it. It explains {100 * found.explained:.0f} % of how"
        " those pieces differ; the rest is what the log does not say.",
    ]
    if found.unused:
        unused = f"Not used, since it does not vary by itself here: {_names(found.unused)}."
        said_of_it.append(unused)
    if found.beyond:
        said_of_it.append(
            "This work goes beyond that of the others in one thing or more, so the model is less"
            f" sure than its interval says: {_names(found.beyond)}."
        )
    return ShownExpectation(said=tuple(said_of_it), effects=_effects(found))


def _effects(found: Expectation) -> Table | None:
    """The effects of the model. Its figures are floats, so they are written here."""
    if not found.effects:
        return None
    factor = _office("factor", "pace", Unit.DECIMAL)
    interval = _office("interval", "in nine of ten cases", Unit.DECIMAL)
    return Table(
        caption="What the model uses",
        columns=(_office("changes", "what changes", Unit.TEXT), factor, interval),
        rows=tuple(
            (
                STEPS[each.regressor],
                PrintedCell(f"× {each.factor:.2f}", factor.unit),
                PrintedCell(f"{each.low:.2f} to {each.high:.2f}", interval.unit),
            )
            for each in found.effects
        ),
    )
