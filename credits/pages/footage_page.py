"""The unit, for the office: footage in all measures, the cut, time, repairs, and the reviews."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.cautions import REVIEW_CAUTION
from credits.editions import Office
from credits.footage.table import By, FootageRow, FootageTable, footage_rows
from credits.pages import links
from credits.pages.footage_unit import (
    CoverageTable,
    RepairTable,
    TimeTable,
    coverage_table,
    kept_share,
    repair_table,
    time_table,
)
from credits.pages.page import Link, Page
from credits.pages.review import review_link, reviewed_people
from credits.pages.review_bars import WeekBars, week_bars
from credits.pages.source import PageSource
from credits.units.film_time import iso_week

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
