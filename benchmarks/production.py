"""A seeded maker of productions of any size, as the tables that ``credits load`` reads.

The proportions follow common practice: about twenty stages at once, some hundreds of puppets, a
lead in several copies, three years of work of which the last two are shooting. The same size and
seed give the same bytes. Everything that a log may hold is in it: frames that several people share,
takes that were asked for again, faces that are replaced frame by frame, parts that move from puppet
to puppet, repairs that a stage waited for, and a sheet that comes again with rows corrected and
gone.
"""

from __future__ import annotations

import argparse
import csv
import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

FIRST_DAY = date(2023, 1, 9)
FIRST_SHOOT = date(2024, 1, 8)
SHOOT_DAYS = 500
WORKSHOP_DAYS = 520
SHOT_CRAFTS = ("animation-assist", "rigging", "lip-sync")
ON_PUPPETS = ("sculpt", "mould", "casting", "fabrication", "paint")
KINDS = {"armature": "armature", "costume": "costume", "hair": "hair", "hands": "fabrication"}
"""The kinds of parts that are fitted, each with the craft that makes it."""
FACES = 60
"""How many replacement faces a lead has."""
JOBS = (
    ("Animation", "Animator"),
    ("Puppets", "Puppet maker"),
    ("Puppets", "Painter"),
    ("Puppet hospital", "Puppet doctor"),
    ("Faces", "Face artist"),
)
GIVEN = (
    "Ada Bo Cyd Dov Ewa Fay Gus Hal Ida Jon Kaj Lea Mio Nia Olu Pia Ras Siv Tom Uma Vic Wim Yun Zoë"
)
FAMILY = (
    "Ash Birk Cole Dahl Eng Frost Grün Holm Iqbal Jansen Kask Lund Mori Nagy Øst Pike Quist Rey "
    "Sand Thun"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How large a production is made. ``entries``: lines of the log, corrections too.

    ``frames_times`` stretches every shot and every range of frames.
    """

    entries: int
    shots: int
    people: int
    characters: int
    puppets: int
    stages: int
    frames_times: int = 1


FEATURE = Size(entries=111_075, shots=1_500, people=400, characters=60, puppets=412, stages=20)
SIZES = {
    "feature": FEATURE,
    "ten": Size(
        entries=1_110_000, shots=15_000, people=4_000, characters=600, puppets=4_120, stages=200
    ),
    "long": Size(
        entries=111_075, shots=1_500, people=400, characters=60, puppets=412, stages=20,
        frames_times=10,
    ),
}  # fmt: skip
"""A feature; ten times that; the feature with ten times the frames."""

Row = dict[str, object]


def write_table(file: Path, rows: Iterable[Row]) -> int:
    """Write rows as a table, in the columns of the first row; return how many there are."""
    written = 0
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer: csv.DictWriter[str] | None = None
        for row in rows:
            if writer is None:
                writer = csv.DictWriter(opened, list(row), restval="")
                writer.writeheader()
            writer.writerow(row)
            written += 1
    return written


def working_day(first: date, number: int) -> str:
    """Return the working day of that number, counted from a Monday."""
    return (first + timedelta(days=number // 5 * 7 + number % 5)).isoformat()


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One shot as it is shot: where, when, by whom, with which puppets, in which takes."""

    code: str
    length: int
    stage: int
    first_day: int
    days: int
    team: tuple[int, ...]
    puppets: tuple[int, ...]
    purposes: tuple[str, ...]

    @property
    def takes(self) -> int:
        """Return how many takes there are; the last is accepted."""
        return len(self.purposes)


class Maker:
    """Makes the tables of one production."""

    def __init__(self, size: Size, seed: int = 7) -> None:
        self.size = size
        self.chance = random.Random(seed)
        self.animators = size.people // 5

    # -- what there is

    @cached_property
    def character_of(self) -> tuple[int, ...]:
        """The character of each puppet: the first characters have the most copies."""
        puppets, characters = self.size.puppets, self.size.characters
        return tuple(int((at / puppets) ** 1.6 * characters) for at in range(puppets))

    @cached_property
    def copies(self) -> Mapping[int, tuple[int, ...]]:
        """The puppets of each character that has any."""
        found: dict[int, list[int]] = {}
        for puppet, character in enumerate(self.character_of):
            found.setdefault(character, []).append(puppet)
        return {character: tuple(puppets) for character, puppets in found.items()}

    @cached_property
    def shots(self) -> tuple[Planned, ...]:
        """The shots: each stage takes one after the other, a week or two for each."""
        return tuple(self._planned(at) for at in range(self.size.shots))

    def _planned(self, at: int) -> Planned:
        chance, size = self.chance, self.size
        stage, place = at % size.stages, at // size.stages
        team = [stage * self.animators // size.stages + k for k in range(4)]
        leads = [int(chance.random() ** 2 * len(self.copies)) for _ in range(chance.randint(1, 4))]
        cast = [list(self.copies)[lead] for lead in dict.fromkeys(leads)]
        shoots = chance.choice((1, 1, 1, 2, 2, 3))
        return Planned(
            code=f"{at // 40 + 1:03d}0-{at % 40 + 1:03d}0",
            length=chance.choice((36, 48, 60, 72, 84, 96, 120, 127)) * size.frames_times,
            stage=stage,
            first_day=place * SHOOT_DAYS * size.stages // size.shots,
            days=chance.randint(5, 12),
            team=tuple(person % self.animators for person in team),
            puppets=tuple(chance.choice(self.copies[character]) for character in cast),
            purposes=("block",) * (chance.random() < 0.3) + ("shoot",) * shoots,
        )

    @property
    def lead_characters(self) -> int:
        """How many characters have replacement faces."""
        return max(self.size.characters // 6, 1)

    # -- the tables

    def people(self) -> Iterator[Row]:
        """Yield everybody; two of them are known by two codes."""
        firsts, lasts = GIVEN.split(), FAMILY.split()
        for at in range(self.size.people):
            given, family = firsts[at % len(firsts)], lasts[at // len(firsts) % len(lasts)]
            more = at // (len(firsts) * len(lasts))
            family += f"-{lasts[more - 1]}" if more else ""
            yield {
                "person": f"p{at}",
                "credit_name": f"{given} {family}",
                "sort_name": f"{family}, {given}",
                "name_confirmed_on": "2025-09-01" if at % 3 else "",
                "same_as": f"p{at - 7}" if at in (self.animators - 1, self.size.people - 1) else "",
            }

    def engagements(self) -> Iterator[Row]:
        """Yield a job for everybody, and a heading by contract for a few."""
        for at in range(self.size.people):
            department, title = JOBS[0] if at < self.animators else JOBS[1 + at % 4]
            yield {
                "person": f"p{at}",
                "department": department,
                "job_title": title,
                "starts_on": FIRST_DAY.isoformat(),
                "ends_on": "2026-03-31",
                "guaranteed_heading": "Lead animators" if at < 3 else "",
                "billing_number": at + 1 if at < 3 else "",
            }

    def characters(self) -> Iterator[Row]:
        """Yield the characters."""
        for at in range(self.size.characters):
            yield {"character": f"c{at}", "name": f"Role {at}", "silent": "no"}

    def puppets(self) -> Iterator[Row]:
        """Yield the puppets, numbered within their character."""
        for at, character in enumerate(self.character_of):
            copy = self.copies[character].index(at) + 1
            yield {"puppet": f"u{at}", "character": f"c{character}", "copy": copy}

    def parts(self) -> Iterator[Row]:
        """Yield what is fitted, four parts a puppet and a spare, and the replacement faces."""
        for puppet, character in enumerate(self.character_of):
            for kind in (*KINDS, "spare"):
                yield {
                    "part": f"u{puppet}-{kind}",
                    "kind": "hands" if kind == "spare" else kind,
                    "character": f"c{character}",
                }
        for character in range(self.lead_characters):
            for face in range(FACES):
                yield {
                    "part": f"c{character}-face-{face}",
                    "kind": "face",
                    "character": f"c{character}",
                }

    def fittings(self) -> Iterator[Row]:
        """Yield what was fitted when: of every third puppet the hands make way for the spare."""
        for puppet in range(self.size.puppets):
            changed = working_day(FIRST_SHOOT, 40 + puppet % 400) if puppet % 3 == 0 else ""
            before = date.fromisoformat(changed) - timedelta(days=1) if changed else ""
            for kind in KINDS:
                ends = before if kind == "hands" else ""
                yield self._fitting(f"u{puppet}-{kind}", puppet, FIRST_DAY.isoformat(), ends)
            if changed:
                yield self._fitting(f"u{puppet}-spare", puppet, changed, "")

    def _fitting(self, part: str, puppet: int, first: str, last: object) -> Row:
        return {"part": part, "puppet": f"u{puppet}", "from_on": first, "to_on": last}

    def sequences(self) -> Iterator[Row]:
        """Yield the sequences: forty shots in each."""
        for code in dict.fromkeys(shot.code[:-5] for shot in self.shots):
            yield {"sequence": code, "name": f"Sequence {code}"}

    def shot_rows(self) -> Iterator[Row]:
        """Yield the shots."""
        for shot in self.shots:
            yield {
                "shot": shot.code,
                "sequence": shot.code[:-5],
                "frames": shot.length,
                "status": "done",
            }

    def stages(self) -> Iterator[Row]:
        """Yield the stages, in two units."""
        for stage in range(self.size.stages):
            yield {"stage": f"s{stage}", "unit": 1 + stage % 2}

    def takes(self) -> Iterator[Row]:
        """Yield the takes: the last of a shot is accepted, those before were asked for again."""
        for shot in self.shots:
            for number, purpose in enumerate(shot.purposes, 1):
                last = number == shot.takes
                yield {
                    "shot": shot.code,
                    "take": number,
                    "purpose": purpose,
                    "decision": "accepted" if last else "retake",
                    "decided_on": working_day(FIRST_SHOOT, shot.first_day + shot.days + number),
                }

    def replacements(self) -> Iterator[Row]:
        """Yield the face sheets: a lead's faces in the accepted take, a few frames each."""
        for shot in self.shots:
            shown = [c for p in shot.puppets if (c := self.character_of[p]) < self.lead_characters]
            for character in shown:
                faces = self.chance.sample(range(FACES), 9)
                ends = [shot.length * k // len(faces) for k in range(len(faces) + 1)]
                for face, first, last in zip(faces, ends, ends[1:], strict=False):
                    yield {
                        "shot": shot.code,
                        "take": shot.takes,
                        "character": f"c{character}",
                        "part": f"c{character}-face-{face}",
                        "frames": f"{first + 1}-{last}",
                    }

    def cut(self) -> Iterator[Row]:
        """Yield the cut: nearly every shot, trimmed; some seen twice, some at another speed."""
        for at, shot in enumerate(self.shots):
            if at % 50 == 49:
                continue
            first, last = self.chance.randint(3, 8), shot.length - self.chance.randint(2, 7)
            speed = {17: "2", 39: "1/2", 61: "-1"}.get(at % 80, "")
            clip = {"shot": shot.code, "take": "", "first": first, "last": last, "speed": speed}
            yield clip
            if at % 90 == 89:
                yield {**clip, "last": first + 11, "speed": ""}

    # -- the entries

    @property
    def corrected(self) -> tuple[int, int]:
        """How many entries are amended, and how many voided, when a sheet comes again."""
        return self.size.entries // 100, self.size.entries // 400

    @property
    def recorded(self) -> int:
        """How many lines of the log are neither amendment nor void."""
        return self.size.entries - sum(self.corrected)

    def _entry(self, **said: object) -> Row:
        columns = (
            *("ref", "craft", "person", "character", "puppet", "part", "shot", "take", "frames"),
            *("poses_on", "share", "finished_on", "minutes", "wait_minutes", "stage"),
        )
        return {**dict.fromkeys(columns, ""), **said}

    def stage_entries(self, count: int, letter: str) -> Iterator[Row]:
        """Yield work in shots: three of four entries animate, some of them shared by two."""
        chance, made = self.chance, 0
        while made < count:
            shot = self.shots[made * 7 % self.size.shots]
            first = chance.randint(1, shot.length - 7)
            last = min(shot.length, first + chance.randint(6, 28) * self.size.frames_times)
            puppet = chance.choice(shot.puppets)
            day = shot.first_day + chance.randrange(shot.days)
            take = shot.takes if chance.random() < 0.8 else chance.randint(1, shot.takes)
            said: Row = {
                "shot": shot.code,
                "take": take,
                "frames": f"{first}-{last}",
                "finished_on": working_day(FIRST_SHOOT, day),
                "minutes": chance.randint(60, 240),
                "stage": f"s{shot.stage}",
            }
            if chance.random() >= 0.75:
                craft, person = chance.choice(SHOT_CRAFTS), f"p{chance.choice(shot.team)}"
                said |= {"craft": craft, "character": f"c{self.character_of[puppet]}"}
                people, shares = [person], [""]
            else:
                said |= {"craft": "animation", "puppet": f"u{puppet}"}
                said |= {"poses_on": chance.choice((1, 2, 2))}
                together = chance.random() < 0.06 and made + 1 < count
                people = [f"p{p}" for p in chance.sample(shot.team, 1 + together)]
                shares = [chance.choice(("2", "1/2", "3")), "1"] if together else [""]
            for person, share in zip(people, shares, strict=True):
                ref = f"{letter}{made}"
                yield self._entry(ref=ref, person=person, share=share, **said)
                made += 1

    def workshop_entries(self, count: int) -> Iterator[Row]:
        """Yield what was made: voices first, then puppets, their parts, and faces."""
        chance, size = self.chance, self.size
        for at in range(size.characters):
            voice = f"p{size.people - 2 - at}"
            yield self._entry(ref=f"V{at}", craft="voice", person=voice, character=f"c{at}")
        makers = size.people - self.animators
        fitted = (*KINDS, "spare")
        for at in range(count - size.characters):
            puppet = at % size.puppets
            said: Row
            if at % 3 == 0:
                kind = fitted[at // 3 % len(fitted)]
                said = {"craft": KINDS.get(kind, "fabrication"), "part": f"u{puppet}-{kind}"}
            elif at % 7 == 1:
                face = at // 7 % (FACES * self.lead_characters)
                said = {"craft": "faces", "part": f"c{face // FACES}-face-{face % FACES}"}
            elif at % 97 == 2:
                said = {"craft": "design", "character": f"c{at % size.characters}"}
            else:
                said = {"craft": chance.choice(ON_PUPPETS), "puppet": f"u{puppet}"}
            yield self._entry(
                ref=f"W{at}",
                person=f"p{self.animators + at * 13 % makers}",
                finished_on=working_day(FIRST_DAY, chance.randrange(WORKSHOP_DAYS)),
                minutes=chance.randint(30, 540),
                **said,
            )

    def hospital_entries(self, count: int) -> Iterator[Row]:
        """Yield repairs: on the stage, which waits for every third, or in the workshop."""
        chance = self.chance
        for at in range(count):
            shot = chance.choice(self.shots)
            doctor = self.animators + chance.randrange(max(self.size.people // 40, 1)) * 4
            said: Row = {"minutes": chance.randint(5, 240)}
            if at % 3 == 0:
                said |= {"shot": shot.code, "stage": f"s{shot.stage}"}
                said |= {"wait_minutes": chance.randint(5, 60)}
            yield self._entry(
                ref=f"H{at}",
                craft="repair",
                person=f"p{doctor}",
                puppet=f"u{chance.choice(shot.puppets)}",
                finished_on=working_day(FIRST_SHOOT, shot.first_day + chance.randrange(shot.days)),
                **said,
            )

    def come_again(self, rows: Iterable[Row]) -> Iterator[Row]:
        """Yield the rows of a sheet as they come again: some corrected, some gone."""
        amended, voided = self.corrected
        for at, row in enumerate(rows):
            if at < amended:
                first, last = str(row["frames"]).split("-")
                person = f"p{(int(str(row['person'])[1:]) + 1) % self.animators}"
                changed = {"frames": f"{first}-{int(last) - 2}"} if at % 2 else {"person": person}
                yield {**row, **changed}
            elif at >= amended + voided:
                yield row

    def write(self, folder: Path) -> int:
        """Write the tables, the cut and the sheet that comes again; return how many rows load."""
        tables, again = folder / "tables", folder / "again"
        for each in (tables, again):
            each.mkdir(parents=True, exist_ok=True)
        rows = {
            "people": self.people(),
            "engagements": self.engagements(),
            "characters": self.characters(),
            "puppets": self.puppets(),
            "parts": self.parts(),
            "fittings": self.fittings(),
            "sequences": self.sequences(),
            "shots": self.shot_rows(),
            "stages": self.stages(),
            "takes": self.takes(),
            "replacements": self.replacements(),
        }
        shoot, hospital = self.recorded * 3 // 5, self.recorded // 12
        unit_2 = list(self.stage_entries(shoot // 10, "U"))
        stages = self.stage_entries(shoot - len(unit_2), "S")
        rows |= {
            "entries-unit-2": iter(unit_2),
            "entries-stages": stages,
            "entries-hospital": self.hospital_entries(hospital),
            "entries-workshops": self.workshop_entries(self.recorded - shoot - hospital),
        }
        written = sum(write_table(tables / f"{name}.csv", own) for name, own in rows.items())
        write_table(again / "entries-unit-2.csv", self.come_again(unit_2))
        write_table(folder / "cut.csv", self.cut())
        return written


def main() -> None:
    """Write the tables of a production of one size into a folder."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("size", choices=SIZES)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    print(Maker(SIZES[asked.size], asked.seed).write(asked.folder))


if __name__ == "__main__":
    main()
