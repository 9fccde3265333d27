"""What pages say of entries of the log: who, on what, on which day, with what note."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from credits.editions import Edition
from credits.hands.hands import build_target
from credits.model.ledger import Entry
from credits.site.links import Link, linked_day
from credits.site.source import PageSource
from credits.units.table import Column, Marked, Table, Unit

OFFICE = Edition.OFFICE
ENTRY_COLUMNS = (
    Column(key="entry", heading="Entry", unit=Unit.CODE),
    Column(key="day", heading="Day", unit=Unit.DAY),
    Column(key="person", heading="By"),
    Column(key="craft", heading="Craft"),
    Column(key="what", heading="On"),
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="stage", heading="Stage"),
    Column(key="minutes", heading="Minutes", unit=Unit.MINUTES, edition=OFFICE, nothing=""),
    Column(key="wait", heading="Wait", unit=Unit.MINUTES, edition=OFFICE, nothing=""),
    Column(key="note", heading="Note", unit=Unit.NOTE),
)
REPAIR_COLUMNS = (
    Column(key="day", heading="Day", unit=Unit.DAY),
    Column(key="thing", heading="What"),
    Column(key="person", heading="By"),
    Column(key="shot", heading="On shot", unit=Unit.CODE),
    Column(key="note", heading="Note", unit=Unit.NOTE),
    Column(key="minutes", heading="Work, minutes", unit=Unit.MINUTES, edition=OFFICE, nothing=""),
    Column(key="wait", heading="Wait, minutes", unit=Unit.MINUTES, edition=OFFICE, nothing=""),
)

PART_COLUMNS = (
    Column(key="part", heading="Part", unit=Unit.CODE),
    Column(key="kind", heading="Kind"),
    Column(key="makers", heading="Made by"),
)


def part_values(source: PageSource, code: str) -> tuple[str, str, tuple[Link, ...]]:
    """Return what stands in the columns of a part."""
    made = source.ledger.entries_by_part.get(code, ())
    return code, source.ledger.parts[code].kind, source.makers(made)


def repairs_table(source: PageSource, entries: Iterable[Entry], of: str) -> Table:
    """Return the repairs among some entries, undated ones first, then by day.

    of: what was repaired, or by whom, as the caption says it.
    """
    repairs = [entry for entry in entries if source.ledger.is_repair(entry)]
    rows = []
    for entry in sorted(repairs, key=lambda e: (e.day or date.min, e.number)):
        target = build_target(entry)
        rows.append(
            (
                linked_day(entry.day),
                source.thing(*target) if target is not None else None,
                source.person(entry.person),
                source.shot(entry.shot) if entry.shot is not None else None,
                source.note(entry),
                entry.work.minutes or None,
                entry.work.wait_minutes or None,
            )
        )
    mentioned = (row for row in rows if row[2] is not None)
    return Table.of(f"Repairs {of}", REPAIR_COLUMNS, mentioned)


def what_of(source: PageSource, entry: Entry) -> tuple[Link, ...]:
    """Return what an entry's work was on: the puppet, else the character; and the part."""
    found = []
    # A voice is not given to a copy, though the character may have only one.
    if entry.puppet is not None and (entry.work.puppet or source.ledger.is_footage(entry)):
        found.append(source.puppet(entry.puppet))
    elif entry.character is not None:
        found.append(source.character(entry.character))
    if entry.part is not None:
        found.append(Link(f"{source.ledger.parts[entry.part].kind} {entry.part}"))
    return tuple(found)


def entry_table(
    source: PageSource,
    caption: str,
    entries: Iterable[Entry],
    day: Callable[[Entry], Marked] = lambda entry: linked_day(entry.day),
) -> Table:
    """Return entries of the log, by day, then in the order given; undated ones first.

    Entries of people whom the edition does not mention are left out. day: how a day is written.
    """
    rows = []
    for entry in sorted(entries, key=lambda entry: entry.day or date.min):
        corrects = f"corrects {entry.first}" if entry.first != entry.number else ""
        rows.append(
            (
                Marked(value=str(entry.number), note=corrects, anchor=f"entry-{entry.number}"),
                day(entry),
                source.person(entry.person),
                source.craft(entry.craft),
                what_of(source, entry),
                source.shot(entry.shot) if entry.shot else None,
                entry.take,
                entry.frames or None,
                entry.stage,
                entry.work.minutes or None,
                entry.work.wait_minutes or None,
                source.note(entry),
            )
        )
    return Table.of(caption, ENTRY_COLUMNS, (row for row in rows if row[2] is not None))


def without_cut(source: PageSource, table: Table) -> Table:
    """Return the table without what the cut says, as long as there is no cut."""
    keys = ("cut", "screen", "screen_time", "in_cut", "in_film")
    return table if source.has_cut else table.without(*keys)
