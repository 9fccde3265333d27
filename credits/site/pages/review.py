"""The page of a review."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.claims import Exact
from credits.footage.footage import FootageTotals
from credits.names import direction
from credits.review.expectation import Expectations
from credits.review.review import WHOLE_TIME, Period, Review, Reviews
from credits.review.shown import (
    TITLE,
    ShownExpectation,
    ShownReview,
    ShownTable,
    shown_expectation,
    shown_review,
)
from credits.review.unit import LEAST_OTHERS
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.site.strips import LABEL_WIDTH, TOP, WIDTH, Row, Strip, StripBlock, Tick
from credits.site.words import days_between
from credits.units.film_time import day_text, iso_week, week_days
from credits.units.rounding import half_up

HEIGHT = 130.0
MOST_TICKS = 10
# From the foot of the bar up; each with the pattern that it is drawn in.
PARTS = ("accepted", "kept, not accepted", "photographed again")


@dataclass(frozen=True, slots=True)
class WeekBars:
    """The picture, and what its patterns mean: pattern and words, from the foot of a bar up."""

    strip: Office[Strip | None] = None
    key: Office[tuple[tuple[int, str], ...]] = ()


def _number(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _weeks_between(first: str, last: str) -> list[str]:
    day, end = week_days(first)[0], week_days(last)[0]
    weeks = []
    while day <= end:
        weeks.append(iso_week(day))
        if day > date.max - timedelta(days=7):
            break
        day += timedelta(days=7)
    return weeks


def _bar(
    week: str, parts: tuple[Exact, ...], x: float, width: float, a_frame: float
) -> list[StripBlock]:
    """The parts of one bar, from its foot up. A part of nothing is not drawn."""
    blocks, foot = [], TOP + HEIGHT
    for pattern, (name, frames) in enumerate(zip(PARTS, parts, strict=True)):
        height = float(frames) * a_frame
        if frames > 0:
            foot -= height
            title = f"{week}: {half_up(frames):,} frames {name}"
            size = _number(max(height, 0.8))
            blocks.append(
                StripBlock(_number(x), _number(foot), _number(width), size, pattern, title, "", "0")
            )
    return blocks


def week_bars(title: str, footage: Mapping[str, FootageTotals]) -> WeekBars | None:
    """A bar for every week from the first to the last, in shot frames; None without any.

    Weeks without footage keep their room. The same figures stand in a table beside it.
    """
    if not footage:
        return None
    weeks = _weeks_between(min(footage), max(footage))
    most = max(totals.by_shot.shot for totals in footage.values())
    if not most:
        return None
    a_week = (WIDTH - LABEL_WIDTH - 10) / len(weeks)
    blocks: list[StripBlock] = []
    for place, week in enumerate(weeks):
        if week in footage:
            frames = footage[week].by_shot
            parts = (frames.accepted, frames.kept - frames.accepted, frames.shot - frames.kept)
            x = LABEL_WIDTH + place * a_week + a_week * 0.12
            blocks += _bar(week, parts, x, min(a_week * 0.76, 40.0), HEIGHT / float(most))
    every = -(-len(weeks) // MOST_TICKS)
    ticks = tuple(
        Tick(_number(x := LABEL_WIDTH + place * a_week), _number(x + 3), "", week)
        for place, week in enumerate(weeks)
        if place % every == 0
    )
    foot = _number(TOP + HEIGHT)
    rows = (
        Row(f"{half_up(most):,} frames", _number(TOP + 10), _number(TOP), ()),
        Row("0", _number(TOP + HEIGHT - 3), foot, tuple(blocks)),
    )
    drawn = Strip(
        title, _number(TOP + HEIGHT + 18), foot, _number(TOP + HEIGHT + 13), rows, ticks, ()
    )
    return WeekBars(drawn, tuple(enumerate(PARTS)))


# The figures that open the page.
OPENING = (
    "frames kept", "pace, seconds a shoot day", "stage days", "re-shot share, %",
    "characters a frame", "wait for repairs, minutes",
)  # fmt: skip
DAYS_BY_SHOT = "A day on which several shots were worked stands with each of them."
FOUR_WEEKS = "Four weeks at a time, the last first."
BEFORE = "As long as this period, each before the other, the last first."


@dataclass(frozen=True, slots=True)
class ReviewFigure:
    """A figure, and the others' range. ``opens``: whether it opens the page."""

    name: Office[str] = ""
    value: Office[str] = ""
    detail: Office[str] = ""
    unit: Office[str] = ""
    opens: Office[bool] = False


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """A row of a table: a week, a shot or a period, its figures, the shots behind them."""

    name: Office[Link | None] = None
    cells: Office[tuple[str, ...]] = ()
    shots: Office[tuple[Link, ...]] = ()


