"""The animators' days: who animated which character, how many frames, with which copy."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from .cast import BY_CODE
from .chance import Chance
from .plan import PLAIN
from .schedule import Booked
from .tables import Entry

HOME = {"S1": "kaoru", "S2": "heting", "S3": "boram", "S4": "rasha", "S5": "mrinal", "S6": "natela"}
ROAMING = ("rosario", "figgy", "jem", "quoll")
SUPERVISOR = "mireille"
SECOND_CODE_UNTIL = date(2026, 2, 20)
SHARES = (("2", "1"), ("1/2", "1/2"), ("3", "1"), ("", ""))


@dataclass(frozen=True, slots=True)
class Team:
    """Who animates a shot: one for everything, one a character, or both on all of it."""

    lead: str
    second: str = ""
    shared: bool = False
    shares: tuple[str, str] = ("", "")

    def on(self, character_number: int) -> list[tuple[str, str]]:
        """The people on a shot's first, second, ... character, with their shares."""
        if self.shared:
            return [(self.lead, self.shares[0]), (self.second, self.shares[1])]
        who = self.second if self.second and character_number else self.lead
        return [(who, "")]


@dataclass(slots=True)
class Floor:
    """The shoot's log as it grows, and on which stage each person is each day."""

    entries: list[Entry] = field(default_factory=list)
    place: dict[tuple[str, date], str] = field(default_factory=dict)

    def is_free(self, person: str, day: date, stage: str) -> bool:
        """Whether somebody can be on a stage on a day without being on another."""
        return self.place.get((person, day), stage) == stage

    def add(self, entry: Entry) -> Entry:
        """Log an entry; the person is on that stage that day."""
        if entry.finished_on is not None and entry.stage:
            key = (entry.person, entry.finished_on)
            if self.place.setdefault(key, entry.stage) != entry.stage:
                raise ValueError(f"{entry.person} is on two stages on {entry.finished_on}")
        self.entries.append(entry)
        return entry


def _roamer(floor: Floor, days: list[Booked], chance: Chance, but: str = "") -> str | None:
    start, end = days[0].on, days[-1].on + timedelta(days=1)
    for person in chance.mixed(ROAMING):
        dates = (start + timedelta(days=n) for n in range((end - start).days + 1))
        if person != but and all(floor.is_free(person, day, days[0].stage) for day in dates):
            return person
    return None


def _team(floor: Floor, days: list[Booked], chance: Chance) -> Team:
    home = HOME[days[0].stage]
    lead = home
    if chance.happens(40):
        lead = _roamer(floor, days, chance) or home
    if days[0].shot.code in PLAIN:
        return Team(home)
    if chance.happens(50):
        second = _roamer(floor, days, chance, lead) or (home if home != lead else None)
        if second is not None:
            shared = len(days[0].shot.cast) == 1 or chance.happens(25)
            return Team(lead, second, shared, chance.of(SHARES))
    return Team(lead)


def _takes_over(floor: Floor, b: Booked, team: Team, chance: Chance) -> Team:
    """Now and then somebody else finishes a day's work or does frames again."""
    if team.second or b.shot.code in PLAIN or not chance.happens(45 if b.day.again else 7):
        return team
    for person in (HOME[b.stage], SUPERVISOR, *chance.mixed(ROAMING)):
        if person != team.lead and floor.is_free(person, b.on, b.stage):
            return Team(person)
    return team


def _poses_on(b: Booked, character: str) -> int:
    if b.day.purpose != "shoot":
        return 3
    usual = BY_CODE[character].poses_on
    other = Chance("poses", b.shot.code, character)
    return other.between(1, 2) if usual == 2 and other.happens(45) else usual


def _animate(floor: Floor, b: Booked, team: Team, chance: Chance) -> None:
    """One day in front of the camera: an entry for each person and character."""
    lines = [
        (part, who, share)
        for number, part in enumerate(b.shot.cast)
        for who, share in team.on(number)
        if part.first <= b.day.last and b.day.first <= part.last
    ]
    for part, who, share in lines:
        mine = sum(1 for _, other, _ in lines if other == who)
        code = "otterway" if who == "jem" and _second_code(b) else who
        entry = Entry("animation", code, part.character, b.puppets[part.character])
        entry.shot, entry.take, entry.stage = b.shot.code, b.day.take, b.stage
        entry.first, entry.last = max(part.first, b.day.first), min(part.last, b.day.last)
        entry.finished_on, entry.share = b.on, share
        entry.poses_on = _poses_on(b, part.character)
        entry.minutes = chance.between(450, 600, 15) // mine
        floor.place[who, b.on] = b.stage
        floor.add(entry)


def _second_code(b: Booked) -> bool:
    """Stage 2 wrote Jem Otterway as somebody else until the office noticed."""
    return b.stage == "S2" and b.on <= SECOND_CODE_UNTIL


def animate_everything(booked: list[Booked]) -> Floor:
    """The animators' entries of the whole shoot, shot by shot."""
    floor = Floor()
    by_shot: dict[str, list[Booked]] = {}
    for b in booked:
        by_shot.setdefault(b.shot.code, []).append(b)
    for days in by_shot.values():
        floor.place.update({(HOME[b.stage], b.on): b.stage for b in days})
    for code, days in by_shot.items():
        chance = Chance("team", code)
        team = _team(floor, days, chance)
        for b in days:
            _animate(floor, b, _takes_over(floor, b, team, chance), chance)
    return floor
