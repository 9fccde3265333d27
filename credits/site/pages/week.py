"""Weeks: a page each, and the list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, cached_property, partial
from itertools import groupby
from typing import Any

from credits.editions import Edition, Everyone
from credits.footage.footage import NO_FOOTAGE, Cell, Footage
from credits.footage.table import footage_column, footage_columns, footage_table, footage_values
from credits.model.facts import Kind, Purpose
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.links import About, Link, LinkedOnce, Page, Steps, with_steps
from credits.site.pages.people import is_dangerous
from credits.site.source import PageSource, grouped, plain, what_of, without_cut
from credits.units.film_time import MONTHS, day_text, days_between, iso_week, week_days
from credits.units.rounding import half_up
from credits.units.table import Column, Marked, Table, Unit, columns

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
NO_STAGE = ""
FOOTAGE_COLUMNS = (
    footage_column("shot", "Frames shot", Edition.OFFICE),
    *footage_columns(kept="Kept", accepted="Accepted", cut="In the cut"),
)
STAGE_COLUMNS = (
    Column(key="stage", heading="Stage"),
    Column(key="unit", heading="Unit"),
    Column(key="days", heading="Days", unit=Unit.NUMBER, nothing=""),
    *columns(shots="Shots", people="Animated by"),
)
ANIMATOR_COLUMNS = (
    *columns(person="Animator", stages="Stage"),
    Column(key="days", heading="Days", unit=Unit.NUMBER, nothing=""),
    *columns(shots="Shots", what="Puppets"),
)
WORK_COLUMNS = (
    Column(key="person", heading="By"),
    Column(key="days", heading="Days", unit=Unit.DAY),
    Column(key="what", heading="On"),
    *columns(shots="Shots", stages="Stage"),
    *columns(Unit.MINUTES, edition=Edition.OFFICE, nothing="", minutes="Minutes", wait="Wait"),
    Column(key="note", heading="Note", unit=Unit.NOTE),
)
KEPT_COLUMNS = (
    footage_column("kept", "Frames kept"),
    footage_column("kept_seconds", "Seconds", places=1),
    footage_column("kept_feet", "Feet"),
)
WEEK_COLUMNS = (
    Column(key="week", heading="Week", unit=Unit.CODE),
    Column(key="days", heading="Days", unit=Unit.DAY),
    Column(key="people", heading="People", unit=Unit.NUMBER),
    Column(key="entries", heading="Entries", unit=Unit.NUMBER, adds_up=True),
    Column(key="stages", heading="Stages", unit=Unit.NUMBER, nothing=""),
    *(replace(column, nothing="") for column in KEPT_COLUMNS),
)


def short_day(day: date) -> str:
    """Write ``3 Mar``: for tables whose year is plain from elsewhere."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def days_text(first: date, last: date) -> str:
    """Write days in short: ``2–8 March 2026``, ``29 December 2025 – 4 January 2026``."""
    if first.year != last.year:
        return days_between(first, last)
    if first.month != last.month:
        return f"{first.day} {MONTHS[first.month - 1]} – {day_text(last)}"
    return f"{first.day}–{day_text(last)}"


OnStage = tuple[str, tuple[Link, ...], tuple[Link, ...]]
"""Who worked on a character on a stage: the craft beside animation, the copies or it, they."""
StageShot = tuple[Link | None, str, tuple[OnStage, ...]]
"""A shot on a stage on one day, what it was for, and who worked on it."""
StageRow = tuple[str, str, tuple[tuple[StageShot, ...], ...]]
"""A stage, its unit, and what was on it on the seven days, Monday first."""


def _works(source: PageSource, entries: Iterable[Entry], once: LinkedOnce) -> tuple[OnStage, ...]:
    groups = grouped(entries, lambda entry: (entry.craft, entry.character))
    crafts, places = source.ledger.crafts, source.results.places

    def order(key: tuple[str, str | None]) -> tuple[bool, int, int]:
        craft, character = key
        at = places.characters.get(character or "", -1)
        return (not crafts[craft].footage, at, places.crafts[craft])

    rows = []
    for craft, character in sorted(groups, key=order):
        own, footage = groups[craft, character], crafts[craft].footage
        # Only what is in front of the camera is named with its copy.
        copies = sorted({entry.puppet for entry in own if entry.puppet and footage})
        on = tuple(map(source.puppet, copies)) or source.characters((character,))
        names = source.names(entry.person for entry in own)
        rows.append(("" if footage else crafts[craft].name, once(on), once(names)))
    return tuple(rows)


