"""Weeks: a page each, and the list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone, Office
from credits.footage.footage import NO_FOOTAGE, Footage
from credits.model.facts import Kind, Purpose
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.links import WEEKDAYS, days_text
from credits.site.page import DataFile, Link, Page
from credits.site.pages.crafts import materials_of
from credits.site.pages.shot import minutes_text, note_of, what_of
from credits.site.pages.shot_frames import copy_link
from credits.site.source import PageSource
from credits.site.words import Length, adding_up, short_day, together
from credits.units.film_time import day_text, iso_week, week_days
from credits.units.rounding import largest_remainder

NO_STAGE = ""


@dataclass(frozen=True, slots=True)
class OnStage:
    """One character on the stage: who worked on it, with which copy; the craft beside animation."""

    craft: Everyone[str]
    character: Everyone[Link | None]
    people: Everyone[tuple[Link, ...]]
    puppets: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True)
class StageShot:
    """A shot on a stage on one day."""

    shot: Everyone[Link | None]
    purpose: Everyone[str]
    works: Everyone[tuple[OnStage, ...]]


@dataclass(frozen=True, slots=True)
class StageDay:
    """A cell of the table: a stage on a day."""

    shots: Everyone[tuple[StageShot, ...]]


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage and its seven days, Monday first."""

    stage: Everyone[str]
    unit: Everyone[str]
    days: Everyone[tuple[StageDay, ...]]


@dataclass(frozen=True, slots=True)
class DayHead:
    """The head of a day's column."""

    weekday: Everyone[str]
    day: Everyone[str]


def on_stage(source: PageSource, entry: Entry) -> bool:
    """Whether an entry belongs to the table of stages: performance on a shot or on a stage."""
    performed = source.ledger.crafts[entry.craft].kind is Kind.PERFORMANCE
    return performed and (entry.shot is not None or entry.stage is not None)


def day_heads(days: Sequence[date]) -> tuple[DayHead, ...]:
    """The heads of the seven columns."""
    return tuple(DayHead(word, short_day(day)) for word, day in zip(WEEKDAYS, days, strict=True))


class _WeekTable:
    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.characters = {code: at for at, code in enumerate(source.ledger.characters)}
        self.crafts = {code: at for at, code in enumerate(source.ledger.crafts)}
        self.shots = {code: at for at, code in enumerate(source.ledger.shots)}

    def _works(self, entries: Iterable[Entry]) -> tuple[OnStage, ...]:
        groups: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
        for entry in entries:
            groups[entry.craft, entry.character].append(entry)

        def order(key: tuple[str, str | None]) -> tuple[object, ...]:
            craft, character = key
            footage = self.ledger.crafts[craft].footage
            return (not footage, self.characters.get(character or "", -1), self.crafts[craft])

        rows = []
        for craft, character in sorted(groups, key=order):
            own = groups[craft, character]
            people = sorted({entry.person for entry in own}, key=self.source.name_order)
            links = (self.source.person(person) for person in people)
            found = self.ledger.crafts[craft]
            # Only what is in front of the camera is named with its copy.
            copies = {e.puppet for e in own if e.puppet is not None} if found.footage else set()
            rows.append(
                OnStage(
                    "" if found.footage else found.name,
                    self.source.character(character) if character else None,
                    tuple(link for link in links if link is not None),
                    tuple(copy_link(self.source, code) for code in sorted(copies)),
                )
            )
        return tuple(rows)

    def cell(self, entries: Iterable[Entry]) -> StageDay:
        groups: dict[tuple[str | None, Purpose], list[Entry]] = defaultdict(list)
        assisting: list[Entry] = []
        for entry in entries:
            if entry.take is None:
                assisting.append(entry)
            else:
                groups[entry.shot, self.ledger.purpose(entry)].append(entry)
        for entry in assisting:
            # Work that names no take goes with what was photographed of the shot that day.
            purposes = [purpose for shot, purpose in groups if shot == entry.shot]
            groups[entry.shot, (purposes or [Purpose.SHOOT])[-1]].append(entry)
        return StageDay(
            tuple(
                StageShot(
                    self.source.shot(shot) if shot else None,
                    "" if purpose is Purpose.SHOOT else purpose.value,
                    self._works(groups[shot, purpose]),
                )
                for shot, purpose in sorted(
                    groups,
                    key=lambda k: (self.shots.get(k[0] or "", -1), list(Purpose).index(k[1])),
                )
            )
        )


