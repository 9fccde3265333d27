"""The work of animators by day, and its figures."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import partial

from credits.footage.claims import Claim, TakeRuns
from credits.footage.footage import MEASURES, NO_FOOTAGE, Footage, FootageTotals, summed
from credits.model.facts import EntryNumber, Purpose
from credits.model.ledger import Entry, Ledger
from credits.units.film_time import FrameRate, seconds
from credits.units.rounding import Exact


@dataclass(frozen=True, slots=True)
class Wait:
    """A repair that somebody waited for.

    ``shot``: the one that the repair names, else the only one in which the person animated the
    puppet that day; None where there are several. ``puppet``: the copy that was mended; ``part``:
    what was mended of it, where the repair names a part.
    """

    entry: EntryNumber
    day: date | None
    shot: str | None
    puppet: str
    part: str | None
    minutes: int


def mended_puppets(ledger: Ledger, entry: Entry) -> tuple[str, ...]:
    """The copies that a repair is on: the one it names, else those that wore the part that day."""
    if entry.puppet is not None:
        return (entry.puppet,)
    if entry.part is None or entry.day is None:
        return ()
    worn = ledger.fittings_of_part.get(entry.part, ())
    return tuple(dict.fromkeys(f.puppet for f in worn if f.holds_on(entry.day)))


class _Animating:
    """Who was animating which puppet, in which shots and on which days, in takes of any purpose."""

    def __init__(self, ledger: Ledger) -> None:
        self.in_shot: dict[tuple[str, str], set[str]] = defaultdict(set)
        self.on_day: dict[tuple[str, date], dict[str, set[str | None]]] = defaultdict(dict)
        for entry in ledger.entries:
            if entry.puppet is None or not ledger.is_footage(entry):
                continue
            if entry.shot is not None:
                self.in_shot[entry.puppet, entry.shot].add(entry.person)
            if entry.day is not None:
                shots = self.on_day[entry.puppet, entry.day].setdefault(entry.person, set())
                shots.add(entry.shot)

    def waiting(self, puppet: str, repair: Entry) -> Iterator[tuple[str, str | None]]:
        """Who waited for a repair of the puppet, each with the shot that the wait belongs to."""
        that_day: dict[str, set[str | None]] = {}
        if repair.day is not None:
            that_day = self.on_day.get((puppet, repair.day), {})
        if repair.shot is not None:
            in_shot = self.in_shot.get((puppet, repair.shot), set())
            for person in sorted(in_shot | that_day.keys()):
                yield person, repair.shot
            return
        for person in sorted(that_day):
            shots = that_day[person]
            yield person, next(iter(shots)) if len(shots) == 1 else None


def waits_by_person(ledger: Ledger) -> dict[str, tuple[Wait, ...]]:
    """The repairs that each animator waited for: those with ``wait_minutes`` on a puppet that the
    person animated in the repair's shot, or on its date. Each counts once for a person."""
    animating = _Animating(ledger)
    found: dict[str, list[Wait]] = defaultdict(list)
    for entry in ledger.entries:
        minutes = entry.work.wait_minutes
        if not ledger.is_repair(entry) or not minutes:
            continue
        waited: set[str] = set()
        for puppet in mended_puppets(ledger, entry):
            for person, shot in animating.waiting(puppet, entry):
                if person not in waited:
                    waited.add(person)
                    wait = Wait(entry.number, entry.day, shot, puppet, entry.part, minutes)
                    found[person].append(wait)
    return {person: tuple(own) for person, own in found.items()}


@dataclass(frozen=True, slots=True)
class DayWork:
    """One animator's work on one shot on one day.

    ``day`` None: undated. ``shot`` None: work of a footage craft that names no shot, or waits for
    repairs that belong to no one shot. ``takes``: those with claims. ``purposes``: of the takes
    that were worked on; none of them for waits alone. ``poses`` and ``totals`` are exact.
    """

    day: date | None
    shot: str | None
    totals: FootageTotals
    takes: frozenset[int]
    purposes: frozenset[Purpose]
    minutes: int
    poses: Exact
    waits: tuple[Wait, ...]


@dataclass(slots=True)
class _Sum:
    totals: FootageTotals = NO_FOOTAGE
    takes: set[int] = field(default_factory=set)
    purposes: set[Purpose] = field(default_factory=set)
    minutes: int = 0
    poses: Exact = 0
    waits: list[Wait] = field(default_factory=list)


_Sums = dict[tuple[date | None, str | None], _Sum]


def _counting(claim: Claim, entries: Mapping[EntryNumber, Entry]) -> Entry:
    """The entry that gives a claim its frames: the largest share, of equals the earliest."""
    own = (entries[number] for number in claim.entries)
    return min(own, key=lambda entry: (-(entry.work.share or 1), entry.number))


def _poses(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns]
) -> Iterator[tuple[str, date | None, str, Exact]]:
    """Person, day, shot and poses of every kept claim: its frames / frames per pose (3.7)."""
    entries = {entry.number: entry for entry in ledger.entries}
    for (shot, _), own in runs.items():
        for run in own.runs:
            for layer in run.kept:
                for claim in layer.claims:
                    held = _counting(claim, entries).work.poses_on or 1
                    portion = Fraction(claim.portion)
                    poses = Fraction(run.length * portion.numerator, held * portion.denominator)
                    yield claim.person, layer.day, shot, poses