@dataclass(frozen=True, slots=True)
class ReviewTable:
    """A table of a review. ``group``: the heading that it stands under, "" for the same again."""

    group: Office[str] = ""
    caption: Office[str] = ""
    first: Office[str] = ""
    heads: Office[tuple[str, ...]] = ()
    rows: Office[tuple[ReviewRow, ...]] = ()
    total: Office[tuple[str, ...]] = ()
    any_shots: Office[bool] = False
    note: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ReviewWait:
    """A repair that the person waited for."""

    day: Office[str] = ""
    sort: Office[str] = ""
    puppet: Office[Link | None] = None
    part: Office[str] = ""
    shot: Office[Link | None] = None
    minutes: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ReviewModel:
    """The expectation, called a model: what it says, and what changes the pace by how much."""

    title: Office[str] = ""
    said: Office[tuple[str, ...]] = ()
    effects: Office[tuple[tuple[str, str, str], ...]] = ()


def figure_rows(shown: ShownReview) -> tuple[ReviewFigure, ...]:
    """The figures of the whole period."""
    return tuple(
        ReviewFigure(figure.name, figure.value, figure.detail, figure.unit, figure.name in OPENING)
        for figure in shown.figures
    )


def model_of(shown: ShownExpectation | None) -> ReviewModel | None:
    """The model as the page shows it; None where it is switched off."""
    return ReviewModel(TITLE, shown.said, shown.effects) if shown is not None else None


def _week(week: str | None, linked: bool) -> Link:
    if week is None:
        return Link("undated")
    return Link(week, links.week_page(week) if linked else None)


def _shot(source: PageSource, shot: str | None, linked: bool) -> Link:
    if shot is None:
        return Link("no one shot")
    return source.shot(shot) if linked else Link(shot)


def _table(
    shown: ShownTable,
    names: list[Link],
    shots: list[tuple[Link, ...]],
    words: tuple[str, str, str, str],
) -> ReviewTable:
    rows = tuple(
        ReviewRow(name, row.cells, own)
        for name, row, own in zip(names, shown.rows, shots, strict=True)
    )
    group, caption, first, note = words
    return ReviewTable(group, caption, first, shown.heads, rows, shown.total, any(shots), note)


def review_tables(
    source: PageSource, review: Review, shown: ShownReview, linked: bool
) -> tuple[ReviewTable, ...]:
    """Footage and days, by week and by shot, and the person's earlier periods."""
    weeks = [_week(row.week, linked) for row in review.weeks]
    by_week = [
        tuple(_shot(source, own.shot, linked) for own in row.shots if own.shot is not None)
        for row in review.weeks
    ]
    shots = [_shot(source, row.shot, linked) for row in review.shots]
    periods = [Link(days_between(o.period.first, o.period.last)) for o in review.earlier]
    bare: list[tuple[Link, ...]] = [()] * len(shots)
    none: list[tuple[Link, ...]] = [()] * len(periods)
    before = FOUR_WEEKS if review.period.first is None else BEFORE
    tables = (
        _table(shown.footage_by_week, weeks, by_week, ("By week", "Frames by week", "Week", "")),
        _table(shown.days_by_week, weeks, by_week, ("", "Days and pace by week", "Week", "")),
        _table(shown.footage_by_shot, shots, bare, ("By shot", "Frames by shot", "Shot", "")),
        _table(
            shown.days_by_shot, shots, bare, ("", "Days and pace by shot", "Shot", DAYS_BY_SHOT)
        ),
        _table(
            shown.earlier, periods, none, ("Earlier", "The person's own periods", "Days", before)
        ),
    )
    return tuple(table for table in tables if table.rows)


