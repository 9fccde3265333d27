"""A review as it is shown: figures, tables, and what the model says.

The page, the pack, the PDF and the terminal show the same. Everything is for the office alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from credits.editions import Edition, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES, FootageTotals, Measures
from credits.model.facts import Decision, Production
from credits.model.ledger import Ledger
from credits.model.words import counted
from credits.review.days import Figures, figures_by_name
from credits.review.expectation import Expectation
from credits.review.review import MonthReview, Review, SequenceReview
from credits.review.unit import LEAST_OTHERS, Range
from credits.units.film_time import Period, day_text, iso_week, month_text, week_days
from credits.units.rounding import Exact, half_up, plain_decimal
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
BY_MONTH = "A month holds the weeks whose Thursday lies in it; undated work is in none."
BY_SEQUENCE = (
    "The others are those who animated in the same sequence. Work on no one shot is in none."
)
AGAIN = (
    "Shots with several takes of this person, takes marked a retake, or frames that were re-shot"
    " on a later day. Kept in retakes: frames in takes that were asked for again."
)
UNDATED, NO_SHOT = "undated", "no one shot"
# The figures that stand first, by the name under which they are compared.
FIRST = ("kept", "pace", "stage_days", "reshot_share", "characters_a_frame", "wait")


def _outward(value: Exact, up: bool) -> Fraction:
    """Round a figure up or down to two digits of which the second is 0 or 5."""
    many, of = value.as_integer_ratio()
    below = above = 1  # one of them is a power of ten, so that two digits stand before the point
    while many and many < 10 * of:
        many, below = 10 * many, 10 * below
    while many >= 100 * of:
        of, above = 10 * of, 10 * above
    steps = -(-many // (5 * of)) if up else many // (5 * of)
    return Fraction(steps * 5 * above, below)


@lru_cache(maxsize=20_000)  # most people stand beside the same range of a month or a sequence
def range_ends(found: Range, times: int = 1) -> tuple[Fraction, Fraction]:
    """Round the ends of a range outward, as they may be shown."""
    return _outward(found.low * times, False), _outward(found.high * times, True)


@lru_cache(maxsize=20_000)
def range_text(found: Range | None, times: int = 1) -> str:
    """Write a range: ``1.5 to 3.5``; a dash where none is shown."""
    if found is None:
        return NOTHING
    return " to ".join(plain_decimal(end, grouped=True) for end in range_ends(found, times))


def period_text(period: Period) -> str:
    """Write a period: ``From 1 March 2026 to 31 March 2026``."""
    if period.first is None and period.last is None:
        return "The whole production, undated work too"
    ends = (("from", period.first), ("to", period.last))
    text = " ".join(f"{word} {day_text(day)}" for word, day in ends if day is not None)
    return text[:1].upper() + text[1:]


def takes_text(figures: Figures, ledger: Ledger) -> str:
    """Write the takes: ``12 takes of 9 shots: 8 accepted, 3 open, 1 retake``."""
    decisions = [ledger.take(shot, take).decision for shot, take in figures.takes]
    parts = [f"{decisions.count(d)} {d}" for d in Decision if d in decisions]
    shots = len({shot for shot, _ in figures.takes})
    said = f"{counted(len(decisions), 'take')} of {counted(shots, 'shot')}"
    return f"{said}: {', '.join(parts)}" if parts else said


def _office(
    key: str, heading: str, unit: Unit = Unit.NUMBER, places: int = 0, adds_up: bool = False
) -> Column:
    return Column(
        key=key, heading=heading, unit=unit, edition=Edition.OFFICE, places=places, adds_up=adds_up
    )


# The figures of days: name, heading in the list of figures, heading of a column, unit, decimals,
# and whether a column of them adds up.
_OF_DAYS = (
    ("stage_days", "stage days", "stage days", Unit.NUMBER, 0, False),
    ("shoot_days", "of them shoot", "shoot", Unit.NUMBER, 0, False),
    ("block_days", "of them block", "block", Unit.NUMBER, 0, False),
    ("rehearsal_days", "of them rehearsal", "rehearsal", Unit.NUMBER, 0, False),
    ("pace", "pace, seconds a shoot day", "pace, s a shoot day", Unit.DECIMAL, 2, False),
    ("poses", "poses", "poses", Unit.NUMBER, 0, True),
    ("reshot_share", "re-shot share, %", "re-shot", Unit.PERCENT, 1, False),
    ("characters_a_frame", "characters a frame", "characters a frame", Unit.DECIMAL, 2, False),
    ("wait", "wait for repairs, minutes", "wait, min", Unit.NUMBER, 0, True),
    ("takes", "takes", "takes", Unit.NUMBER, 0, False),
)
# The figures of the whole period, under the names by which they are compared.
FIGURES = (
    *(_office(name, f"frames {words}", Unit.FRAMES) for name, words in MEASURE_WORDS.items()),
    _office("character_kept", "character frames kept", Unit.FRAMES),
    *(_office(name, words, unit, places) for name, words, _, unit, places, _ in _OF_DAYS),
    _office("minutes", "minutes logged at the animation"),
)
FIGURE_COLUMNS = (
    _office("figure", "figure", Unit.TEXT),
    _office("value", "this animator", Unit.DECIMAL),
    _office("others", "the other animators, same weeks", Unit.DECIMAL),
)
# The columns of the tables by week and by shot, each with the name of the figure that it shows.
_FOOTAGE = (
    # Beside a column of shots the measure says of what it is.
    *(
        (_office(f"{n}_frames", "frames shot" if n == "shot" else w, Unit.FRAMES, adds_up=True), n)
        for n, w in MEASURE_WORDS.items()
    ),
    (_office("kept_seconds", "kept, s", Unit.SECONDS, 2, adds_up=True), "kept"),
    (_office("kept_feet", "kept, feet", Unit.FEET, adds_up=True), "kept"),
    (_office("character_kept", "kept by character", Unit.FRAMES, adds_up=True), "character_kept"),
)
_DAYS = tuple(
    (_office(name, heading, unit, places, adds_up), name)
    for name, _, heading, unit, places, adds_up in _OF_DAYS
)
_EARLIER = {
    "kept_frames", "kept_seconds", "character_kept", "stage_days", "pace", "poses", "reshot_share",
    "characters_a_frame", "wait", "takes",
}  # fmt: skip
NEED_A_CUT = MEASURES[3:]
NO_TABLE = Table(caption="", columns=(), rows=())


WEEK_PARTS = ("accepted", "kept, not accepted", "re-shot")
"""What the parts of a bar are called, from its foot up."""


class WeekBar(NamedTuple):
    """What the bar of a week is made of, from its foot up, in frames of shot footage.

    open: kept and not accepted. again: photographed and not kept.
    """

    week: str
    accepted: Exact
    open: Exact
    again: Exact

    @property
    def parts(self) -> tuple[Exact, Exact, Exact]:
        """The parts, as ``WEEK_PARTS`` names them."""
        return self.accepted, self.open, self.again


def week_parts(footage: Mapping[str, FootageTotals]) -> tuple[WeekBar, ...]:
    """Return the parts of every week from the first to the last, those without footage too."""
    if not footage:
        return ()
    first, last = (week_days(week)[0].toordinal() for week in (min(footage), max(footage)))
    weeks = [iso_week(date.fromordinal(day)) for day in range(first, last + 1, 7)]
    of_week = {week: footage[week].by_shot if week in footage else Measures() for week in weeks}
    return tuple(
        WeekBar(week, own.accepted, own.kept - own.accepted, own.shot - own.kept)
        for week, own in of_week.items()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeMark:
    """Where a figure lies beside the range of the others, in thousandths of a scale from nothing.

    It is made of the ends as they are shown, which are rounded outward, so that a drawing tells no
    more than the words. low, wide: the range. own: the figure; None: there is none.
    """

    low: Office[int] = 0
    wide: Office[int] = 0
    own: Office[int | None] = None


def range_mark(found: Range | None, value: Exact | None, times: int = 1) -> RangeMark | None:
    """Place a figure and the others' range on one scale; None where no range is shown."""
    if found is None:
        return None
    low, high = range_ends(found, times)
    own = None if value is None else value * times
    whole = max(high, own or 0) or Fraction(1)

    def place(at: Exact) -> int:
        return half_up(Fraction(at) * 1000 / whole)

    wide = place(high) - place(low)
    return RangeMark(low=place(low), wide=wide, own=None if own is None else place(own))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewFigure:
    """A figure of a period or a sequence.

    detail: the same in seconds and feet; empty where there is none. others: the range of the
    others in the same weeks. mark: where it lies beside that; None where no range is shown.
    """

    key: Office[str] = ""
    name: Office[str] = ""
    value: Office[str] = ""
    detail: Office[str] = ""
    others: Office[str] = ""
    mark: Office[RangeMark | None] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewTable:
    """A table of a review. group: the heading that it stands under; empty: the same again."""

    group: Office[str] = ""
    table: Office[Table] = NO_TABLE
    note: Office[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownReview:
    """A review ready to be shown.

    tables: of footage and of days, by week, month, sequence, shot and character, of what was taken
    again, and of earlier periods; none is empty. waits: the repairs behind the wait; may be empty.
    weeks: what the picture of the weeks is drawn of.
    """

    figures: tuple[ReviewFigure, ...]
    takes: str
    others: str
    weeks: tuple[WeekBar, ...]
    tables: tuple[ReviewTable, ...]
    waits: Table

    @property
    def figure_table(self) -> Table:
        """Return the figures as a table, the detail in brackets behind its figure."""
        rows = (
            (f.name, f"{f.value} ({f.detail})" if f.detail else f.value, f.others)
            for f in self.figures
        )
        return Table(
            caption="The figures",
            columns=FIGURE_COLUMNS,
            rows=tuple((name, *(PrintedCell(x, Unit.DECIMAL) for x in own)) for name, *own in rows),
        )


def shown_figures(
    figures: Figures,
    ranges: Mapping[str, Range],
    ledger: Ledger,
    only: Collection[str] | None = None,
) -> Iterator[ReviewFigure]:
    """Write figures, each with the range of the others.

    only: the names of those that are wanted; None: all.
    """
    production, has_cut = ledger.production, ledger.cut is not None
    scale = Scale(production.rate, production.gauge)
    values = figures_by_name(production.rate)
    for column in FIGURES:
        if column.key in NEED_A_CUT and not has_cut:
            continue
        if only is not None and column.key not in only:
            continue
        value = values[column.key](figures)
        detail = ""
        if column.key in MEASURES:
            in_seconds = printed(value, _office("", "", Unit.SECONDS, 2), scale).text
            detail = f"{in_seconds} s, {printed(value, _office('', '', Unit.FEET), scale).text} ft"
        times = 100 if column.unit is Unit.PERCENT else 1
        yield ReviewFigure(
            key=column.key,
            name=column.heading,
            value=printed(value, column, scale).text.removesuffix(" %"),
            detail=detail,
            others=range_text(found := ranges.get(column.key), times),
            mark=range_mark(found, value, times),
        )


def _table(
    caption: str,
    first: Column,
    rows: Iterable[tuple[str, Figures]],
    shown: Sequence[tuple[Column, str]],
    production: Production,
    total: Figures | None = None,
    last: Mapping[Column, Sequence[object]] = MappingProxyType({}),
) -> Table:
    """Make a table of the same figures of several weeks, shots or periods.

    first: the column of what each row is. shown: the columns of figures, and the names of these.
    last: columns of other values behind the figures.
    """
    by_name = figures_by_name(production.rate)
    values = [(column, by_name[name]) for column, name in shown]
    return Table(
        caption=caption,
        columns=(first, *(column for column, _ in values), *last),
        rows=tuple(
            (key, *(of(figures) for _, of in values), *(own[at] for own in last.values()))
            for at, (key, figures) in enumerate(rows)
        ),
        scale=Scale(production.rate, production.gauge),
        label="total" if total else "",
        totals={c.key: of(total) for c, of in values if not c.adds_up} if total else {},
    )


def _waits(review: Review) -> Table:
    """The repairs behind the wait; who repaired is not part of a review."""
    return Table(
        caption="Waits for repairs",
        columns=(
            _office("day", "day", Unit.DAY),
            *(_office(name, name, Unit.CODE) for name in ("puppet", "part", "shot", "entry")),
            _office("minutes", "minutes", adds_up=True),
        ),
        rows=tuple(
            (w.day or UNDATED, w.puppet, w.part, w.shot or NO_SHOT, str(w.entry), w.minutes)
            for w in review.waits
        ),
    )


def _behind(review: Review, name: str, heading: str) -> dict[Column, Sequence[object]]:
    """The others' range of one figure, week by week, and the shots of each week."""
    ranges = (range_text(row.ranges.get(name)) for row in review.weeks)
    return {
        _office(f"others_{name}", heading, Unit.DECIMAL): [
            PrintedCell(text, Unit.DECIMAL) for text in ranges
        ],
        _office("shots", "shots", Unit.TEXT): [
            tuple(shot for shot in row.shots if shot is not None) for row in review.weeks
        ],
    }


def _others(rows: Sequence[MonthReview | SequenceReview]) -> dict[Column, Sequence[object]]:
    """The others' range of kept frames and of pace, row by row."""
    return {
        _office(f"others_{name}", f"others, {name}", Unit.DECIMAL): [
            PrintedCell(range_text(row.ranges.get(name)), Unit.DECIMAL) for row in rows
        ]
        for name in ("kept", "pace")
    }


def sequence_text(ledger: Ledger, code: str) -> str:
    """Write a sequence: ``030, The Quay``; the code alone of one without a name."""
    name = ledger.sequences[code].name
    return f"{code}, {name}" if name else code


def _by_part(review: Review, ledger: Ledger) -> Iterator[ReviewTable]:
    """Yield the tables by month and by sequence."""
    shown = [each for each in (*_FOOTAGE, *_DAYS) if each[0].key in _EARLIER]
    production = ledger.production
    yield ReviewTable(
        group="By month",
        table=_table(
            "Figures by month",
            _office("month", "month", Unit.TEXT),
            [(month_text(row.month), row.figures) for row in review.months],
            shown,
            production,
            last=_others(review.months),
        ),
        note=BY_MONTH,
    )
    yield ReviewTable(
        group="By sequence",
        table=_table(
            "Figures by sequence",
            _office("sequence", "sequence", Unit.TEXT),
            [(sequence_text(ledger, row.sequence), row.figures) for row in review.sequences],
            shown,
            production,
            last=_others(review.sequences),
        ),
        note=BY_SEQUENCE,
    )


def _again(review: Review) -> Table:
    """What was taken again, of the person's own takes and frames."""
    columns = (
        _office("shot", "shot", Unit.CODE),
        _office("takes", "takes", adds_up=True),
        _office("retakes", "marked a retake", adds_up=True),
        _office("frames", "frames shot", Unit.FRAMES, adds_up=True),
        _office("again", "re-shot", Unit.FRAMES, adds_up=True),
        _office("of_retakes", "kept in retakes", Unit.FRAMES, adds_up=True),
    )
    rows = (
        (shot, own.takes, own.retakes, own.shot, own.again, own.of_retakes)
        for shot, own in review.again.items()
    )
    return Table.of("Retakes", columns, rows, label="total")


def _tables(review: Review, ledger: Ledger, has_cut: bool) -> Iterator[ReviewTable]:
    production = ledger.production
    footage = [each for each in _FOOTAGE if has_cut or each[1] not in NEED_A_CUT]
    for caption, shown, (name, heading), group in (
        ("Frames by week", footage, ("kept", "others, kept"), "By week"),
        ("Days and pace by week", _DAYS, ("pace", "others, pace"), ""),
    ):
        rows = [(row.week or UNDATED, row.figures) for row in review.weeks]
        week, behind = _office("week", "week", Unit.CODE), _behind(review, name, heading)
        table = _table(caption, week, rows, shown, production, review.total, behind)
        whole = {f"others_{name}": PrintedCell(range_text(review.ranges.get(name)), Unit.DECIMAL)}
        yield ReviewTable(group=group, table=replace(table, totals={**table.totals, **whole}))
    yield from _by_part(review, ledger)
    for caption, shown, group, note in (
        ("Frames by shot", footage, "By shot", ""),
        ("Days and pace by shot", _DAYS, "", DAYS_BY_SHOT),
    ):
        rows = [(shot or NO_SHOT, figures) for shot, figures in review.shots.items()]
        shot = _office("shot", "shot", Unit.CODE)
        table = _table(caption, shot, rows, shown, production, review.total)
        yield ReviewTable(group=group, table=table, note=note)
    characters = [(ledger.characters[c].name, own) for c, own in review.characters.items()]
    character = _office("character", "character", Unit.TEXT)
    table = _table("Frames by character", character, characters, footage, production, review.total)
    yield ReviewTable(group="By character", table=table)
    yield ReviewTable(group="Retakes", table=_again(review), note=AGAIN)
    yield ReviewTable(
        group="Earlier",
        table=_table(
            "The person's own earlier periods",
            _office("days", "days", Unit.CODE),
            [(f"{day_text(p.first)} – {day_text(p.last)}", f) for p, f in review.earlier.items()],
            [each for each in (*_FOOTAGE, *_DAYS) if each[0].key in _EARLIER],
            production,
        ),
        note=FOUR_WEEKS if review.period.first is None else BEFORE,
    )


def shown_review(review: Review, ledger: Ledger) -> ShownReview:
    """Return the review as it is shown."""
    has_cut = ledger.cut is not None
    return ShownReview(
        figures=tuple(shown_figures(review.total, review.ranges, ledger)),
        weeks=week_parts({w.week: w.figures.totals for w in review.weeks if w.week is not None}),
        takes=takes_text(review.total, ledger),
        others=OTHERS if review.others >= LEAST_OTHERS else TOO_FEW_OTHERS,
        tables=tuple(each for each in _tables(review, ledger, has_cut) if each.table),
        waits=_waits(review),
    )


TITLE = "A model: what pace would be usual in this log"
LACKS = {
    "own_days": "shoot days of this animator in the period",
    "others": "other animators",
    "days": "shoot days of the others",
    "pieces": "pieces of the others' work (one person on one shot)",
    "paces": "different paces among these pieces",
}
# What the shots asked for: the name of the figure, in words, in which unit, with how many decimals.
MIX = {
    "characters_a_frame": ("characters in a frame", Unit.DECIMAL, 2),
    "frames_a_pose": ("frames that a pose is held", Unit.DECIMAL, 2),
    "wait_minutes_a_day": ("wait for repairs, minutes a shoot day", Unit.DECIMAL, 1),
    "frames_a_shot": ("length of a shot, seconds", Unit.SECONDS, 1),
    "retakes_a_shot": ("retakes of a shot", Unit.DECIMAL, 2),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownExpectation:
    """What the model says, or why it says nothing; mix: what the shots asked for."""

    title: Office[str] = TITLE
    said: Office[tuple[str, ...]] = ()
    mix: Office[Table | None] = None


def shown_expectation(found: Expectation | None, scale: Scale) -> ShownExpectation | None:
    """Return what the model says; None where it is switched off."""
    if found is None:
        return None
    if found.lacks:
        few = (f"{LACKS[of]} ({has} of at least {needs})" for of, has, needs in found.lacks)
        return ShownExpectation(said=(f"Not enough work to say: too few {', '.join(few)}.",))
    return ShownExpectation(
        said=(
            f"{found.pace:.2f} seconds a shoot day would be usual: in nine of ten cases somebody's"
            f" pace over {found.own_days} days lies between {found.low:.2f} and {found.high:.2f}."
            f" Over these {found.own_days} days it was {found.own_pace:.2f}.",
            f"Estimated from the work of {found.others} others on {found.days} shoot days,"
            f" {found.pieces} pieces of work (one person on one shot); this person's own work is"
            " left out. The model knows nothing of the shots: compare what they asked for.",
        ),
        mix=_mix(found, scale),
    )


def _mix(found: Expectation, scale: Scale) -> Table:
    def cell(value: Exact | None, name: str) -> PrintedCell:
        _, unit, places = MIX[name]
        return printed(value, _office("", "", unit, places), scale)

    return Table(
        caption="What the shots asked for",
        columns=(
            _office("what", "what", Unit.TEXT),
            _office("own", "this animator", Unit.DECIMAL),
            _office("others", "the other animators, whole log", Unit.DECIMAL),
        ),
        rows=tuple((MIX[of][0], cell(own, of), cell(others, of)) for of, own, others in found.mix),
    )
