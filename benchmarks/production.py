"""A seeded maker of productions of any size, as the tables that `credits load` reads.

The proportions follow common practice: about twenty stages at once, some hundreds of puppets, a
lead in several copies, three years of work of which the last two are shooting.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

BUILD_CRAFTS = ("sculpt", "armature", "mould", "casting", "fabrication", "costume", "hair", "paint")
SHOT_CRAFTS = ("animation-assist", "rigging", "lip-sync")
FIRST_DAY = date(2023, 1, 9)
FIRST_SHOOT = date(2024, 1, 8)
GIVEN = (
    "Ada Bo Cyd Dov Ewa Fay Gus Hal Ida Jon Kaj Lea Mio Nia Olu Pia Ras Siv Tom Uma Vic Wim Yun Zoë"
)
FAMILY = (
    "Ash Birk Cole Dahl Eng Frost Grün Holm Iqbal Jansen Kask Lund Mori Nagy Øst Pike Quill Rey"
)


@dataclass(frozen=True, slots=True)
class Size:
    """How large a production is made. ``frames_times`` stretches every shot and range."""

    entries: int = 100_000
    shots: int = 1_500
    people: int = 400
    characters: int = 60
    puppets: int = 300
    stages: int = 20
    frames_times: int = 1

    @property
    def parts(self) -> int:
        """Fitted parts: five a puppet."""
        return self.puppets * 5


Row = dict[str, object]


def _write(folder: Path, table: str, rows: Iterable[Mapping[str, object]]) -> None:
    given = list(rows)
    columns = list(dict.fromkeys(column for row in given for column in row))
    with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="")
        writer.writeheader()
        writer.writerows(given)


class Maker:
    """Makes the tables of one production."""

    def __init__(self, size: Size, seed: int = 7) -> None:
        self.size = size
        self.chance = random.Random(seed)
        self.lengths = [
            self.chance.choice((48, 60, 72, 84, 96, 120, 144)) * size.frames_times
            for _ in range(size.shots)
        ]
        self.cast = [self._cast() for _ in range(size.shots)]

    def shot(self, at: int) -> str:
        """The code of a shot."""
        return f"{at // 40 + 1:03d}0-{at % 40 + 1:03d}0"

    def puppet_of(self, at: int) -> int:
        """The character of a puppet: the first characters have the most copies."""
        return min(
            int((at / self.size.puppets) ** 1.6 * self.size.characters), self.size.characters
        )

    def _cast(self) -> list[int]:
        puppets = [
            int(self.chance.random() ** 1.3 * self.size.puppets)
            for _ in range(self.chance.randint(1, 4))
        ]
        return list({self.puppet_of(p): p for p in puppets}.values())

    def day(self, first: date, days: int) -> str:
        """A working day."""
        day = first + timedelta(days=self.chance.randrange(days))
        return (day - timedelta(days=max(day.weekday() - 4, 0))).isoformat()

    def reference(self, folder: Path) -> None:
        """Write every table but the entries and the cut."""
        size, given, family = self.size, GIVEN.split(), FAMILY.split()
        people = []
        for at in range(size.people):
            first, last = given[at % len(given)], family[at // len(given) % len(family)]
            name = f"{first} {last}" + (f" {at // 374 + 1}" if at >= 374 else "")
            people.append({"person": f"p{at}", "credit_name": name, "sort_name": f"{last}, {name}"})
        _write(folder, "people", people)
        jobs = ("Animator", "Puppet maker", "Painter", "Model maker")
        _write(
            folder,
            "engagements",
            (
                {"person": f"p{at}", "department": "crew", "job_title": jobs[at % 4]}
                for at in range(size.people)
            ),
        )
        numbers = range(size.characters)
        _write(folder, "characters", ({"character": f"c{c}", "name": f"Role {c}"} for c in numbers))
        puppets = [
            {"puppet": f"u{p}", "character": f"c{self.puppet_of(p)}", "copy": p}
            for p in range(size.puppets)
        ]
        _write(folder, "puppets", puppets)
        parts = [
            {"part": f"t{t}", "kind": "face", "character": puppets[t // 5]["character"]}
            for t in range(size.parts)
        ]
        _write(folder, "parts", parts)
        fittings = (
            {"part": f"t{t}", "puppet": f"u{t // 5}", "from_on": FIRST_DAY.isoformat()}
            for t in range(size.parts)
        )
        _write(folder, "fittings", fittings)
        codes = [self.shot(at) for at in range(size.shots)]
        sequences = dict.fromkeys(code[:4] for code in codes)
        _write(folder, "sequences", ({"sequence": s, "name": f"Sequence {s}"} for s in sequences))
        shots = (
            {"shot": code, "sequence": code[:4], "frames": length, "status": "done"}
            for code, length in zip(codes, self.lengths, strict=True)
        )
        _write(folder, "shots", shots)
        _write(folder, "stages", ({"stage": f"s{s}", "unit": "1"} for s in range(size.stages)))
        takes = (
            {"shot": code, "take": 1, "purpose": "shoot", "decision": "accepted"} for code in codes
        )
        _write(folder, "takes", takes)

    def _shoot(self, count: int) -> Iterable[Row]:
        for at in range(count):
            number = at % self.size.shots
            length = self.lengths[number]
            puppet = self.chance.choice(self.cast[number])
            footage = self.chance.random() < 0.75
            first = self.chance.randint(1, length - 7)
            last = min(length, first + self.chance.randint(4, 30) * self.size.frames_times)
            yield {
                "craft": "animation" if footage else self.chance.choice(SHOT_CRAFTS),
                "person": f"p{(number * 7 + self.chance.randrange(4)) % (self.size.people // 5)}",
                "puppet": f"u{puppet}",
                "shot": self.shot(number),
                "frames": f"{first}-{last}",
                "poses_on": self.chance.choice((1, 2)),
                "finished_on": self.day(FIRST_SHOOT, 700),
                "minutes": self.chance.randint(60, 540),
                "stage": f"s{number % self.size.stages}",
                "ref": f"S-{at}",
            }

    def _build(self, count: int) -> Iterable[Row]:
        for at in range(count):
            on_part = at % 3 == 0
            thing = f"t{at % self.size.parts}" if on_part else f"u{at % self.size.puppets}"
            yield {
                "craft": "faces" if on_part else self.chance.choice(BUILD_CRAFTS),
                "person": f"p{self.size.people // 5 + at % (self.size.people * 4 // 5)}",
                "part" if on_part else "puppet": thing,
                "finished_on": self.day(FIRST_DAY, 700),
                "minutes": self.chance.randint(30, 540),
                "ref": f"B-{at}",
            }

    def _voices(self) -> Iterable[Row]:
        for at in range(self.size.characters):
            yield {
                "craft": "voice",
                "person": f"p{self.size.people - 1 - at}",
                "character": f"c{at}",
            }

    def entries(self, folder: Path) -> None:
        """Write the entries: three fifths of them on the stages, the rest in the workshops."""
        shoot = self.size.entries * 3 // 5
        build = self.size.entries - shoot - self.size.characters
        _write(folder, "entries", (*self._voices(), *self._shoot(shoot), *self._build(build)))

    def cut(self, folder: Path) -> None:
        """Write the cut: every shot once, with handles trimmed."""
        rows: Sequence[Row] = [
            {"shot": self.shot(at), "first": 5, "last": self.lengths[at] - 4}
            for at in range(self.size.shots)
        ]
        _write(folder, "cut", rows)


def make(folder: Path, size: Size, seed: int = 7) -> None:
    """Write all tables and the cut of a production into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    maker = Maker(size, seed)
    maker.reference(folder)
    maker.entries(folder)
    maker.cut(folder)
