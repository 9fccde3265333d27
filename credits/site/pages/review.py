"""The page of a review."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.footage import FootageTotals
from credits.names import direction
from credits.review.expectation import Expectations
from credits.review.review import WHOLE_TIME, Period, Review, Reviews
from credits.review.shown import (
    FIRST,
    NO_TABLE,
    UNDATED,
    ReviewFigure,
    ReviewTable,
    ShownExpectation,
    period_text,
    shown_expectation,
    shown_review,
)
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.site.strips import LABEL_WIDTH, TOP, WIDTH, Row, Strip, StripBlock, svg_number, tick
from credits.units.film_time import iso_week, week_days
from credits.units.rounding import Exact, half_up
from credits.units.table import Table

HEIGHT = 130.0
MOST_TICKS = 10
# From the foot of the bar up; each with the pattern that it is drawn in.
PARTS = ("accepted", "kept, not accepted", "photographed again")


@dataclass(frozen=True, slots=True)
class WeekBars:
    """The picture, and what its patterns mean: pattern and words, from the foot of a bar up."""

    strip: Office[Strip | None] = None
    key: Office[tuple[tuple[int, str], ...]] = ()


def _weeks_between(first: str, last: str) -> list[str]:
    days = range(week_days(first)[0].toordinal(), week_days(last)[0].toordinal() + 1, 7)
    return [iso_week(date.fromordinal(day)) for day in days]


def _bar(
    week: str, parts: tuple[Exact, ...], x: float, width: float, a_frame: float
) -> list[StripBlock]:
    """Draw the parts of one bar, from its foot up; a part of nothing is not drawn."""
    blocks, foot = [], TOP + HEIGHT
    for pattern, (name, frames) in enumerate(zip(PARTS, parts, strict=True)):
        height = float(frames) * a_frame
        if frames > 0:
            foot -= height
            title = f"{week}: {half_up(frames):,} frames {name}"
            blocks.append(
                StripBlock(
                    x=svg_number(x),
                    y=svg_number(foot),
                    width=svg_number(width),
                    height=svg_number(max(height, 0.8)),
                    pattern=pattern,
                    title=title,
                    label="",
                    label_y="0",
                )
            )
    return blocks


def week_bars(title: str, footage: Mapping[str, FootageTotals]) -> WeekBars | None:
    """Draw a bar for every week from the first to the last, in shot frames; None without any.

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
        tick(LABEL_WIDTH + place * a_week, "", week)
        for place, week in enumerate(weeks)
        if place % every == 0
    )
    foot = TOP + HEIGHT
    top_row = Row(
        label=f"{half_up(most):,} frames",
        label_y=svg_number(TOP + 10),
        line_y=svg_number(TOP),
        blocks=(),
    )
    foot_row = Row(
        label="0", label_y=svg_number(foot - 3), line_y=svg_number(foot), blocks=tuple(blocks)
    )
    drawn = Strip(
        title=title,
        height=svg_number(foot + 18),
        bottom=svg_number(foot),
        below_y=svg_number(foot + 13),
        rows=(top_row, foot_row),
        ticks=ticks,
        brackets=(),
    )
    return WeekBars(drawn, tuple(enumerate(PARTS)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPage:
    """Everything that a review shows of one person; nothing of anybody else."""

    name: Office[Link | None] = None
    period: Office[str] = ""
    caution: Office[str] = ""
    facts: Office[tuple[ReviewFigure, ...]] = ()
    figures: Office[tuple[ReviewFigure, ...]] = ()
    figure_table: Office[Table] = NO_TABLE
    takes: Office[str] = ""
    others: Office[str] = ""
    ranges: Office[bool] = False
    model: Office[ShownExpectation | None] = None
    bars: Office[WeekBars | None] = None
    tables: Office[tuple[ReviewTable, ...]] = ()
    waits: Office[Table | None] = None
    empty: Office[bool] = False


class ReviewPages:
    """Makes review pages; linked False: for a pack, in which nothing leads anywhere."""

    def __init__(self, source: PageSource, linked: bool = True) -> None:
        results = source.results
        self._source = source
        self._linked = linked
        self._reviews = Reviews(results.ledger, results.runs, results.footage)
        self.expectations = Expectations(self._reviews)

    def review(self, person: str, period: Period = WHOLE_TIME) -> Review:
        """Return the review behind a page. KeyError for somebody without footage work."""
        return self._reviews.of(person, period)

    def page(self, review: Review, missing: str = "") -> ReviewPage:
        """Return the page of a review.

        missing: what the office asks for where the statistics library is not installed.
        """
        ledger = self._source.ledger
        name = ledger.people[review.person].credit_name
        shown = shown_review(review, ledger)
        expectation = self.expectations.of(review.person, review.period)
        by_week = {row.week: row.figures.totals for row in review.weeks if row.week is not None}
        href = links.person_page(review.person) if self._linked else None
        return ReviewPage(
            name=Link(name, href, direction(name)),
            period=period_text(review.period),
            caution=REVIEW_CAUTION,
            facts=tuple(figure for figure in shown.figures if figure.key in FIRST),
            figures=shown.figures,
            figure_table=shown.figure_table,
            takes=shown.takes,
            others=shown.others,
            ranges=bool(review.ranges),
            model=shown_expectation(expectation, missing),
            bars=week_bars("Frames shot by week", by_week),
            tables=tuple(replace(part, table=self._named(part.table)) for part in shown.tables),
            waits=self._named(shown.waits.without("entry")) if shown.waits else None,
            empty=not review.weeks,
        )

    def _named(self, table: Table) -> Table:
        """Put names with links in the place of codes."""
        ways: dict[str, Callable[[Any], Any]] = {
            "week": self._week,
            "shot": self._shot,
            "shots": lambda shots: tuple(map(self._shot, shots)),
            "puppet": self._puppet,
        }
        for key in ways.keys() & {column.key for column in table.columns}:
            table = table.with_values(key, ways[key])
        return table

    def _week(self, week: str) -> Link:
        return Link(week, links.week_page(week) if self._linked and week != UNDATED else None)

    def _shot(self, shot: str) -> Link:
        known = self._linked and shot in self._source.ledger.shots
        return self._source.shot(shot) if known else Link(shot)

    def _puppet(self, puppet: str) -> Link:
        link = self._source.puppet(puppet)
        return link if self._linked else Link(link.text, None, link.direction)


def review_link(source: PageSource, person: str) -> Link:
    """Return the person's name, leading to their review page. Office only."""
    name = source.ledger.people[person].credit_name
    return Link(name, links.review_page(person), direction(name))


def reviewed_people(source: PageSource) -> tuple[str, ...]:
    """Return everybody who has a review page, those with footage work, by sort name."""
    ledger = source.ledger
    animators = {entry.person for entry in ledger.entries if ledger.is_footage(entry)}
    return tuple(sorted(animators, key=source.name_order))


def review_pages(source: PageSource) -> Iterator[Page]:
    """Make a review page for everybody with footage work. For the office edition alone."""
    made = ReviewPages(source)
    for person in reviewed_people(source):
        title = f"Review: {source.ledger.people[person].credit_name}"
        model = made.page(made.review(person))
        yield Page(links.review_page(person), "review.html", title, links.FOOTAGE, model)
