"""The footage of the unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.table import By, FootageRow, FootageTable, footage_rows
from credits.model.words import counted
from credits.review.unit import (
    Coverage,
    CutCoverage,
    RepairCause,
    cut_coverage,
    repair_causes,
    time_by_craft,
)
from credits.site import links
from credits.site.page import Link, Page
from credits.site.pages.review import WeekBars, review_link, reviewed_people, week_bars
from credits.site.source import PageSource
from credits.site.words import Exact, days_between, whole
from credits.units.film_time import clock, iso_week
from credits.units.rounding import decimal_text, largest_remainder

NO_CAUSE = "no cause noted"


@dataclass(frozen=True, slots=True)
class CoverageLine:
    """A sequence of the cut, in film frames."""

    name: Office[str] = ""
    film: Office[str] = ""
    animated: Office[str] = ""
    accepted: Office[str] = ""
    ahead: Office[str] = ""
    share: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CoverageTable:
    """How far the cut is covered: in one sentence, and by sequence."""

    said: Office[str] = ""
    rows: Office[tuple[CoverageLine, ...]] = ()
    total: Office[CoverageLine | None] = None


@dataclass(frozen=True, slots=True)
class TimeLine:
    """The time of a craft for a character; None: for no one character."""

    character: Office[Link | None] = None
    entries: Office[str] = ""
    people: Office[str] = ""
    days: Office[str] = ""
    minutes: Office[str] = ""
    hours: Office[str] = ""
    unlogged: Office[str] = ""


@dataclass(frozen=True, slots=True)
class TimeGroup:
    """The time of a craft. ``height``: in how many rows."""

    craft: Office[Link | None] = None
    height: Office[int] = 0
    rows: Office[tuple[TimeLine, ...]] = ()


@dataclass(frozen=True, slots=True)
class TimeTable:
    """Time by craft and character, and the sum of its minutes."""

    crafts: Office[tuple[TimeGroup, ...]] = ()
    entries: Office[str] = ""
    minutes: Office[str] = ""
    hours: Office[str] = ""
    unlogged: Office[str] = ""


@dataclass(frozen=True, slots=True)
class RepairLine:
    """Repairs of the same thing for the same cause."""

    what: Office[Link | None] = None
    part: Office[str] = ""
    cause: Office[str] = ""
    times: Office[str] = ""
    days: Office[str] = ""
    sort: Office[str] = ""
    minutes: Office[str] = ""
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class RepairTable:
    """Repairs by puppet, part and cause, and their sums."""

    rows: Office[tuple[RepairLine, ...]] = ()
    times: Office[str] = ""
    minutes: Office[str] = ""
    wait: Office[str] = ""


def _percent(part: Exact, film: int) -> str:
    return f"{decimal_text(Fraction(100 * part) / film, 1)} %" if film else ""


def _covered(name: str, film: int, animated: int, accepted: int, exact: Exact) -> CoverageLine:
    return CoverageLine(
        name,
        f"{film:,}",
        f"{animated:,}",
        f"{accepted:,}",
        f"{film - animated:,}",
        _percent(exact, film),
    )


def _said(source: PageSource, found: CutCoverage) -> str:
    """How much of the cut shows animation, and what is of no known shot."""
    rate = source.ledger.production.rate
    animated = sum(row.animated for row in found.sequences)
    said = (
        f"{clock(animated, rate)} of the {clock(found.length, rate)} of the cut"
        f" show animation ({_percent(animated, found.length) or '0.0 %'})."
    )
    if found.elsewhere:
        frames = counted(found.elsewhere, "film frame")
        said += f" {frames} are of no shot that the log knows: titles, slugs, gaps."
    return said


def coverage_table(source: PageSource) -> CoverageTable | None:
    """How far the cut is covered, by sequence; None without a cut."""
    found = cut_coverage(source.ledger, source.results.use, source.results.footage)
    if found is None:
        return None
    animated = largest_remainder([row.animated for row in found.sequences])
    accepted = largest_remainder([row.accepted for row in found.sequences])

    def line(place: int, row: Coverage) -> CoverageLine:
        name = source.ledger.sequences[row.sequence].name
        text = f"{row.sequence} {name}" if name else row.sequence
        return _covered(text, row.film, animated[place], accepted[place], row.animated)

    film = sum(row.film for row in found.sequences)
    exact = sum(row.animated for row in found.sequences)
    total = _covered("together", film, sum(animated), sum(accepted), exact)
    rows = tuple(line(place, row) for place, row in enumerate(found.sequences))
    return CoverageTable(_said(source, found), rows, total)


def _hours(tenths: int) -> str:
    return f"{tenths // 10:,}.{tenths % 10}"


def time_table(source: PageSource) -> TimeTable | None:
    """Time by craft and character; None without entries."""
    found = time_by_craft(source.ledger)
    hours = largest_remainder([Fraction(row.minutes, 60) for row in found], Fraction(1, 10))
    if not found:
        return None
    lines = [
        TimeLine(
            source.character(row.character) if row.character is not None else None,
            f"{row.entries:,}",
            f"{row.people:,}",
            f"{row.days:,}",
            f"{row.minutes:,}",
            _hours(hours[place]),
            f"{row.unlogged:,}" if row.unlogged else "",
        )
        for place, row in enumerate(found)
    ]
    crafts = []
    for craft, pairs in groupby(zip(found, lines, strict=True), key=lambda pair: pair[0].craft):
        own = tuple(line for _, line in pairs)
        crafts.append(TimeGroup(source.craft(craft), len(own), own))
    return TimeTable(
        tuple(crafts),
        f"{sum(row.entries for row in found):,}",
        f"{sum(row.minutes for row in found):,}",
        _hours(sum(hours)),
        f"{sum(row.unlogged for row in found):,}",
    )


def _repaired(source: PageSource, row: RepairCause) -> Link | None:
    if row.puppet is not None:
        return source.puppet(row.puppet)
    return source.character(row.character) if row.character is not None else None


def repair_table(source: PageSource) -> RepairTable | None:
    """Repairs by puppet, part and cause, with what the stage waited; None without repairs."""
    found = repair_causes(source.ledger)
    rows = tuple(
        RepairLine(
            _repaired(source, row),
            row.part or "",
            row.note or NO_CAUSE,
            f"{len(row.entries):,}",
            days_between(row.days[0], row.days[-1]) if row.days else "undated",
            row.days[0].isoformat() if row.days else "",
            f"{row.minutes:,}",
            f"{row.wait:,}",
        )
        for row in found
    )
    if not rows:
        return None
    return RepairTable(
        rows,
        f"{sum(len(row.entries) for row in found):,}",
        f"{sum(row.minutes for row in found):,}",
        f"{sum(row.wait for row in found):,}",
    )


def kept_share(source: PageSource) -> str:
    """``6,215 of 6,616 frames shot are kept``: the sentence that opens the page."""
    total = source.results.footage.total.by_shot
    return f"{whole(total.kept):,} of the {whole(total.shot):,} frames shot are kept"


_CAPTIONS = {
    By.WEEK: "By week",
    By.PERSON: "By person",
    By.CHARACTER: "By character",
    By.STAGE: "By stage",
}


@dataclass(frozen=True, slots=True)
class FootageLine:
    """A row: shot frames in the measures there are; kept ones as time, feet, character frames."""

    name: Office[Link | None] = None
    frames: Office[tuple[str, ...]] = ()
    seconds: Office[str] = ""
    feet: Office[str] = ""
    character_frames: Office[str] = ""


@dataclass(frozen=True, slots=True)
class FootageBlock:
    """A table: its caption, its rows, its total."""

    caption: Office[str] = ""
    rows: Office[tuple[FootageLine, ...]] = ()
    total: Office[FootageLine | None] = None


@dataclass(frozen=True, slots=True)
class FootagePage:
    """Footage of the whole production, and what stands beside it."""

    opening: Office[str] = ""
    bars: Office[WeekBars | None] = None
    reviews: Office[tuple[Link, ...]] = ()
    coverage: Office[CoverageTable | None] = None
    time: Office[TimeTable | None] = None
    repairs: Office[RepairTable | None] = None
    blocks: Office[tuple[FootageBlock, ...]] = ()
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


def _line(name: Link, row: FootageRow, has_cut: bool) -> FootageLine:
    frames = row.by_shot.frames if has_cut else row.by_shot.frames[:3]
    _, seconds, feet = row.by_shot.at("kept")
    return FootageLine(
        name,
        tuple(f"{figure:,}" for figure in frames),
        seconds,
        feet,
        f"{row.character.at('kept')[0]:,}",
    )


def _block(source: PageSource, by: By, table: FootageTable) -> FootageBlock:
    has_cut = table.cut is not None
    rows = tuple(_line(_name(source, by, row.key[0]), row, has_cut) for row in table.rows)
    return FootageBlock(_CAPTIONS[by], rows, _line(Link("together"), table.total, has_cut))


def footage_pages(source: PageSource) -> Iterator[Page]:
    """The one page of the unit's footage; the command line gives the same figures."""
    results = source.results
    blocks = tuple(
        _block(source, by, footage_rows(results.footage, results.ledger, (by,))) for by in _CAPTIONS
    )
    cut = f"cut {results.footage.cut}" if results.footage.cut is not None else ""
    by_week = results.footage.by(lambda cell: iso_week(cell.day) if cell.day is not None else None)
    model = FootagePage(
        opening=kept_share(source) if results.footage.cells else "",
        bars=week_bars("Frames shot by week", by_week),
        reviews=tuple(review_link(source, person) for person in reviewed_people(source)),
        coverage=coverage_table(source),
        time=time_table(source),
        repairs=repair_table(source),
        blocks=blocks if results.footage.cells else (),
        cut=cut,
        caution=REVIEW_CAUTION,
    )
    yield Page(links.FOOTAGE, "footage.html", "Footage", links.FOOTAGE, model)
