"""What the log and the face sheets say of a shot: its entries, its replacements."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone, Office
from credits.model.facts import Kind
from credits.model.ledger import Entry
from credits.pages.page import Link
from credits.pages.source import PageSource
from credits.pages.week_days import day_link
from credits.units.frames import Frames, union


@dataclass(frozen=True, slots=True)
class EntryRow:
    """An entry of the log that names the shot."""

    anchor: Everyone[str]
    number: Everyone[str]
    corrects: Everyone[str]
    day: Everyone[Link]
    sort: Everyone[str]
    person: Everyone[Link]
    craft: Everyone[Link]
    what: Everyone[tuple[Link, ...]]
    take: Everyone[str]
    frames: Everyone[str]
    stage: Everyone[str]
    note: Everyone[str]
    minutes: Office[str] = ""
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ReplacementRow:
    """A part that is seen in certain frames of the shot."""

    character: Everyone[Link]
    part: Everyone[str]
    kind: Everyone[str]
    take: Everyone[str]
    frames: Everyone[str]
    sort: Everyone[int]
    makers: Everyone[tuple[Link, ...]]


def what_of(source: PageSource, entry: Entry) -> tuple[Link, ...]:
    """What an entry's work was on: the puppet, else the character; and the part."""
    found = []
    # A voice is not given to a copy, though the character may have only one.
    if entry.puppet is not None and (entry.work.puppet or source.ledger.is_footage(entry)):
        found.append(source.puppet(entry.puppet))
    elif entry.character is not None:
        found.append(source.character(entry.character))
    if entry.part is not None:
        found.append(Link(f"{source.ledger.parts[entry.part].kind} {entry.part}"))
    return tuple(found)


def note_of(source: PageSource, entry: Entry) -> str:
    """The note of an entry, where the edition's readers may see it."""
    return entry.work.note or "" if source.office or not entry.work.private else ""


def minutes_text(minutes: int | None) -> str:
    """``90``: minutes in a column of minutes; empty where none were logged."""
    return f"{minutes:,}" if minutes else ""


def entry_rows(source: PageSource, shot: str) -> tuple[EntryRow, ...]:
    """The current entries that name the shot, by day, then by number; undated ones first."""
    rows = []
    found = source.ledger.entries_by_shot.get(shot, ())
    for entry in sorted(found, key=lambda e: (e.day or date.min, e.number)):
        person = source.person(entry.person)
        if person is None:
            continue
        rows.append(
            EntryRow(
                f"entry-{entry.number}",
                str(entry.number),
                f"corrects {entry.first}" if entry.first != entry.number else "",
                day_link(entry.day),
                entry.day.isoformat() if entry.day else "",
                person,
                source.craft(entry.craft),
                what_of(source, entry),
                "" if entry.take is None else str(entry.take),
                entry.frames.text.replace(",", ", ") if entry.frames else "",
                entry.stage or "",
                note_of(source, entry),
                minutes_text(entry.work.minutes),
                minutes_text(entry.work.wait_minutes),
            )
        )
    return tuple(rows)


def makers_of_part(source: PageSource, part: str) -> tuple[Link, ...]:
    """Who made a part, by name; those who mended it are not among them."""
    crafts = source.ledger.crafts
    people = {
        entry.person
        for entry in source.ledger.entries_by_part.get(part, ())
        if entry.craft != "repair" and crafts[entry.craft].kind is Kind.BUILD
    }
    links = (source.person(person) for person in sorted(people, key=source.name_order))
    return tuple(link for link in links if link is not None)


def replacement_rows(source: PageSource, shot: str) -> tuple[ReplacementRow, ...]:
    """Which part shows in which frames, by character and take, in the order they are seen."""
    shown: dict[tuple[str, int | None, str], list[Frames]] = defaultdict(list)
    for replacement in source.ledger.replacements_by_shot.get(shot, ()):
        key = (replacement.character, replacement.take, replacement.part)
        shown[key].append(replacement.frames)
    place = list(source.ledger.characters).index
    sets = {key: union(frames) for key, frames in shown.items()}
    rows = []
    for key in sorted(sets, key=lambda k: (place(k[0]), k[1] or 0, sets[k].ranges, k[2])):
        character, take, part = key
        rows.append(
            ReplacementRow(
                source.character(character),
                part,
                source.ledger.parts[part].kind,
                "every take" if take is None else str(take),
                sets[key].text.replace(",", ", "),
                sets[key].first if sets[key] else 0,
                makers_of_part(source, part),
            )
        )
    return tuple(rows)
