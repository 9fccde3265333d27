"""The footage of the unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.table import By, footage_column, footage_rows, footage_table
from credits.model.words import counted
from credits.review.unit import (
    CutCoverage,
    RepairCause,
    cut_coverage,
    repair_causes,
    time_by_craft,
)
from credits.site import links
from credits.site.entries import without_cut
from credits.site.page import Link, Page
from credits.site.pages.review import WeekBars, review_link, reviewed_people, week_bars
from credits.site.source import PageSource
from credits.site.words import days_between
from credits.units.film_time import clock, iso_week
from credits.units.rounding import Exact, decimal_text, half_up, largest_remainder
from credits.units.table import Column, Marked, Table, Unit

NO_CAUSE = "no cause noted"
COVERAGE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    Column(key="film", heading="Film frames", unit=Unit.FRAMES, adds_up=True),
    Column(key="animated", heading="Animated", unit=Unit.FRAMES, adds_up=True),
    Column(key="accepted", heading="Accepted", unit=Unit.FRAMES, adds_up=True),
    Column(key="ahead", heading="Still ahead", unit=Unit.FRAMES, adds_up=True),
    Column(key="share", heading="Animated, share", unit=Unit.PERCENT, places=1, nothing=""),
)
TIME_COLUMNS = (
    Column(key="craft", heading="Craft"),
    Column(key="character", heading="Character"),
    Column(key="entries", heading="Entries", unit=Unit.NUMBER, adds_up=True),
    Column(key="people", heading="People", unit=Unit.NUMBER),
    Column(key="days", heading="Days", unit=Unit.NUMBER),
    Column(key="minutes", heading="Minutes", unit=Unit.MINUTES, adds_up=True),
    Column(key="hours", heading="Hours", unit=Unit.HOURS, places=1, adds_up=True),
    Column(
        key="unlogged",
        heading="Entries without minutes",
        unit=Unit.NUMBER,
        adds_up=True,
        nothing="",
    ),
)
REPAIR_COLUMNS = (
    Column(key="what", heading="Puppet"),
    Column(key="part", heading="Part", unit=Unit.CODE),
    Column(key="cause", heading="Cause, as noted", unit=Unit.NOTE),
    Column(key="times", heading="Repairs", unit=Unit.NUMBER, adds_up=True),
    Column(key="days", heading="When", unit=Unit.DAY),
    Column(key="minutes", heading="Work, minutes", unit=Unit.MINUTES, adds_up=True),
    Column(key="wait", heading="Wait, minutes", unit=Unit.MINUTES, adds_up=True),
)
FOOTAGE_COLUMNS = (
    footage_column("shot", "Shot"),
    footage_column("kept", "Kept"),
    footage_column("accepted", "Accepted"),
    footage_column("cut", "In the cut"),
    footage_column("screen", "On screen"),
    footage_column("kept_seconds", "Kept, seconds"),
    footage_column("kept_feet", "Kept, feet"),
    footage_column("kept_character", "Kept character frames"),
)
_CAPTIONS = {
    By.WEEK: "By week",
    By.PERSON: "By person",
    By.CHARACTER: "By character",
    By.STAGE: "By stage",
}


def _percent(part: Exact, film: int) -> str:
    return f"{decimal_text(Fraction(100 * part) / film, 1)} %" if film else "0.0 %"


def _said(source: PageSource, found: CutCoverage) -> str:
    """Tell how much of the cut shows animation, and what is of no known shot."""
    rate = source.ledger.production.rate
    animated = sum(row.animated for row in found.sequences)
    said = (
        f"{clock(animated, rate)} of the {clock(found.length, rate)} of the cut"
        f" show animation ({_percent(animated, found.length)})."
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
        name = source.ledger.sequences[row.sequence].name
        rows.append(
            (
                f"{row.sequence} {name}" if name else row.sequence,
                row.film,
                frames,
                row.accepted,
                row.film - frames,
                Fraction(row.animated) / row.film,
            )
        )
    film = sum(row.film for row in found.sequences)
    exact = sum(row.animated for row in found.sequences)
    return Table(
        caption="Coverage of the cut by sequence, in film frames",
        columns=COVERAGE_COLUMNS,
        rows=tuple(rows),
        label="together",
        totals={"share": Fraction(exact) / film if film else None},
    )


def time_table(source: PageSource) -> Table:
    """Return time by craft and character."""
    rows = [
        (
            source.craft(row.craft),
            "no one character" if row.character is None else source.character(row.character),
            row.entries,
            row.people,
            row.days,
            row.minutes,
            row.minutes,
            row.unlogged or None,
        )
        for row in time_by_craft(source.ledger)
    ]
    table = Table.of("Time by craft and character", TIME_COLUMNS, rows, label="together")
    return replace(table, grouped=True)


def _repaired(source: PageSource, row: RepairCause) -> Link | None:
    if row.puppet is not None:
        return source.puppet(row.puppet)
    return source.character(row.character) if row.character is not None else None


def repair_table(source: PageSource) -> Table:
    """Return repairs by puppet, part and cause, with what the stage waited."""
    rows = [
        (
            _repaired(source, row),
            row.part,
            row.note or NO_CAUSE,
            len(row.entries),
            Marked(
                value=days_between(row.days[0], row.days[-1]) if row.days else "undated",
                sort=row.days[0].isoformat() if row.days else "",
            ),
            row.minutes,
            row.wait,
        )
        for row in repair_causes(source.ledger)
    ]
    caption = "Repairs by puppet, part and cause"
    return Table.of(caption, REPAIR_COLUMNS, rows, label="together")


def kept_share(source: PageSource) -> str:
    """Return ``6,215 of 6,616 frames shot are kept``: the sentence that opens the page."""
    total = source.results.footage.total.by_shot
    return f"{half_up(total.kept):,} of the {half_up(total.shot):,} frames shot are kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class FootagePage:
    """Footage of the whole production, and what stands beside it.

    coverage: how far the cut is covered, in a sentence. tables: footage under its headings.
    """

    opening: Office[str] = ""
    bars: Office[WeekBars | None] = None
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
    if by is By.WEEK:
        return Link(key, links.week_page(key))
    return Link(key)


def _footage_by(source: PageSource, by: By) -> Table:
    footage = source.results.footage
    table = footage_table(
        f"Footage {_CAPTIONS[by].lower()}",
        (Column(key=by, heading=_CAPTIONS[by]),),
        FOOTAGE_COLUMNS,
        [
            ((_name(source, by, row.key[0]),), row.totals)
            for row in footage_rows(footage, source.ledger, (by,))
        ],
        source.ledger.production,
        "together",
    )
    return without_cut(source, table)


def footage_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of the unit's footage; the command line gives the same figures."""
    results = source.results
    footage = results.footage
    by_week = footage.by(lambda cell: iso_week(cell.day) if cell.day is not None else None)
    found = cut_coverage(source.ledger, results.use, footage)
    model = FootagePage(
        opening=kept_share(source) if footage.cells else "",
        bars=week_bars("Frames shot by week", by_week),
        reviews=tuple(review_link(source, person) for person in reviewed_people(source)),
        coverage=_said(source, found) if found else "",
        sequences=coverage_table(source, found) if found else None,
        time=time_table(source),
        repairs=repair_table(source),
        tables=tuple((_CAPTIONS[by], _footage_by(source, by)) for by in _CAPTIONS)
        if footage.cells
        else (),
        cut=f"cut {footage.cut}" if footage.cut is not None else "",
        caution=REVIEW_CAUTION,
    )
    yield Page(links.FOOTAGE, "footage.html", "Footage", links.FOOTAGE, model)
