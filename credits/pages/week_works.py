"""A week away from the camera: builds, repairs and voices by craft; and the week's footage."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone, Office
from credits.footage.footage import Footage
from credits.model.ledger import Entry
from credits.pages.crafts import materials_of
from credits.pages.page import Link
from credits.pages.shot_log import minutes_text, note_of, what_of
from credits.pages.source import PageSource
from credits.pages.week_days import WEEKDAYS
from credits.pages.words import day_text, short_day
from credits.units.rounding import largest_remainder


@dataclass(frozen=True, slots=True)
class WorkRow:
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
    rows: Everyone[tuple[WorkRow, ...]]
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


def _work(source: PageSource, entry: Entry) -> WorkRow | None:
    person = source.person(entry.person)
    if person is None or entry.day is None:
        return None
    begun = entry.work.started_on
    return WorkRow(
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