def _stage_day(
    source: PageSource, entries: Sequence[Entry], once: LinkedOnce
) -> tuple[StageShot, ...]:
    groups: dict[tuple[str | None, Purpose], list[Entry]] = defaultdict(list)
    for entry in sorted(entries, key=lambda entry: entry.take is None):
        purpose = source.ledger.purpose(entry)
        if entry.take is None:
            # Work that names no take goes with what was photographed of the shot that day.
            here = [purpose for shot, purpose in groups if shot == entry.shot]
            purpose = here[-1] if here else purpose
        groups[entry.shot, purpose].append(entry)
    purposes, places = list(Purpose), source.results.places.shots

    def order(key: tuple[str | None, Purpose]) -> tuple[int, int]:
        return (places.get(key[0] or "", -1), purposes.index(key[1]))

    return tuple(
        (
            once((source.shot(shot),))[0] if shot else None,
            "" if purpose is Purpose.SHOOT else purpose.value,
            _works(source, groups[shot, purpose], once),
        )
        for shot, purpose in sorted(groups, key=order)
    )


def stage_rows(
    source: PageSource, entries: Iterable[Entry], days: Sequence[date]
) -> tuple[StageRow, ...]:
    """Return the stages that worked in the week, as in their table; work without one last.

    Each name leads to its page once.
    """
    found = grouped(entries, lambda entry: (entry.stage or NO_STAGE, entry.day))
    once = LinkedOnce()
    order = [*source.ledger.stages, NO_STAGE]
    rows = []
    for code in sorted({stage for stage, _ in found}, key=order.index):
        unit = source.ledger.stages[code].unit if code else None
        own = tuple(_stage_day(source, found.get((code, day), ()), once) for day in days)
        rows.append((code or "no stage given", unit or "", own))
    return tuple(rows)


def _work_table(
    source: PageSource, craft: str, entries: Iterable[Entry], once: LinkedOnce
) -> Table:
    """Return who did a craft, on what, on which days of the week, a row for each.

    Work with other notes is another row.
    """
    works = grouped(entries, lambda entry: (entry.person, source.note(entry)))
    rows = []
    for person, note in sorted(works, key=lambda key: source.name_order(key[0])):
        own = sorted(works[person, note], key=lambda entry: (entry.day or date.min, entry.number))
        if name := once(source.names((person,))):
            things = dict.fromkeys(thing for entry in own for thing in what_of(source, entry))
            rows.append(
                (
                    name,
                    _days_and_begin(own),
                    once(things),
                    once(map(source.shot, dict.fromkeys(e.shot for e in own if e.shot))),
                    ", ".join(dict.fromkeys(entry.stage for entry in own if entry.stage)),
                    sum(entry.work.minutes or 0 for entry in own) or None,
                    sum(entry.work.wait_minutes or 0 for entry in own) or None,
                    note,
                )
            )
    caption = f"{source.ledger.crafts[craft].name} this week"
    return Table.of(caption, WORK_COLUMNS, rows).without_empty("shots", "stages", "wait", "note")


FEWEST_JOINED = 3  # days in a row that are said as from and to


def in_words(days: Sequence[date]) -> Iterator[str]:
    """Yield days, in order, in words: one, or the first and the last of several in a row."""

    def said(day: date) -> str:
        return f"{WEEKDAYS[day.weekday()]} {short_day(day)}"

    for _, run in groupby(enumerate(days), key=lambda at: at[1].toordinal() - at[0]):
        row = [day for _, day in run]
        if len(row) < FEWEST_JOINED:
            yield from map(said, row)
        else:
            yield f"{said(row[0])} – {said(row[-1])}"


def _days_and_begin(entries: Sequence[Entry]) -> Marked:
    """Return the days of some work, and since when, where it began before."""
    days = sorted({entry.day for entry in entries if entry.day is not None})
    begun = min((e.work.started_on for e in entries if e.work.started_on), default=days[0])
    return Marked(
        value=", ".join(in_words(days)),
        note=f"since {day_text(begun)}" if begun < days[0] else "",
        sort=days[0].isoweekday(),
    )


def _days(entries: Iterable[Entry]) -> int | None:
    return len({entry.day for entry in entries if entry.day is not None}) or None


