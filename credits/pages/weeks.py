"""The weeks of the production: which there are, and what each holds in brief."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone
from credits.footage.footage import NO_FOOTAGE, Footage
from credits.model.ledger import Entry
from credits.pages import links
from credits.pages.page import Link, Page
from credits.pages.shot_lengths import Length, adding_up, together
from credits.pages.source import PageSource
from credits.pages.week_days import days_text
from credits.pages.words import counted
from credits.units.film_time import iso_week, week_days
from credits.units.rounding import largest_remainder


@dataclass(frozen=True, slots=True)
class WeekLine:
    """A week in the list of weeks."""

    week: Everyone[Link]
    days: Everyone[str]
    sort: Everyone[str]
    people: Everyone[str]
    stages: Everyone[str]
    entries: Everyone[str]
    kept: Everyone[Length | None]


@dataclass(frozen=True, slots=True)
class YearLines:
    """The weeks of a year, by the year that holds their Thursday."""

    year: Everyone[str]
    weeks: Everyone[tuple[WeekLine, ...]]
    count: Everyone[str]
    entries: Everyone[str]
    kept: Everyone[Length]
    any_shot: Everyone[bool]


@dataclass(frozen=True, slots=True)
class WeeksPage:
    """All weeks in which something was done."""

    years: Everyone[tuple[YearLines, ...]]
    count: Everyone[str]
    first: Everyone[str]
    last: Everyone[str]
    undated: Everyone[str]


class Weeks:
    """Entries and footage by week. One walk over each, made once for a site.

    An entry stands in the week of its date, the day it was finished (rule 3.2); footage in that
    of the claim's date (rule 3.7).
    """

    def __init__(self, source: PageSource) -> None:
        self.entries: dict[str, list[Entry]] = defaultdict(list)
        self.undated = 0
        for entry in source.ledger.entries:
            if entry.day is None:
                self.undated += 1
            else:
                self.entries[iso_week(entry.day)].append(entry)
        dated = source.results.footage.where(lambda cell: cell.day is not None)
        self.footage = dated.parted(lambda cell: iso_week(cell.day or date.min))
        self.names = sorted(self.entries)

    def staged(self, week: str) -> bool:
        """Whether anything was done on a stage in the week."""
        return week in self.footage or any(entry.stage for entry in self.entries[week])

    def footage_of(self, week: str) -> Footage:
        """The footage that was shot in the week."""
        return self.footage.get(week, Footage((), None))


def week_link(week: str) -> Link:
    """``2026-W10``, leading to its page."""
    return Link(week, links.week_page(week))


def _line(weeks: Weeks, week: str, kept: Length) -> WeekLine:
    entries = weeks.entries[week]
    stages = {entry.stage for entry in entries if entry.stage is not None}
    days = week_days(week)
    return WeekLine(
        week_link(week),
        days_text(days[0], days[-1]),
        days[0].isoformat(),
        f"{len({entry.person for entry in entries}):,}",
        f"{len(stages):,}" if stages else "",
        f"{len(entries):,}",
        kept if kept.sort else None,
    )


def _weeks_page(source: PageSource, weeks: Weeks) -> WeeksPage:
    production = source.ledger.production
    totals = [
        weeks.footage_of(week).by(lambda _: 0).get(0, NO_FOOTAGE).by_shot.kept
        for week in weeks.names
    ]
    printed = dict(zip(weeks.names, adding_up(largest_remainder(totals), production), strict=True))
    by_year: dict[str, list[str]] = defaultdict(list)
    for week in weeks.names:
        by_year[week.partition("-")[0]].append(week)
    years = tuple(
        YearLines(
            year,
            tuple(_line(weeks, week, printed[week].length(production.gauge)) for week in own),
            counted(len(own), "week"),
            f"{sum(len(weeks.entries[week]) for week in own):,}",
            together([printed[week] for week in own]).length(production.gauge),
            any(weeks.staged(week) for week in own),
        )
        for year, own in by_year.items()
    )
    ends = [week_days(weeks.names[0]), week_days(weeks.names[-1])] if weeks.names else []
    undated = counted(weeks.undated, "entry is undated", "entries are undated")
    return WeeksPage(
        years,
        f"{len(weeks.names):,}",
        days_text(ends[0][0], ends[0][-1]) if ends else "",
        days_text(ends[1][0], ends[1][-1]) if ends else "",
        f"{undated} and on the page of no week." if weeks.undated else "",
    )


def weeks_page(source: PageSource, weeks: Weeks) -> Iterator[Page]:
    """The list of weeks."""
    yield Page(links.WEEKS, "weeks.html", "Weeks", links.WEEKS, _weeks_page(source, weeks))
