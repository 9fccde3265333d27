"""The year before the shoot: what each copy was made of, by whom, on which days."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import islice

from .cast import CHARACTERS, LATE, Character, puppets_of
from .chance import Chance, next_workday, workdays
from .crew import POOLS, is_engaged
from .stock import hands_of, kits_of
from .tables import Entry

CHARACTER_STEPS = (("design", 7, 13), ("maquette", 4, 6), ("sculpt", 7, 12), ("mould", 4, 8))
PUPPET_STEPS = (("casting", 2, 3), ("fabrication", 5, 9), ("paint", 2, 4))
KIT_STEPS = (("faces", 6, 10), ("paint", 2, 3), ("eyes", 1, 2))
FULL_DAY = 540
LONGEST_LOOK = 40
APART = {"copies": 30, "kits": 21}
"""Calendar days between the beginnings of one copy (or kit) and the next."""


@dataclass(slots=True)
class Workshop:
    """The log of the workshops as it grows, and how full everybody's days are."""

    entries: list[Entry] = field(default_factory=list)
    used: dict[tuple[str, date], int] = field(default_factory=dict)
    ready: dict[str, date] = field(default_factory=dict)

    def _somebody(self, craft: str, day: date, minutes: int, chance: Chance) -> str | None:
        for person in chance.mixed(POOLS[craft]):
            has_time = self.used.get((person, day), 0) + minutes <= FULL_DAY
            if has_time and is_engaged(person, day):
                return person
        return None

    def step(self, craft: str, days: int, start: date, thing: Entry, chance: Chance) -> date:
        """Log so many days of one craft on one thing; give the last day."""
        done, last = 0, start
        for day in islice(workdays(start), LONGEST_LOOK):
            minutes = chance.between(135, 510, 15)
            person = self._somebody(craft, day, minutes, chance)
            if person is not None:
                self._log(craft, person, day, minutes, thing, chance)
                done, last = done + 1, day
            if done == days:
                return last
        raise ValueError(f"{craft} on {thing.puppet or thing.part or thing.character}: no time")

    def _log(
        self, craft: str, person: str, day: date, minutes: int, thing: Entry, chance: Chance
    ) -> None:
        self.used[person, day] = self.used.get((person, day), 0) + minutes
        entry = Entry(craft, person, thing.character, thing.puppet, thing.part)
        entry.finished_on, entry.minutes = day, minutes
        if craft in ("sculpt", "mould", "hair") and chance.happens(12) and day.weekday() > 1:
            entry.started_on = day - timedelta(days=day.weekday())
        self.entries.append(entry)


def _bench(day: date, chance: Chance) -> date:
    """When the next bench is free for a thing: glue, plaster and people take their time."""
    return day + timedelta(days=chance.between(1, 6))


def _character(shop: Workshop, c: Character) -> dict[str, date]:
    """Design to moulds of one character; the day on which each step was done."""
    done: dict[str, date] = {}
    day = c.begins
    for craft, low, high in CHARACTER_STEPS:
        chance = Chance("build", c.code, craft)
        thing = Entry(craft, "", c.code)
        done[craft] = shop.step(craft, chance.between(low, high), day, thing, chance)
        day = _bench(done[craft], chance)
    return done


def _puppet(shop: Workshop, c: Character, n: int, start: date) -> None:
    puppet = f"{c.code}-{n}"
    chance = Chance("build", puppet)
    armature = Entry("", "", part=f"{c.code}-armature-{n}")
    day = shop.step("armature", chance.between(3, 5), start, armature, chance)
    shop.ready[armature.part] = next_workday(day)
    for craft, low, high in PUPPET_STEPS:
        thing = Entry("", "", puppet=puppet)
        day = shop.step(craft, chance.between(low, high), _bench(day, chance), thing, chance)
    if c.hair:
        thing = Entry("", "", puppet=puppet)
        day = shop.step("hair", chance.between(1, 3), _bench(day, chance), thing, chance)
    if c.costume:
        thing = Entry("", "", part=f"{c.code}-{c.costume}-{n}")
        day = shop.step("costume", chance.between(3, 4), _bench(day, chance), thing, chance)
    if not c.kits and c.code != "piano":
        thing = Entry("", "", puppet=puppet)
        day = shop.step("eyes", 1, _bench(day, chance), thing, chance)
    shop.ready[puppet] = next_workday(day)


def _loose_parts(shop: Workshop, c: Character, start: date) -> None:
    for number, kit in enumerate(kits_of(c)):
        chance = Chance("build", kit)
        day = start + timedelta(days=APART["kits"] * number)
        for craft, low, high in KIT_STEPS:
            thing = Entry("", "", part=kit)
            day = shop.step(craft, chance.between(low, high), day, thing, chance)
            day = _bench(day, chance)
        for face in (chance.between(1, c.faces), chance.between(1, c.faces)):
            thing = Entry("", "", part=f"{c.code}-{kit[-1]}-{face:02}")
            day = next_workday(shop.step("faces", 1, day, thing, chance))
        shop.ready[kit] = day
    for hands in hands_of(c):
        chance = Chance("build", hands)
        day = shop.step("casting", 1, start, Entry("", "", part=hands), chance)
        day = shop.step("paint", 1, _bench(day, chance), Entry("", "", part=hands), chance)
        shop.ready[hands] = next_workday(day)


def build() -> Workshop:
    """Everything that was built: entries by day, and the day on which each copy was ready."""
    shop = Workshop()
    for c in CHARACTERS:
        done = _character(shop, c)
        start = next_workday(done["mould"])
        for n, puppet in enumerate(puppets_of(c.code), 1):
            begun = LATE.get(puppet, start + timedelta(days=APART["copies"] * (n - 1)))
            _puppet(shop, c, n, begun)
        _loose_parts(shop, c, next_workday(done["sculpt"]))
    _special(shop)
    shop.entries.sort(key=lambda e: (e.finished_on or date.min, e.person, e.craft))
    return shop


def _special(shop: Workshop) -> None:
    """Props and heads, Stamm's own designer, and drawings that nobody dated."""
    for craft, part, start in (
        ("fabrication", "tibb-fork", date(2025, 9, 8)),
        ("fabrication", "echo-trumpet", date(2025, 11, 3)),
        ("casting", "echo-head-wide", date(2025, 11, 10)),
        ("faces", "echo-head-wide", date(2025, 11, 17)),
        ("faces", "yost-head-yodel", date(2025, 10, 20)),
        ("fabrication", "piano-lid", date(2025, 11, 24)),
        ("paint", "piano-lid", date(2025, 12, 1)),
        ("mould", "echo-trumpet", date(2025, 11, 12)),
    ):
        shop.step(craft, 2, start, Entry("", "", part=part), Chance("special", craft, part))
    for day in islice(workdays(date(2025, 5, 19)), 5):
        entry = Entry("design", "rosario", "stamm", finished_on=day, minutes=300)
        shop.entries.append(entry)
    for character, person in (("ullo", "ase"), ("piano", "yaz"), ("echo", "ase")):
        shop.entries.append(Entry("design", person, character))