def _shots(source: PageSource, entries: Iterable[Entry], once: LinkedOnce) -> tuple[Link, ...]:
    """Return the shots of some work, in the order of their table."""
    places = source.results.places.shots
    shots = sorted({e.shot for e in entries if e.shot is not None}, key=places.__getitem__)
    return once(map(source.shot, shots))


def stage_table(source: PageSource, entries: Iterable[Entry], footage: Footage) -> Table:
    """Return what each stage did in the week: days, shots, who animated, the shot footage.

    entries: those on a stage or on a shot. Work and footage without a stage stand last. Animators
    lead to their pages in the table by animator.
    """
    work, sums = grouped(entries, lambda entry: entry.stage), footage.by(_stage_of)
    once, rows = LinkedOnce(), []
    order = [*source.ledger.stages, None]
    for code in sorted({*work, *(stage or None for stage in sums)}, key=order.index):
        own = work.get(code, [])
        animators = (entry.person for entry in own if source.ledger.is_footage(entry))
        unit = source.ledger.stages[code].unit if code is not None else None
        names = (code or "no stage given", unit or "", _days(own))
        told = (_shots(source, own, once), plain(source.names(animators)))
        rows.append(((*names, *told), sums.get(code or NO_STAGE, NO_FOOTAGE)))
    caption, production = "The week by stage", source.ledger.production
    table = footage_table(caption, STAGE_COLUMNS, FOOTAGE_COLUMNS, rows, production)
    return without_cut(source, table.without_empty("unit"))


def _stage_of(cell: Cell) -> str:
    return cell.stage or NO_STAGE


def animator_table(source: PageSource, entries: Iterable[Entry], footage: Footage) -> Table:
    """Return what each animator did in the week: days, stages, shots, puppets, footage.

    entries: those on a stage or on a shot.
    """
    ledger, once, rows = source.ledger, LinkedOnce(), []
    work = grouped(filter(ledger.is_footage, entries), lambda entry: entry.person)
    sums = footage.by(lambda cell: cell.person)
    for person in sorted({*work, *sums}, key=source.name_order):
        if (name := source.person(person)) is None:
            continue
        own = work.get(person, [])
        on = sorted({e.puppet for e in own if e.puppet is not None})
        whom = source.characters(e.character for e in own if e.puppet is None)
        stages = ", ".join(code for code in ledger.stages if any(e.stage == code for e in own))
        told = (_shots(source, own, once), once((*map(source.puppet, on), *whom)))
        rows.append(((name, stages, _days(own), *told), sums.get(person, NO_FOOTAGE)))
    caption = "The week by animator"
    table = footage_table(caption, ANIMATOR_COLUMNS, FOOTAGE_COLUMNS, rows, ledger.production)
    return without_cut(source, table.without_empty("stages"))


@dataclass(frozen=True, slots=True, kw_only=True)
class WeeksPage:
    """All weeks in which something was done.

    years: of each year, by the year that holds a week's Thursday, how many weeks, and which.
    """

    years: Everyone[tuple[tuple[str, str, Table], ...]]
    count: Everyone[str]
    first: Everyone[str]
    last: Everyone[str]
    undated: Everyone[str]


class Weeks:
    """Entries and footage by week. One walk over each, made once for a site.

    An entry stands in the week of its date, the day it was finished; footage in that of the
    claim's date.
    """

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.names = sorted(filter(None, source.ledger.by_week))

    @cached_property
    def undated(self) -> int:
        """How many entries have no day."""
        undated = self.source.ledger.by_week.get("")
        return 0 if undated is None else undated.entries

    @cached_property
    def footage(self) -> Mapping[str, Footage]:
        """The footage that was shot in each week."""
        dated = self.source.results.footage.where(lambda cell: cell.day is not None)
        week_of = cache(iso_week)
        return dated.parted(lambda cell: week_of(cell.day or date.min))

    def share(self) -> object:
        """Compute what the pages of weeks have in common."""
        return self.footage

    def entries(self, week: str) -> list[Entry]:
        """Return the entries of a week, in the order of the log."""
        by_day = self.source.ledger.entries_by_day
        found = (entry for day in week_days(week) for entry in by_day.get(day, ()))
        return sorted(found, key=lambda entry: entry.first)

    def staged(self, week: str) -> bool:
        """Tell whether anything was done on a stage in the week."""
        return week in self.footage or self.source.ledger.by_week[week].stages > 0

    def footage_of(self, week: str) -> Footage:
        """Return the footage that was shot in the week."""
        return self.footage.get(week, Footage((), None))


