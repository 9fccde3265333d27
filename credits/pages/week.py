"""The page of a week: who was where, with what; what was built and mended; what was shot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.editions import Everyone
from credits.pages import links
from credits.pages.page import DataFile, Link, Page
from credits.pages.source import PageSource
from credits.pages.week_days import days_text
from credits.pages.week_stages import DayHead, StageRow, StageTables, day_heads, on_stage
from credits.pages.week_works import CraftWorks, WeekFootage, craft_works, materials, week_footage
from credits.pages.weeks import Weeks, week_link, weeks_page
from credits.units.film_time import week_days


@dataclass(frozen=True, slots=True)
class WeekPage:
    """Everything the week's page shows."""

    week: Everyone[str]
    days: Everyone[str]
    heads: Everyone[tuple[DayHead, ...]]
    people: Everyone[str]
    stage_count: Everyone[str]
    entries: Everyone[str]
    stages: Everyone[tuple[StageRow, ...]]
    works: Everyone[tuple[CraftWorks, ...]]
    footage: Everyone[WeekFootage | None]
    has_cut: Everyone[bool]
    materials: Everyone[str]
    previous: Everyone[Link | None]
    following: Everyone[Link | None]


def _page(
    source: PageSource, weeks: Weeks, tables: StageTables, week: str, around: tuple[str, str]
) -> WeekPage:
    entries = weeks.entries[week]
    staged = [entry for entry in entries if on_stage(source, entry)]
    others = [entry for entry in entries if not on_stage(source, entry)]
    days = week_days(week)
    stages = {entry.stage for entry in staged if entry.stage is not None}
    previous, following = around
    return WeekPage(
        week=week,
        days=days_text(days[0], days[-1]),
        heads=day_heads(days),
        people=f"{len({entry.person for entry in entries}):,}",
        stage_count=f"{len(stages):,}" if stages else "",
        entries=f"{len(entries):,}",
        stages=tables.rows(staged, days),
        works=craft_works(source, others),
        footage=week_footage(source, weeks.footage_of(week)),
        has_cut=source.results.use is not None,
        materials=materials(source, others),
        previous=week_link(previous) if previous else None,
        following=week_link(following) if following else None,
    )


def week_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """The list of weeks, and one page for every week that has dated entries."""
    weeks = Weeks(source)
    tables = StageTables(source)
    yield from weeks_page(source, weeks)
    names = weeks.names
    for before, week, after in zip(("", *names), names, (*names[1:], ""), strict=False):
        page = _page(source, weeks, tables, week, (before, after))
        yield Page(links.week_page(week), "week.html", f"Week {week}", links.WEEKS, page)