def wait_rows(source: PageSource, review: Review, linked: bool) -> tuple[ReviewWait, ...]:
    """The repairs behind the wait; who mended is not part of a review."""
    rows = []
    for wait in review.waits:
        puppet = source.puppet(wait.puppet)
        rows.append(
            ReviewWait(
                day_text(wait.day),
                wait.day.isoformat() if wait.day is not None else "",
                puppet if linked else Link(puppet.text, None, puppet.direction),
                wait.part or "",
                _shot(source, wait.shot, linked),
                f"{wait.minutes:,}",
            )
        )
    return tuple(rows)


OTHERS = (
    "Beside each figure: the lowest and the highest of the others who animated in the same weeks,"
    " without names, each end rounded outward. A range of fewer than three others is not shown."
)
TOO_FEW_OTHERS = (
    "No range of the others is shown: fewer than three others animated in the same weeks, and a"
    " range could be one person's."
)


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """Everything that a review shows of one person; nothing of anybody else."""

    name: Office[Link | None] = None
    period: Office[str] = ""
    caution: Office[str] = ""
    facts: Office[tuple[ReviewFigure, ...]] = ()
    figures: Office[tuple[ReviewFigure, ...]] = ()
    takes: Office[str] = ""
    others: Office[str] = ""
    ranges: Office[bool] = False
    model: Office[ReviewModel | None] = None
    bars: Office[WeekBars | None] = None
    tables: Office[tuple[ReviewTable, ...]] = ()
    waits: Office[tuple[ReviewWait, ...]] = ()
    empty: Office[bool] = False


def period_text(period: Period) -> str:
    """``From 1 March 2026 to 31 March 2026``; ``The whole production`` without ends."""
    if period.first is None and period.last is None:
        return "The whole production, undated work too"
    first = f"from {day_text(period.first)}" if period.first is not None else ""
    last = f"to {day_text(period.last)}" if period.last is not None else ""
    text = f"{first} {last}".strip()
    return text[:1].upper() + text[1:]


class ReviewPages:
    """Makes review pages; ``linked`` False: for a pack, in which nothing leads anywhere."""

    def __init__(self, source: PageSource, linked: bool = True) -> None:
        results = source.results
        self._source = source
        self._linked = linked
        self.reviews = Reviews(results.ledger, results.runs, results.footage)
        self.expectations = Expectations(self.reviews)

    def review(self, person: str, period: Period = WHOLE_TIME) -> Review:
        """The review behind a page. Raises KeyError for somebody without footage work."""
        return self.reviews.of(person, period)

    def page(self, review: Review) -> ReviewPage:
        """The page of a review."""
        ledger = self._source.ledger
        name = ledger.people[review.person].credit_name
        shown = shown_review(review, ledger)
        figures = figure_rows(shown)
        expectation = shown_expectation(self.expectations.of(review.person, review.period))
        by_week = {row.week: row.figures.totals for row in review.weeks if row.week is not None}
        href = links.person_page(review.person) if self._linked else None
        return ReviewPage(
            name=Link(name, href, direction(name)),
            period=period_text(review.period),
            caution=REVIEW_CAUTION,
            facts=tuple(row for row in figures if row.opens),
            figures=figures,
            takes=shown.takes,
            others=OTHERS if review.others >= LEAST_OTHERS else TOO_FEW_OTHERS,
            ranges=bool(review.ranges),
            model=model_of(expectation),
            bars=week_bars("Frames shot by week", by_week),
            tables=review_tables(self._source, review, shown, self._linked),
            waits=wait_rows(self._source, review, self._linked),
            empty=not review.works,
        )


def review_link(source: PageSource, person: str) -> Link:
    """The person's name, leading to their review page. Office only."""
    name = source.ledger.people[person].credit_name
    return Link(name, links.review_page(person), direction(name))


def reviewed_people(source: PageSource) -> tuple[str, ...]:
    """Everybody with entries of a footage craft, by sort name: those who have a review page."""
    ledger = source.ledger
    animators = {entry.person for entry in ledger.entries if ledger.is_footage(entry)}
    return tuple(sorted(animators, key=source.name_order))


def review_pages(source: PageSource) -> Iterator[Page]:
    """A review page for everybody with footage work. For the office edition alone."""
    made = ReviewPages(source)
    for person in reviewed_people(source):
        title = f"Review: {source.ledger.people[person].credit_name}"
        model = made.page(made.review(person))
        yield Page(links.review_page(person), "review.html", title, links.FOOTAGE, model)