def day_works(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], footage: Footage
) -> dict[str, tuple[DayWork, ...]]:
    """The work of everybody with entries of a footage craft, by person; by day, undated first.

    In: the ledger, the runs of its takes and its footage. One walk over each.
    """
    places = {shot: place for place, shot in enumerate(ledger.shots)}
    people: dict[str, _Sums] = defaultdict(lambda: defaultdict(_Sum))
    for entry in ledger.entries:
        if ledger.is_footage(entry):
            own = people[entry.person][entry.day, entry.shot]
            own.minutes += entry.work.minutes or 0
            own.purposes.add(ledger.purpose(entry))
    for cell in footage.cells:
        own = people[cell.person][cell.day, cell.shot]
        own.totals += cell.totals
        own.takes.add(cell.take)
    for person, day, shot, poses in _poses(ledger, runs):
        people[person][day, shot].poses += poses
    for person, waits in waits_by_person(ledger).items():
        for wait in waits:
            people[person][wait.day, wait.shot].waits.append(wait)
    return {person: _in_order(sums, places) for person, sums in people.items()}


def _in_order(sums: _Sums, places: Mapping[str, int]) -> tuple[DayWork, ...]:
    def order(key: tuple[date | None, str | None]) -> tuple[date, int]:
        day, shot = key
        return (day or date.min, len(places) if shot is None else places[shot])

    return tuple(
        DayWork(
            *key,
            sums[key].totals,
            frozenset(sums[key].takes),
            frozenset(sums[key].purposes),
            sums[key].minutes,
            sums[key].poses,
            tuple(sums[key].waits),
        )
        for key in sorted(sums, key=order)
    )


@dataclass(frozen=True, slots=True)
class Figures:
    """One animator's figures over some days or shots (rule 3.7).

    ``totals`` in frames, exactly. Days are distinct dates with entries of a footage craft:
    ``stage_days`` of takes of any purpose, the others by purpose; a day with several is in each.
    ``minutes`` are those logged on entries of footage crafts; ``wait`` is in minutes.
    ``takes``: shots and takes with claims.
    """

    totals: FootageTotals
    minutes: int
    stage_days: int
    shoot_days: int
    block_days: int
    rehearsal_days: int
    poses: Exact
    wait: int
    takes: frozenset[tuple[str, int]]

    @property
    def shots(self) -> frozenset[str]:
        """The shots with claims."""
        return frozenset(shot for shot, _ in self.takes)

    @property
    def reshot_share(self) -> Fraction | None:
        """1 - kept / shot, of shot footage; None where nothing was shot."""
        frames = self.totals.by_shot
        return 1 - Fraction(frames.kept) / frames.shot if frames.shot else None

    @property
    def characters_a_frame(self) -> Fraction | None:
        """Kept character footage / kept shot footage; None where nothing is kept."""
        kept = self.totals.by_shot.kept
        return Fraction(self.totals.character.kept) / kept if kept else None

    def pace(self, rate: FrameRate) -> Fraction | None:
        """Kept shot footage in seconds a stage day with purpose shoot; None without such days."""
        if not self.shoot_days:
            return None
        return Fraction(seconds(self.totals.by_shot.kept, rate)) / self.shoot_days


def figures_of(works: Iterable[DayWork]) -> Figures:
    """The figures of some of one person's work."""
    own = tuple(works)
    days: dict[Purpose, set[date]] = {purpose: set() for purpose in Purpose}
    for work in own:
        if work.day is not None:
            for purpose in work.purposes:
                days[purpose].add(work.day)
    return Figures(
        totals=summed(work.totals for work in own),
        minutes=sum(work.minutes for work in own),
        stage_days=len(set[date]().union(*days.values())),
        shoot_days=len(days[Purpose.SHOOT]),
        block_days=len(days[Purpose.BLOCK]),
        rehearsal_days=len(days[Purpose.REHEARSAL]),
        poses=sum((work.poses for work in own), Fraction(0)),
        wait=sum(wait.minutes for work in own for wait in work.waits),
        takes=frozenset((work.shot, take) for work in own if work.shot for take in work.takes),
    )


def figures_together(parts: Iterable[Figures]) -> Figures:
    """The figures of parts that share no day: weeks, or undated work beside them."""
    own = tuple(parts)
    return Figures(
        summed(part.totals for part in own),
        sum(part.minutes for part in own),
        sum(part.stage_days for part in own),
        sum(part.shoot_days for part in own),
        sum(part.block_days for part in own),
        sum(part.rehearsal_days for part in own),
        sum((part.poses for part in own), Fraction(0)),
        sum(part.wait for part in own),
        frozenset().union(*(part.takes for part in own)),
    )


Of = Callable[[Figures], Exact | None]


def _measure(name: str, figures: Figures) -> Exact:
    return figures.totals.by_shot.of(name)


def figures_by_name(rate: FrameRate) -> dict[str, Of]:
    """Every figure that a review compares over time and with the unit, by its name."""
    return {
        **{name: partial(_measure, name) for name in MEASURES},
        "character_kept": lambda f: f.totals.character.kept,
        "stage_days": lambda f: f.stage_days,
        "shoot_days": lambda f: f.shoot_days,
        "block_days": lambda f: f.block_days,
        "rehearsal_days": lambda f: f.rehearsal_days,
        "pace": lambda f: f.pace(rate),
        "poses": lambda f: f.poses,
        "reshot_share": lambda f: f.reshot_share,
        "characters_a_frame": lambda f: f.characters_a_frame,
        "wait": lambda f: f.wait,
        "takes": lambda f: len(f.takes),
        "minutes": lambda f: f.minutes,
    }