def _row(weeks: Weeks, week: str) -> tuple[Any, ...]:
    work = weeks.source.ledger.by_week[week]
    days = week_days(week)
    kept = weeks.footage_of(week).total
    return (
        links.week_link(week),
        Marked(value=days_text(days[0], days[-1]), sort=days[0].isoformat()),
        work.people,
        work.entries,
        work.stages or None,
        *(value or None for value in footage_values(kept, KEPT_COLUMNS)),
    )


def _year_table(source: PageSource, weeks: Weeks, year: str, own: Sequence[str]) -> Table:
    rows = (_row(weeks, week) for week in own)
    table = Table.of(f"Weeks of {year}", WEEK_COLUMNS, rows, source.scale, "total")
    staged = any(map(weeks.staged, own))
    return table if staged else table.without("stages", *(column.key for column in KEPT_COLUMNS))


def _weeks_page(source: PageSource, weeks: Weeks) -> WeeksPage:
    ends = [week_days(weeks.names[0]), week_days(weeks.names[-1])] if weeks.names else []
    # What one looks for is mostly of late.
    years = grouped(reversed(weeks.names), lambda week: week.partition("-")[0])
    undated = counted(weeks.undated, "entry is undated", "entries are undated")
    return WeeksPage(
        years=tuple(
            (year, counted(len(own), "week"), _year_table(source, weeks, year, own))
            for year, own in years.items()
        ),
        count=f"{len(weeks.names):,}",
        first=days_text(ends[0][0], ends[0][-1]) if ends else "",
        last=days_text(ends[1][0], ends[1][-1]) if ends else "",
        undated=f"{undated} and on the page of no week." if weeks.undated else "",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPage:
    """Everything the week's page shows. heads: the weekday and the day of the seven columns."""

    week: Everyone[str]
    days: Everyone[str]
    heads: Everyone[tuple[tuple[str, str], ...]]
    people: Everyone[str]
    stage_count: Everyone[str]
    entries: Everyone[str]
    kept: Everyone[str]
    stages: Everyone[tuple[StageRow, ...]]
    works: Everyone[tuple[tuple[Link, Table], ...]]
    by_stage: Everyone[Table]
    by_animator: Everyone[Table]
    dangerous: Everyone[bool]
    steps: Everyone[Steps]


def _page(source: PageSource, weeks: Weeks, week: str, steps: Steps) -> WeekPage:
    entries = weeks.entries(week)
    # Performance on a shot or on a stage is in the table of stages.
    performed = Kind.PERFORMANCE
    parts = grouped(
        entries,
        lambda entry: (
            source.ledger.crafts[entry.craft].kind is performed
            and (entry.shot or entry.stage) is not None
        ),
    )
    staged, others = parts.get(True, []), parts.get(False, [])
    days = week_days(week)
    stages = {entry.stage for entry in staged if entry.stage is not None}
    footage, once = weeks.footage_of(week), LinkedOnce()
    return WeekPage(
        week=week,
        days=days_text(days[0], days[-1]),
        heads=tuple(zip(WEEKDAYS, map(short_day, days), strict=True)),
        people=f"{len({entry.person for entry in entries}):,}",
        stage_count=f"{len(stages):,}" if stages else "",
        entries=f"{len(entries):,}",
        kept=f"{half_up(footage.total.by_shot.kept):,}" if footage.cells else "",
        stages=stage_rows(source, staged, days),
        works=tuple(
            (source.craft(code), _work_table(source, code, own, once))
            for code, own in source.by_craft(others)
        ),
        by_stage=stage_table(source, staged, footage),
        by_animator=animator_table(source, staged, footage),
        dangerous=any(is_dangerous(source.ledger.crafts[entry.craft]) for entry in others),
        steps=steps,
    )


def week_pages(source: PageSource) -> Iterator[Page]:
    """Make the list of weeks, and one page for every week that has dated entries."""
    weeks = Weeks(source)
    whole = partial(_weeks_page, source, weeks)
    yield Page(links.WEEKS, "weeks.html", "Weeks", links.WEEKS, whole)
    for week, steps in with_steps([links.week_link(week) for week in weeks.names]):
        make = partial(_page, source, weeks, week, steps)
        page, about = links.week_page(week), About("week", week, partial(repr, steps))
        yield Page(page, "week.html", f"Week {week}", links.WEEKS, make, about, weeks.share)
