"""The review of an animator by month, week and sequence, each with the range of the others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from credits.cautions import REVIEW_CAUTION
from credits.editions import Edition, Office
from credits.review.days import figures_by_name
from credits.review.review import MonthReview, Review, SequenceReview, WeekReview
from credits.review.shown import (
    BY_MONTH,
    BY_SEQUENCE,
    FIGURES,
    FIRST,
    NO_TABLE,
    OTHERS,
    ReviewFigure,
    range_text,
    sequence_text,
    shown_figures,
)
from credits.site import links
from credits.site.links import Link, Page
from credits.site.pages.footage import ReviewPages, review_pages, reviews
from credits.site.source import PageSource
from credits.units.film_time import month_text
from credits.units.table import Column, Marked, Table, Unit

# Of a part fewer figures are compared than of the whole.
OF_PARTS = ("shot", *FIRST, "takes")
SHORT = {"pace": "pace, s a shoot day", "reshot_share": "re-shot", "wait": "wait, min"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPart:
    """A month or a sequence: its figures, and the weeks or the shots that they are made of."""

    anchor: Office[str] = ""
    title: Office[str] = ""
    figures: Office[tuple[ReviewFigure, ...]] = ()
    ranges: Office[bool] = False
    weeks: Office[Table] = NO_TABLE
    shots: Office[tuple[Link, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPartsPage:
    """Everything that a review shows by month, week and sequence."""

    name: Office[Link | None] = None
    review: Office[Link | None] = None
    caution: Office[str] = REVIEW_CAUTION
    others: Office[str] = OTHERS
    by_month: Office[str] = BY_MONTH
    by_sequence: Office[str] = BY_SEQUENCE
    months: Office[tuple[ReviewPart, ...]] = ()
    sequences: Office[tuple[ReviewPart, ...]] = ()


def _figures(source: PageSource, own: MonthReview | SequenceReview) -> tuple[ReviewFigure, ...]:
    return tuple(shown_figures(own.figures, own.ranges, source.ledger, OF_PARTS))


def _has_ranges(figures: Iterable[ReviewFigure]) -> bool:
    return any(figure.mark is not None for figure in figures)


def _weeks(source: PageSource, title: str, rows: list[WeekReview]) -> Table:
    """Return weeks, each figure with the range of the others in that week beside it."""
    shown = [
        replace(column, heading=SHORT.get(column.key, column.heading))
        for column in FIGURES
        if column.key in OF_PARTS
    ]
    values = figures_by_name(source.ledger.production.rate)
    week = Column(key="week", heading="Week", unit=Unit.CODE, edition=Edition.OFFICE)

    def cell(row: WeekReview, column: Column) -> Any:
        found = row.ranges.get(column.key)
        others = range_text(found, 100 if column.unit is Unit.PERCENT else 1)
        value = values[column.key](row.figures)
        return Marked(value=value, note=f"others: {others}" if found is not None else "")

    return Table.of(
        f"Weeks of {title}",
        (week, *shown),
        (
            (links.week_link(row.week or ""), *(cell(row, column) for column in shown))
            for row in rows
        ),
        source.scale,
    )


class _PartsPages:
    """Makes the pages of parts of reviews."""

    def __init__(self, source: PageSource, made: ReviewPages) -> None:
        self._source = source
        self._made = made

    def page(self, person: str) -> ReviewPartsPage:
        """Return the page of a person."""
        source = self._source
        review = self._made.review_of(person)
        name = source.ledger.people[person].credit_name
        return ReviewPartsPage(
            name=Link(name, links.person_page(person)),
            review=Link("the review", links.review_page(person)),
            months=tuple(self._month(review, own) for own in review.months),
            sequences=tuple(map(self._sequence, review.sequences)),
        )

    def _month(self, review: Review, own: MonthReview) -> ReviewPart:
        title = month_text(own.month)
        weeks = [row for row in review.weeks if row.week in own.weeks]
        figures = _figures(self._source, own)
        return ReviewPart(
            anchor=links.month_anchor(own.month),
            title=title,
            figures=figures,
            ranges=_has_ranges(figures),
            weeks=_weeks(self._source, title, weeks),
        )

    def _sequence(self, own: SequenceReview) -> ReviewPart:
        figures = _figures(self._source, own)
        return ReviewPart(
            anchor=links.part_anchor(own.sequence),
            title=sequence_text(self._source.ledger, own.sequence),
            figures=figures,
            ranges=_has_ranges(figures),
            shots=tuple(self._source.shot(shot) for shot in own.shots if shot is not None),
        )


def review_and_parts_pages(source: PageSource) -> Iterator[Page]:
    """Make the two pages of everybody who has a review. For the office edition alone."""
    made = ReviewPages(source)
    parts = _PartsPages(source, made)
    for (person, link), page in zip(reviews(source), review_pages(source, made), strict=True):
        yield page
        path, make = links.review_parts_page(person), partial(parts.page, person)
        title = f"Review by month and sequence: {link}"
        yield Page(path, "review_parts.html", title, links.FOOTAGE, make)
