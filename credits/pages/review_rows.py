"""The rows of a review page: figures, tables by week and shot, waits, the model."""

from __future__ import annotations

from dataclasses import dataclass

from credits.compute.expectation_words import TITLE, ShownExpectation
from credits.compute.review import Review
from credits.compute.review_shown import ShownReview, ShownTable
from credits.editions import Office
from credits.pages import links
from credits.pages.page import Link
from credits.pages.source import PageSource
from credits.pages.words import day_text, days_between

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
