"""An animator's review page, for the office: figures with their context, and no ranking."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.cautions import REVIEW_CAUTION
from credits.compute.expectation import Expectations
from credits.compute.expectation_words import shown_expectation
from credits.compute.review import WHOLE_TIME, Period, Review, Reviews
from credits.compute.review_ranges import LEAST_OTHERS
from credits.compute.review_shown import shown_review
from credits.editions import Office
from credits.names import direction
from credits.pages import links
from credits.pages.page import Link, Page
from credits.pages.review_bars import WeekBars, week_bars
from credits.pages.review_rows import (
    ReviewFigure,
    ReviewModel,
    ReviewTable,
    ReviewWait,
    figure_rows,
    model_of,
    review_tables,
    wait_rows,
)
from credits.pages.source import PageSource
from credits.pages.words import day_text

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