class StageTables:
    """Makes the tables of stages, week by week."""

    def __init__(self, source: PageSource) -> None:
        self._table = _WeekTable(source)
        self._ledger = source.ledger

    def rows(self, entries: Iterable[Entry], days: Sequence[date]) -> tuple[StageRow, ...]:
        """The stages that worked in the week, in the order of their table; without one last."""
        found: dict[str, dict[date, list[Entry]]] = defaultdict(lambda: defaultdict(list))
        for entry in entries:
            if entry.day is not None:
                found[entry.stage or NO_STAGE][entry.day].append(entry)
        order = [*self._ledger.stages, NO_STAGE]
        rows = []
        for code in sorted(found, key=order.index):
            stage = self._ledger.stages.get(code)
            rows.append(
                StageRow(
                    code or "no stage given",
                    (stage.unit or "") if stage else "",
                    tuple(self._table.cell(found[code].get(day, ())) for day in days),
                )
            )
        return tuple(rows)


@dataclass(frozen=True, slots=True)
class WeekWorkRow:
    """One entry: the day it was finished (since when), who, on what, where."""

    day: Everyone[str]
    sort: Everyone[str]
    since: Everyone[str]
    person: Everyone[Link]
    what: Everyone[tuple[Link, ...]]
    shot: Everyone[Link | None]
    stage: Everyone[str]
    note: Everyone[str]
    minutes: Office[str] = ""
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CraftWorks:
    """A craft's work of the week."""

    craft: Everyone[Link]
    anchor: Everyone[str]
    rows: Everyone[tuple[WeekWorkRow, ...]]
    any_shot: Everyone[bool]
    any_note: Everyone[bool]
    any_wait: Office[bool] = False


@dataclass(frozen=True, slots=True)
class StageFootage:
    """A stage's footage of the week, in frames of shot footage."""

    stage: Everyone[str]
    kept: Everyone[str]
    accepted: Everyone[str]
    in_cut: Everyone[str]
    shot: Office[str] = ""


@dataclass(frozen=True, slots=True)
class WeekFootage:
    """The week's footage by stage, and together."""

    stages: Everyone[tuple[StageFootage, ...]]
    total: Everyone[StageFootage]


def craft_works(source: PageSource, entries: Iterable[Entry]) -> tuple[CraftWorks, ...]:
    """Entries by craft, in the order of the crafts, each by day and name."""
    by_craft: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_craft[entry.craft].append(entry)
    works: list[CraftWorks] = []
    for craft in source.ledger.crafts:
        if craft not in by_craft:
            continue
        own = sorted(
            by_craft[craft],
            key=lambda e: (e.day or date.min, source.name_order(e.person), e.number),
        )
        rows = [row for entry in own if (row := _work(source, entry)) is not None]
        any_shot = any(entry.shot is not None or entry.stage is not None for entry in own)
        works.append(
            CraftWorks(
                source.craft(craft),
                f"craft-{len(works) + 1}",
                tuple(rows),
                any_shot,
                any(row.note for row in rows),
                any(row.wait for row in rows),
            )
        )
    return tuple(works)


def _work(source: PageSource, entry: Entry) -> WeekWorkRow | None:
    person = source.person(entry.person)
    if person is None or entry.day is None:
        return None
    begun = entry.work.started_on
    return WeekWorkRow(
        f"{WEEKDAYS[entry.day.weekday()]} {short_day(entry.day)}",
        entry.day.isoformat(),
        f"since {day_text(begun)}" if begun is not None and begun < entry.day else "",
        person,
        what_of(source, entry),
        source.shot(entry.shot) if entry.shot else None,
        entry.stage or "",
        note_of(source, entry),
        minutes_text(entry.work.minutes),
        minutes_text(entry.work.wait_minutes),
    )


def materials(source: PageSource, entries: Iterable[Entry]) -> str:
    """The material caution, where any of the entries is of a craft that works with them."""
    crafts = {entry.craft for entry in entries}
    return max((materials_of(source.ledger.crafts[code]) for code in crafts), default="")


def week_footage(source: PageSource, footage: Footage) -> WeekFootage | None:
    """The week's shot footage by stage; columns add up (rule 3.8). None: nothing was shot."""
    sums = footage.by(lambda cell: cell.stage or "")
    if not sums:
        return None
    place = {code: at for at, code in enumerate(source.ledger.stages)}
    codes = sorted(sums, key=lambda code: place.get(code, len(place)))
    columns = {
        measure: largest_remainder([sums[code].by_shot.of(measure) for code in codes])
        for measure in ("shot", "kept", "accepted", "cut")
    }

    def row(name: str, figures: dict[str, int]) -> StageFootage:
        kept, accepted = f"{figures['kept']:,}", f"{figures['accepted']:,}"
        return StageFootage(name, kept, accepted, f"{figures['cut']:,}", f"{figures['shot']:,}")

    return WeekFootage(
        tuple(
            row(code or "no stage given", {m: column[at] for m, column in columns.items()})
            for at, code in enumerate(codes)
        ),
        row("together", {m: sum(column) for m, column in columns.items()}),
    )


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
