"""The footage of the unit, and the review of each animator."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.footage import FootageTotals
from credits.footage.table import By, footage_column, footage_columns, footage_rows, footage_table
from credits.model.words import counted
from credits.review.review import Review, Reviews
from credits.review.shown import (
    FIRST,
    NO_TABLE,
    UNDATED,
    ReviewFigure,
    ReviewTable,
    ShownExpectation,
    period_text,
    sequence_text,
    shown_expectation,
    shown_review,
)
from credits.review.unit import CutCoverage, cut_coverage, repair_causes, time_by_craft
from credits.site import links
from credits.site.charts import Chart, mean_kept, week_chart
from credits.site.links import Link, Page
from credits.site.source import PageSource, without_cut
from credits.units.film_time import clock, iso_week, month_text
from credits.units.rounding import decimal_text, half_up, largest_remainder
from credits.units.table import Column, Table, Unit, columns


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPage:
    """Everything that a review shows of one person; nothing of anybody else.

    parts: the page of the same by month and by sequence; empty: there is none.
    """

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
    bars: Office[Chart | None] = None
    tables: Office[tuple[ReviewTable, ...]] = ()
    waits: Office[Table | None] = None
    empty: Office[bool] = False
    parts: Office[str] = ""


class ReviewPages:
    """Makes review pages; linked False: for a pack, in which nothing leads anywhere."""

    def __init__(self, source: PageSource, linked: bool = True) -> None:
        results = source.results
        self._source = source
        self._linked = linked
        self.reviews = Reviews(results.ledger, results.poses, results.footage)
        # The two pages of a person are made one after the other.
        self.review_of: Callable[[str], Review] = lru_cache(maxsize=2)(self.reviews.of)

    def page_of(self, person: str) -> ReviewPage:
        """Return the page of the whole review of a person."""
        return self.page(self.review_of(person))

    def page(self, review: Review) -> ReviewPage:
        """Return the page of a review."""
        ledger = self._source.ledger
        name = ledger.people[review.person].credit_name
        shown = shown_review(review, ledger)
        expectation = self.reviews.expectation(review.person, review.period)
        by_week = {row.week: row.figures.totals for row in review.weeks if row.week is not None}
        href = links.person_page(review.person) if self._linked else None
        return ReviewPage(
            name=Link(name, href),
            period=period_text(review.period),
            caution=REVIEW_CAUTION,
            facts=tuple(figure for figure in shown.figures if figure.key in FIRST),
            figures=shown.figures,
            figure_table=shown.figure_table,
            takes=shown.takes,
            others=shown.others,
            ranges=bool(review.ranges),
            model=shown_expectation(expectation, self._source.scale),
            bars=week_chart("Frames shot by week", by_week),
            tables=tuple(
                replace(part, table=self._named(part.table, review)) for part in shown.tables
            ),
            waits=self._named(shown.waits.without("entry"), review) if shown.waits else None,
            empty=not review.weeks,
            parts=links.review_parts_page(review.person) if self._linked else "",
        )

    def _named(self, table: Table, review: Review) -> Table:
        """Put names with links in the place of codes."""
        ledger, path = self._source.ledger, links.review_parts_page(review.person)
        parts = {
            month_text(row.month): f"{path}#{links.month_anchor(row.month)}"
            for row in review.months
        }
        parts |= {
            sequence_text(ledger, row.sequence): f"{path}#{links.part_anchor(row.sequence)}"
            for row in review.sequences
        }
        characters = {ledger.characters[code].name: code for code in review.characters}
        ways: dict[str, Callable[[Any], Any]] = {
            "week": lambda week: Link(week) if week == UNDATED else links.week_link(week),
            "shot": self._shot,
            "shots": lambda shots: tuple(map(self._shot, shots)),
            "puppet": self._source.puppet,
            "month": lambda text: Link(text, parts[text]),
            "sequence": lambda text: Link(text, parts[text]),
            "character": lambda name: self._source.character(characters[name]),
        }
        for key in ways.keys() & {column.key for column in table.columns}:
            table = table.with_values(key, ways[key])
            if not self._linked:
                table = table.with_values(key, _unlinked)
        return table

    def _shot(self, shot: str) -> Link:
        return self._source.shot(shot) if shot in self._source.ledger.shots else Link(shot)


def _unlinked(name: Any) -> Any:
    return tuple(map(_unlinked, name)) if isinstance(name, tuple) else Link(str(name))


def reviews(source: PageSource) -> list[tuple[str, Link]]:
    """Return everybody who has a review page, those with footage work, by sort name, with a link.

    For the office edition alone.
    """
    ledger = source.ledger
    crafts = [craft.code for craft in ledger.crafts.values() if craft.footage]
    animators = {work.person for craft in crafts for work in ledger.by_craft.get(craft, ())}
    named = source.named_people(animators)
    return [(person, Link(name.text, links.review_page(person))) for person, name in named]


def review_pages(source: PageSource, made: ReviewPages | None = None) -> Iterator[Page]:
    """Make a review page for everybody with footage work. For the office edition alone.

    made: what makes them, where other pages are made of it, too.
    """
    made = made or ReviewPages(source)
    for person, link in reviews(source):
        path, make = links.review_page(person), partial(made.page_of, person)
        yield Page(path, "review.html", f"Review: {link}", links.FOOTAGE, make)


NO_CAUSE = "no cause noted"
COVERAGE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    *columns(Unit.FRAMES, adds_up=True, film="Film frames", animated="Animated"),
    *columns(Unit.FRAMES, adds_up=True, accepted="Accepted", ahead="Still ahead"),
    Column(key="share", heading="Animated, share", unit=Unit.PERCENT, places=1, nothing=""),
)
TIME_COLUMNS = (
    *columns(craft="Craft", character="Character"),
    Column(key="entries", heading="Entries", unit=Unit.NUMBER, adds_up=True),
    *columns(Unit.NUMBER, people="People", days="Days"),
    Column(key="minutes", heading="Minutes", unit=Unit.MINUTES, adds_up=True),
    Column(key="hours", heading="Hours", unit=Unit.HOURS, places=1, adds_up=True),
    *columns(Unit.NUMBER, adds_up=True, nothing="", unlogged="Entries without minutes"),
)
REPAIR_COLUMNS = (
    Column(key="what", heading="Puppet"),
    Column(key="part", heading="Part", unit=Unit.CODE),
    Column(key="cause", heading="Cause, as noted", unit=Unit.NOTE),
    Column(key="times", heading="Repairs", unit=Unit.NUMBER, adds_up=True),
    Column(key="days", heading="When", unit=Unit.DAY),
    *columns(Unit.MINUTES, adds_up=True, minutes="Work, minutes", wait="Wait, minutes"),
)
FOOTAGE_COLUMNS = (
    *footage_columns(shot="Frames shot", kept="Kept", accepted="Accepted", cut="In the cut"),
    *footage_columns(screen="On screen", kept_seconds="Kept, seconds", kept_feet="Kept, feet"),
    footage_column("kept_character", "Kept character frames"),
)
LATE_WEEKS = 4
"""The last weeks, which are compared with all."""
_CAPTIONS = {by: f"By {by.value}" for by in (By.WEEK, By.PERSON, By.CHARACTER, By.STAGE)}


def _said(source: PageSource, found: CutCoverage) -> str:
    """Tell how much of the cut shows animation, and what is of no known shot."""
    rate = source.ledger.production.rate
    animated = sum(row.animated for row in found.sequences)
    share = Fraction(100 * animated) / found.length if found.length else 0
    said = (
        f"{clock(animated, rate)} of the {clock(found.length, rate)} of the cut"
        f" show animation ({decimal_text(share, 1)} %)."
    )
    if found.elsewhere:
        frames = counted(found.elsewhere, "film frame")
        said += f" {frames} are of no shot that the log knows: titles, slugs, gaps."
    return said


def coverage_table(source: PageSource, found: CutCoverage) -> Table:
    """Tell how far the cut is covered, by sequence, in film frames."""
    # Whole frames, so that what is animated and what is ahead are all of a sequence.
    animated = largest_remainder([row.animated for row in found.sequences])
    rows = []
    for row, frames in zip(found.sequences, animated, strict=True):
        share = Fraction(row.animated) / row.film
        name = source.sequence(row.sequence)
        rows.append((name, row.film, frames, row.accepted, row.film - frames, share))
    film = sum(row.film for row in found.sequences)
    exact = sum(row.animated for row in found.sequences)
    caption = "Coverage of the cut by sequence, in film frames"
    table = Table.of(caption, COVERAGE_COLUMNS, rows, label="total")
    return replace(table, totals={"share": Fraction(exact) / film if film else None})


def time_table(source: PageSource) -> Table:
    """Return time by craft and character."""
    rows = []
    for row in time_by_craft(source.ledger):
        who = "no one character" if row.character is None else source.character(row.character)
        counts = (row.entries, row.people, row.days, row.minutes, row.minutes)
        rows.append((source.craft(row.craft), who, *counts, row.unlogged or None))
    table = Table.of("Time by craft and character", TIME_COLUMNS, rows, label="total")
    return replace(table, grouped=True)


def repair_table(source: PageSource) -> Table:
    """Return repairs by puppet, part and cause, with what the stage waited."""
    rows = []
    for row in repair_causes(source.ledger):
        what = source.puppet(row.puppet) if row.puppet else None
        if what is None and row.character:
            what = source.character(row.character)
        days = (row.days[0], row.days[-1]) if row.days else "undated"
        cause = row.note or NO_CAUSE
        rows.append((what, row.part, cause, len(row.entries), days, row.minutes, row.wait))
    caption = "Repairs by puppet, part and cause"
    return Table.of(caption, REPAIR_COLUMNS, rows, label="total")


@dataclass(frozen=True, slots=True, kw_only=True)
class FootagePage:
    """Footage of the whole production, and what stands beside it.

    pace: the mean of a week, and of the last weeks. coverage: how far the cut is covered, in a
    sentence. tables: footage under its headings.
    """

    opening: Office[str] = ""
    pace: Office[str] = ""
    bars: Office[Chart | None] = None
    reviews: Office[tuple[Link, ...]] = ()
    coverage: Office[str] = ""
    sequences: Office[Table | None] = None
    time: Office[Table | None] = None
    repairs: Office[Table | None] = None
    tables: Office[tuple[tuple[str, Table], ...]] = ()
    cut: Office[str] = ""
    caution: Office[str] = ""


def _name(source: PageSource, by: By, key: str | None) -> Link:
    if key is None:
        return Link("undated" if by is By.WEEK else "no stage named")
    if by is By.PERSON:
        return source.person(key) or Link("")
    if by is By.CHARACTER:
        return source.character(key)
    return links.week_link(key) if by is By.WEEK else Link(key)


def _footage_by(source: PageSource, by: By) -> Table:
    rows = (
        ((_name(source, by, row.key[0]),), row.totals)
        for row in footage_rows(source.results.footage, source.ledger, (by,))
    )
    caption, key = f"Footage {_CAPTIONS[by].lower()}", Column(key=by, heading=_CAPTIONS[by])
    table = footage_table(caption, (key,), FOOTAGE_COLUMNS, rows, source.ledger.production)
    return without_cut(source, table)


def _pace(by_week: Mapping[str, FootageTotals]) -> str:
    """Tell the mean of kept frames of the weeks with shooting, and that of the last of them."""
    weeks = sorted(week for week, totals in by_week.items() if totals.by_shot.shot)
    if not weeks:
        return ""
    mean = half_up(mean_kept(by_week.values()))
    said = (
        f"On average {counted(mean, 'frame')} a week are kept, over {counted(len(weeks), 'week')}"
    )
    said += " with shooting"
    if len(weeks) <= LATE_WEEKS:
        return f"{said}."
    late = half_up(mean_kept(by_week[week] for week in weeks[-LATE_WEEKS:]))
    return f"{said}; over the last {LATE_WEEKS}, until {weeks[-1]}, {late:,}."


def _footage_page(source: PageSource) -> FootagePage:
    results = source.results
    footage = results.footage
    total = footage.total.by_shot
    kept = f"{half_up(total.kept):,} of the {half_up(total.shot):,} frames shot are kept"
    by_week = footage.by(lambda cell: iso_week(cell.day) if cell.day is not None else None)
    tables = _CAPTIONS if footage.cells else {}
    found = cut_coverage(source.ledger, results.use, footage)
    return FootagePage(
        opening=kept if footage.cells else "",
        pace=_pace(by_week),
        bars=week_chart("Frames shot by week", by_week, source.ledger.production.targets),
        reviews=tuple(link for _, link in reviews(source)),
        coverage=_said(source, found) if found else "",
        sequences=coverage_table(source, found) if found else None,
        time=time_table(source),
        repairs=repair_table(source),
        tables=tuple((_CAPTIONS[by], _footage_by(source, by)) for by in tables),
        cut=f"cut version {footage.cut}" if footage.cut is not None else "",
        caution=REVIEW_CAUTION,
    )


def footage_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of the unit's footage; the command line gives the same figures."""
    make = partial(_footage_page, source)
    yield Page(links.FOOTAGE, "footage.html", "Footage", links.FOOTAGE, make)
