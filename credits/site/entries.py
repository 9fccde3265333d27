"""What pages say of entries of the log: who, on what, on which day, with what note."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from credits.editions import Edition
from credits.model.facts import Kind
from credits.model.ledger import Entry
from credits.site.links import day_link
from credits.site.page import Link
from credits.site.source import PageSource
from credits.units.table import Column, Marked, Table, Unit

COLUMNS = (
    Column(key="entry", heading="Entry", unit=Unit.CODE),
    Column(key="day", heading="Day", unit=Unit.DAY),
    Column(key="person", heading="By"),
    Column(key="craft", heading="Craft"),
    Column(key="what", heading="On"),
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="stage", heading="Stage"),
    Column(key="minutes", heading="Minutes", unit=Unit.MINUTES, edition=Edition.OFFICE, nothing=""),
    Column(key="wait", heading="Wait", unit=Unit.MINUTES, edition=Edition.OFFICE, nothing=""),
    Column(key="note", heading="Note", unit=Unit.NOTE),
)


def named(source: PageSource, people: Iterable[str]) -> tuple[Link, ...]:
    """Return the people, each once and in the order of names, as the edition names them."""
    links = (source.person(person) for person in sorted({*people}, key=source.name_order))
    return tuple(link for link in links if link is not None)


def note_of(source: PageSource, entry: Entry) -> str:
    """Return the note of an entry, where the edition's readers may see it."""
    return entry.work.note or "" if source.office or not entry.work.private else ""


def day_order(day: date | None) -> date:
    """Return what days sort by: undated ones come first."""
    return day or date.min


def linked_day(day: date | None) -> Marked:
    """Return a day of the log for a column of days: it leads to its week, and sorts by date."""
    return Marked(value=day_link(day), sort=day.isoformat() if day else "")


def copy_link(source: PageSource, code: str) -> Link:
    """Return ``copy 3``: a puppet where its character is named beside it."""
    puppet = source.ledger.puppets[code]
    copy = puppet.copy or puppet.code
    return Link(f"copy {copy}" if copy.isdigit() else copy, source.puppet(code).href)


def makers_of_part(source: PageSource, part: str) -> tuple[Link, ...]:
    """Return who made a part, by name; those who repaired it are not among them."""
    crafts = source.ledger.crafts
    people = {
        entry.person
        for entry in source.ledger.entries_by_part.get(part, ())
        if entry.craft != "repair" and crafts[entry.craft].kind is Kind.BUILD
    }
    return named(source, people)


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
                note_of(source, entry),
            )
        )
    return Table.of(caption, COLUMNS, (row for row in rows if row[2] is not None))


def without_cut(source: PageSource, table: Table) -> Table:
    """Return the table without what the cut says, as long as there is no cut."""
    if source.results.use is not None:
        return table
    return table.without("cut", "screen", "in_cut", "in_film")
