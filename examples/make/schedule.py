"""Which shot is on which stage on which days, with which copies of the puppets."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from itertools import islice

from .cast import BY_CODE, RETIRED, SMALL, puppets_of, wears_faces
from .chance import FIRST_DAY, LAST_DAY, Chance, next_workday, workdays
from .plan import Day, days_of
from .stock import Stock, kits_of
from .story import SHOTS, Shot

STAGES: dict[str, str] = {f"S{n}": "Main unit" if n < 5 else "Second unit" for n in range(1, 7)}
SETS: dict[str, tuple[str, ...]] = {
    "010": ("S1", "S5"),
    "020": ("S2", "S5", "S1"),
    "030": ("S3", "S6"),
    "040": ("S4", "S6"),
    "050": ("S4", "S3", "S2"),
    "060": ("S1", "S5", "S2"),
}
SWAPPED = ("020-120", "040-140", "060-110")
"""Shots in which a copy broke and another copy went on."""


WIDE = ("030-030", "030-040", "030-060", "040-010", "060-110", "060-120")
"""Shots on the wide sets, for the copies at a third of the size."""


@dataclass(frozen=True, slots=True)
class Booked:
    """A shot's day on a stage, and the copy that plays each character on it."""

    shot: Shot
    stage: str
    on: date
    day: Day
    puppets: dict[str, str]


@dataclass(slots=True)
class Diary:
    """The shoot as it is booked: one puppet and one face kit is on one stage a day."""

    stock: Stock
    ready: dict[str, date]
    taken: set[tuple[str, date]] = field(default_factory=set)
    booked: list[Booked] = field(default_factory=list)

    def _is_free(self, puppet: str, dates: list[date]) -> bool:
        usable = dates[0] >= self.ready[puppet] and dates[-1] <= RETIRED.get(puppet, date.max)
        promised = any(f.puppet == puppet and f.from_on > dates[0] for f in self.stock.fittings)
        return usable and not promised and not any((puppet, day) in self.taken for day in dates)

    def _kit_on(self, puppet: str) -> str | None:
        fits = (self.stock.where(kit) for kit in kits_of(BY_CODE[puppet.split("-")[0]]))
        return next((fit.part for fit in fits if fit and fit.puppet == puppet), None)

    def _spare_kit(self, character: str, dates: list[date]) -> str | None:
        for kit in kits_of(BY_CODE[character]):
            fit = self.stock.where(kit)
            if fit is not None and fit.from_on >= dates[0]:
                continue
            if fit is None or not any((fit.puppet, day) in self.taken for day in dates):
                return kit
        return None

    def _copy(self, character: str, dates: list[date], shot: Shot) -> str | None:
        """A free copy, one that wears a face kit first; None when the shot has to wait."""
        free = [p for p in puppets_of(character) if self._is_free(p, dates)]
        small = [p for p in free if p in SMALL]
        free = small if shot.code in WIDE and small else [p for p in free if p not in SMALL]
        if not any(wears_faces(p) for p in free):
            return Chance("copy", shot.code, character).of(free) if free else None
        wearing = [p for p in free if self._kit_on(p)]
        bare = [p for p in free if p not in wearing]
        if (bare and Chance("bare", shot.code, character).happens(50)) or not wearing:
            kit = self._spare_kit(character, dates) if bare else None
            if kit is not None:
                return Chance("copy", shot.code, character).of(bare)
        return Chance("copy", shot.code, character).of(wearing) if wearing else None

    def _wear(self, puppet: str, day: date, dates: list[date]) -> None:
        """See to it that a copy that needs a face kit wears one from that day."""
        character = puppet.split("-")[0]
        if wears_faces(puppet) and self._kit_on(puppet) is None:
            kit = self._spare_kit(character, dates)
            if kit is None:
                raise ValueError(f"no face kit for {puppet} on {day}")
            self.stock.fit(kit, puppet, day)

    def try_shot(self, shot: Shot, stage: str, start: date) -> date | None:
        """Book a shot from a day on; give its last day, or None when a puppet is missing."""
        days = days_of(shot)
        dates = list(islice(workdays(start), len(days)))
        puppets: dict[str, str] = {}
        for part in shot.cast:
            copy = self._copy(part.character, dates, shot)
            if copy is None:
                return None
            puppets[part.character] = copy
        for puppet in puppets.values():
            self._wear(puppet, start, dates)
        for on, day in zip(dates, days, strict=True):
            if shot.code in SWAPPED and on == dates[-1] and not day.again:
                puppets = self._swap(puppets, on, shot)
            self.taken |= {(puppet, on) for puppet in puppets.values()}
            self.booked.append(Booked(shot, stage, on, day, puppets))
        return dates[-1]

    def _swap(self, puppets: dict[str, str], on: date, shot: Shot) -> dict[str, str]:
        """The lead copy of a shot breaks: another one takes over its face kit."""
        lead = shot.cast[0].character
        others = [p for p in puppets_of(lead) if p != puppets[lead] and self._is_free(p, [on])]
        free = [p for p in others if (p in SMALL) == (puppets[lead] in SMALL)]
        bare = [p for p in free if self._kit_on(p) is None]
        kit = self._kit_on(puppets[lead])
        if kit is not None and bare:
            self.stock.fit(kit, bare[0], on)
            return {**puppets, lead: bare[0]}
        return {**puppets, lead: free[0]} if kit is None and free else puppets


def book_everything(stock: Stock, ready: dict[str, date]) -> Diary:
    """Fill the stages shot by shot; the stage that is free first takes the next that it can."""
    diary = Diary(stock, ready)
    free = dict.fromkeys(STAGES, FIRST_DAY)
    waiting = [shot for shot in _wishes() if days_of(shot)]
    while waiting:
        stage = min(free, key=lambda s: (free[s], s))
        if free[stage] > LAST_DAY:
            raise ValueError(f"{len(waiting)} shots are left: {[s.code for s in waiting]}")
        for shot in waiting:
            if stage not in SETS[shot.sequence]:
                continue
            last = diary.try_shot(shot, stage, free[stage])
            if last is not None:
                waiting.remove(shot)
                free[stage] = next_workday(last)
                if Chance("set-up", shot.code).happens(40):
                    free[stage] = next_workday(free[stage])
                break
        else:
            free[stage] = next_workday(free[stage])
    diary.booked.sort(key=lambda b: (b.on, b.stage))
    return diary


def _wishes() -> list[Shot]:
    """The order the office wished for: story order, but the shot that is still open comes last."""
    late = {"050-040": 2, "060-040": 1, "060-110": 1}
    return sorted(SHOTS, key=lambda shot: late.get(shot.code, 0))
