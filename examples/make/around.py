"""Everybody around the animators: rigs, assistance, repairs, track reading, lip sync, voices."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import islice

from .chance import LAST_DAY, Chance, next_workday, workdays
from .crew import ASSISTANTS, HOSPITAL, RIGGERS, is_engaged
from .schedule import Booked
from .shoot import Floor
from .story import SHOTS, status
from .tables import Entry

VOICES = {
    "tibb": "ilgin",
    "echo": "anush",
    "fugg": "tegid",
    "crank": "femi",
    "sprat": "hohenz",
    "yost": "vaino",
    "bray": "joao",
    "stamm": "beppe",
    "prim": "hinewai",
    "posy": "hinewai",
}
RIGGED = frozenset({"stamm", "echo", "yost", "piano", "tibb"})


def _on_stage(craft: str, person: str, b: Booked, character: str, minutes: int) -> Entry:
    entry = Entry(craft, person, character, shot=b.shot.code, take=b.day.take, stage=b.stage)
    entry.finished_on, entry.minutes = b.on, minutes
    return entry


def _free(floor: Floor, people: tuple[str, ...], b: Booked, chance: Chance) -> str | None:
    for person in chance.mixed(people):
        if floor.is_free(person, b.on, b.stage) and is_engaged(person, b.on):
            return person
    return None


def work_around(floor: Floor, booked: list[Booked]) -> None:
    """Rigs, assistance and repairs on the stages, day by day."""
    for b in booked:
        chance = Chance("around", b.shot.code, b.on)
        first = b.shot.cast[0].character
        if first in RIGGED and chance.happens(34):
            person = _free(floor, RIGGERS, b, chance)
            if person:
                floor.add(_on_stage("rigging", person, b, first, chance.between(60, 300, 15)))
        if chance.happens(40):
            person = _free(floor, ASSISTANTS, b, chance)
            if person:
                minutes = chance.between(120, 480, 15)
                entry = _on_stage("animation-assist", person, b, first, minutes)
                entry.first, entry.last = b.day.first, b.day.last
                floor.add(entry)
        if chance.happens(22):
            _mend(floor, b, chance)


def _mend(floor: Floor, b: Booked, chance: Chance) -> None:
    """Somebody from the hospital comes to the stage with a small tin of screws."""
    person = _free(floor, HOSPITAL, b, chance)
    if person is None:
        return
    character = chance.of(sorted(b.puppets))
    entry = _on_stage("repair", person, b, character, chance.between(15, 90, 5))
    entry.puppet, entry.take = b.puppets[character], 0
    if chance.happens(65):
        entry.wait_minutes = min(entry.minutes, chance.between(5, 60, 5))
    floor.add(entry)


def hospital_nights(booked: list[Booked]) -> list[Entry]:
    """Repairs at the bench, no stage and nobody waiting: a copy that has just been shot."""
    entries: list[Entry] = []
    for b in booked:
        chance = Chance("bench", b.shot.code, b.on)
        if not chance.happens(28):
            continue
        day = next_workday(b.on)
        person = chance.of([p for p in HOSPITAL if is_engaged(p, day)])
        puppet = b.puppets[chance.of(sorted(b.puppets))]
        entry = Entry("repair", person, puppet=puppet, finished_on=day)
        entry.minutes = chance.between(30, 180, 10)
        if chance.happens(15) and day.weekday() > 0:
            entry.started_on = day - timedelta(days=day.weekday())
        if day <= LAST_DAY:
            entries.append(entry)
    return sorted(entries, key=lambda e: (e.finished_on or date.min, e.person))


def readings() -> list[Entry]:
    """Track reading of every shot that speaks, and its lip sync, before the shoot."""
    entries: list[Entry] = []
    days = list(islice(workdays(date(2025, 10, 6)), 60))
    speaking = [(shot, part) for shot in SHOTS for part in shot.cast if part.speaks]
    for number, (shot, part) in enumerate(speaking):
        if status(shot.code) == "planned":
            continue
        chance = Chance("reading", shot.code, part.character)
        for craft, person, later in (("track-reading", "theodora", 0), ("lip-sync", "pilar", 3)):
            entry = Entry(craft, person, part.character, shot=shot.code)
            entry.finished_on = days[min(number + later, len(days) - 1)]
            entry.minutes = chance.between(45, 180, 15)
            if part.first > 1 or part.last < shot.frames:
                entry.first, entry.last = part.first, part.last
            entries.append(entry)
    return sorted(entries, key=lambda e: (e.finished_on or date.min, e.shot))


def voices() -> list[Entry]:
    """The recordings of the summer before, the pick-ups in February, the singing."""
    entries: list[Entry] = []
    for character, person in VOICES.items():
        chance = Chance("voice", character)
        start = date(2025, 6, 2) + timedelta(days=chance.below(30))
        for day in islice(workdays(start), chance.between(1, 4)):
            minutes = chance.between(120, 300, 30)
            entries.append(Entry("voice", person, character, finished_on=day, minutes=minutes))
    for person, character in (("ilgin", "tibb"), ("femi", "crank")):
        entry = Entry("voice", person, character, finished_on=date(2026, 2, 17), minutes=90)
        entries.append(entry)
    entries.append(Entry("voice", "fjodda", "posy", sequence="020"))
    entries.append(Entry("voice", "beppe", "stamm"))
    for sequence, day in (("010", date(2025, 8, 12)), ("060", date(2025, 8, 13))):
        entry = Entry("singing", "kealani", "yost", sequence=sequence, finished_on=day)
        entry.minutes = 240
        entries.append(entry)
    return entries
