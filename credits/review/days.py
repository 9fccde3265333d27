"""The work of animators by day, and its figures."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, fields
from datetime import date
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from itertools import chain
from math import lcm
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from credits.footage.claims import TakeRuns
from credits.footage.footage import (
    MEASURES,
    Cell,
    Counted,
    Footage,
    FootageTotals,
    kept_by_shot,
    summed,
    total_of,
)
from credits.model.facts import Decision, EntryNumber, Purpose
from credits.model.ledger import Ledger, StageWork
from credits.review.waits import Wait
from credits.units.film_time import FrameRate, iso_week, seconds_over
from credits.units.rounding import Exact, exact_of, exact_sum, ratio_of_sum, sum_of_ratios

# Somebody's work on a day (None: undated) and a shot (None: no one shot).
_Key = tuple[str, date | None, str | None]
# A numerator over a denominator.
_Ratio = tuple[int, int]
WHOLE_WEEK = 0b1111111
PURPOSE_BITS: Mapping[str, int] = {purpose: 7 * place for place, purpose in enumerate(Purpose)}
"""The place of the first of the bits for the days of a week with takes of a purpose."""
BLOCK, REHEARSAL, SHOOT = (
    WHOLE_WEEK << PURPOSE_BITS[purpose]
    for purpose in (Purpose.BLOCK, Purpose.REHEARSAL, Purpose.SHOOT)
)
"""The bits for all days of a week with takes of a purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWork:
    """One animator's work on one shot on one day.

    day: None for undated work. shot: None for work of a footage craft that names no shot, and for
    waits that belong to no one shot. cells: its footage. purposes: of the takes that were worked
    on; none of them for waits alone. poses: exact.
    """

    day: date | None
    shot: str | None
    cells: tuple[Cell, ...]
    purposes: frozenset[Purpose]
    minutes: int
    poses: Exact
    waits: tuple[Wait, ...]

    @property
    def takes(self) -> frozenset[int]:
        """The takes with claims."""
        return frozenset(cell.take for cell in self.cells)


class Poses(NamedTuple):
    """How many poses the frames of a take hold that one person animated on a day and that are
    kept: a numerator over a denominator."""

    person: str
    day: date | None
    shot: str
    take: int
    ratio: tuple[int, int]


PosesOn = Callable[[EntryNumber], int | None]
"""How many frames an entry says that a pose holds; None: it does not say."""


def poses_on(ledger: Ledger) -> PosesOn:
    """Return how many frames the entries of a ledger say that a pose holds."""
    return lambda number: ledger.by_number[number].work.poses_on


def poses(
    ledger: Ledger, runs: Mapping[tuple[str, int], TakeRuns], poses_on: PosesOn
) -> Iterator[Poses]:
    """Find the poses of every kept claim: its frames / frames per pose, summed by take.

    The entry with the largest share of a claim, of equals the earliest, says how long a pose holds.
    """
    for (shot, take), own in runs.items():
        entries = {entry.number: entry for entry in ledger.entries_by_shot.get(shot, ())}
        found: dict[tuple[str, date | None], list[_Ratio]] = defaultdict(list)
        for (_, day, claims), frames in own.kept_frames:
            for person, portion, numbers, _, _ in claims:
                counting = numbers[0]
                if len(numbers) > 1:
                    counting = min(numbers, key=lambda n: (-(entries[n].share or 1), n))
                held = poses_on(counting) or 1
                ratio = (frames * portion.numerator, held * portion.denominator)
                found[person, day].append(ratio)
        for (person, day), ratios in found.items():
            yield Poses(person, day, shot, take, ratio_of_sum(ratios))


def day_works(
    ledger: Ledger,
    poses: Iterable[Poses],
    footage: Footage,
    waited: Mapping[str, tuple[Wait, ...]],
) -> dict[str, tuple[DayWork, ...]]:
    """Return the work of everybody with entries of a footage craft; by day, undated first.

    poses, footage: those of all takes of the ledger. waited: as ``waits_by_person``.
    """
    entries: dict[_Key, list[StageWork]] = defaultdict(list)
    cells: dict[_Key, list[Cell]] = defaultdict(list)
    held: dict[_Key, list[_Ratio]] = defaultdict(list)
    waits: dict[_Key, list[Wait]] = defaultdict(list)
    for work in ledger.on_stage:
        entries[work[:3]].append(work)
    for cell in footage.cells:
        cells[cell.person, cell.day, cell.shot].append(cell)
    for each in poses:
        held[each[:3]].append(each.ratio)
    for person, own in waited.items():
        for wait in own:
            waits[person, wait.day, wait.shot].append(wait)
    places = {shot: place for place, shot in enumerate((*ledger.shots, None))}

    def order(key: _Key) -> tuple[date, int]:
        _, day, shot = key
        return day or date.min, places[shot]

    purpose = cache(ledger.purpose_in)
    keys = dict.fromkeys((*entries, *cells, *held, *waits))
    works: dict[str, list[DayWork]] = {person: [] for person, _, _ in keys}
    for key in sorted(keys, key=order):
        person, day, shot = key
        works[person].append(
            DayWork(
                day=day,
                shot=shot,
                cells=tuple(cells[key]),
                purposes=frozenset([purpose(w.shot, w.take) for w in entries[key]]),
                minutes=sum([w.minutes or 0 for w in entries[key]]),
                poses=sum_of_ratios(held[key]) if key in held else 0,
                waits=tuple(waits[key]),
            )
        )
    return {person: tuple(own) for person, own in works.items()}


class Divided:
    """The figures that are divided out of others, which a class of this kind has."""

    __slots__ = ()

    if TYPE_CHECKING:

        @property
        def totals(self) -> FootageTotals: ...
        @property
        def shoot_days(self) -> int: ...

    @property
    def kept(self) -> Exact:
        """Return kept shot footage, in frames."""
        return self.totals.by_shot.kept

    @property
    def kept_ratio(self) -> tuple[int, int]:
        """Return the same as a numerator over a denominator."""
        return self.kept.as_integer_ratio()

    @property
    def reshot_share(self) -> Fraction | None:
        """Return 1 - kept / shot, of shot footage; None where nothing was shot."""
        frames = self.totals.by_shot
        return 1 - Fraction(frames.kept) / frames.shot if frames.shot else None

    @property
    def character_kept(self) -> Exact:
        """Return kept character footage, in frames."""
        return self.totals.character.kept

    @property
    def characters_a_frame(self) -> Fraction | None:
        """Return kept character footage / kept shot footage; None where nothing is kept."""
        kept = self.kept
        return Fraction(self.character_kept) / kept if kept else None

    def pace(self, rate: FrameRate) -> Fraction | None:
        """Return kept shot footage in seconds a day with a shoot take; None without such days."""
        ratio = self.pace_ratio(rate)
        return None if ratio is None else Fraction(*ratio)

    def pace_ratio(self, rate: FrameRate) -> tuple[int, int] | None:
        """Return the same as a numerator over a denominator."""
        days = self.shoot_days
        return seconds_over(self.kept_ratio, rate, days) if days else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures(Divided):
    """One animator's figures over some days or shots.

    totals: in frames, exactly. stage_days: distinct dates with entries of a footage craft, in takes
    of any purpose; shoot_days, block_days, rehearsal_days: those by purpose, so that a day with
    several is in each. minutes: logged on entries of footage crafts. wait: in minutes.
    takes: shots and takes with claims.
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
    def shots(self) -> set[str]:
        """The shots with claims."""
        return {shot for shot, _ in self.takes}


class Gathered(Divided):
    """Figures over some of one person's work, each made when it is looked at."""

    if TYPE_CHECKING:

        @property
        def cells(self) -> Sequence[Counted]:
            """The footage."""

        @property
        def days(self) -> Mapping[str, int]:
            """The days with entries of a footage craft, by their weeks: a bit for each day and
            purpose of a take, as ``PURPOSE_BITS`` has them. Weeks without such a day are none."""

        @property
        def minutes(self) -> int: ...
        @property
        def held(self) -> Sequence[_Ratio]:
            """The poses."""

        @property
        def wait(self) -> int: ...
        @property
        def takes(self) -> frozenset[tuple[str, int]]:
            """The shots and takes with claims."""

    @cached_property
    def totals(self) -> FootageTotals:
        """The footage, in frames."""
        return total_of(self.cells)

    @cached_property
    def kept_ratio(self) -> tuple[int, int]:
        """Kept shot footage, in frames: a numerator over a denominator."""
        return kept_by_shot(self.cells)

    @property
    def kept(self) -> Exact:
        """Return kept shot footage, in frames."""
        return exact_of(self.kept_ratio)

    @property
    def animated(self) -> bool:
        """Tell whether any day has entries of a footage craft."""
        return bool(self.days)

    @property
    def stage_days(self) -> int:
        """Return how many days have entries of a footage craft."""
        return sum([_any_purpose(bits).bit_count() for bits in self.days.values()])

    @property
    def shoot_days(self) -> int:
        """Return how many of them have a shoot take."""
        return days_in(SHOOT, self.days.values())

    @property
    def block_days(self) -> int:
        """Return how many of them have a take that blocks."""
        return days_in(BLOCK, self.days.values())

    @property
    def rehearsal_days(self) -> int:
        """Return how many of them have a rehearsal."""
        return days_in(REHEARSAL, self.days.values())

    @property
    def poses(self) -> Exact:
        """Return the poses."""
        return sum_of_ratios(self.held)

    @property
    def figures(self) -> Figures:
        """Return all figures."""
        return Figures(**{each.name: getattr(self, each.name) for each in fields(Figures)})


class GatheredDays(Gathered):
    """Figures over some of one person's work by day."""

    def __init__(self) -> None:
        self.cells: list[Cell] = []
        self.days: dict[str, int] = {}
        self.minutes: int = 0
        self.held: list[_Ratio] = []
        self.wait: int = 0

    @property
    def takes(self) -> frozenset[tuple[str, int]]:
        """The shots and takes with claims."""
        return frozenset([(cell.shot, cell.take) for cell in self.cells])


def days_in(purpose: int, weeks: Iterable[int]) -> int:
    """Count the days of weeks with takes of a purpose: SHOOT, BLOCK or REHEARSAL.

    weeks: as ``Gathered.days`` has them.
    """
    return sum([(bits & purpose).bit_count() for bits in weeks])


def _any_purpose(bits: int) -> int:
    """Return days with takes of some purpose as days of a week, whatever the purpose."""
    days = 0
    for place in PURPOSE_BITS.values():
        days |= bits >> place & WHOLE_WEEK
    return days


def figures_of(works: Iterable[DayWork]) -> Figures:
    """Return the figures of some of one person's work."""
    own = GatheredDays()
    for work in works:
        own.cells += work.cells
        week, bit = placed_day(work.day)
        if week is not None:
            for purpose in work.purposes:
                own.days[week] = own.days.get(week, 0) | bit << PURPOSE_BITS[purpose]
        own.minutes += work.minutes
        own.held.append(work.poses.as_integer_ratio())
        own.wait += sum([wait.minutes for wait in work.waits])
    return own.figures


DAYS = ("stage_days", "shoot_days", "block_days", "rehearsal_days")


def figures_together(parts: Iterable[Figures]) -> Figures:
    """Return the figures of parts that share no day of one person: weeks, or several people."""
    own = tuple(parts)
    return Figures(
        totals=summed(part.totals for part in own),
        poses=exact_sum(part.poses for part in own),
        takes=frozenset().union(*(part.takes for part in own)),
        **{name: sum(getattr(part, name) for part in own) for name in (*DAYS, "minutes", "wait")},
    )


FigureValue = Callable[[Any], Exact | None]
"""Returns one figure of ``Figures``, or of what they are made of."""


def figures_by_name(rate: FrameRate) -> dict[str, FigureValue]:
    """Return every figure that a review compares over time and with the unit, by its name."""
    return {
        **{name: attrgetter(f"totals.by_shot.{name}") for name in MEASURES},
        "kept": attrgetter("kept"),
        "character_kept": attrgetter("character_kept"),
        **{name: attrgetter(name) for name in DAYS},
        "pace": lambda f: f.pace(rate),
        **{n: attrgetter(n) for n in ("poses", "reshot_share", "characters_a_frame", "wait")},
        "takes": lambda f: len(f.takes),
        "minutes": lambda f: f.minutes,
    }


RatioValue = Callable[[Any], _Ratio | None]
"""Returns one figure as a numerator over a denominator."""


def ratios_by_name(rate: FrameRate) -> dict[str, RatioValue]:
    """Return the figures of ``figures_by_name`` as numerators over denominators, in any terms.

    Those of everybody are made to be compared, in every week: two of them are shown.
    """

    def ratio_of(figure: FigureValue) -> RatioValue:
        def ratio(of: Any) -> _Ratio | None:
            value = figure(of)
            return None if value is None else value.as_integer_ratio()

        return ratio

    return {
        **{name: ratio_of(figure) for name, figure in figures_by_name(rate).items()},
        "kept": attrgetter("kept_ratio"),
        "pace": lambda f: f.pace_ratio(rate),
    }


class WorkPiece(NamedTuple):
    """One person's work on one shot: kept seconds and shoot days, numerators over denominators."""

    seconds: _Ratio
    days: _Ratio


@lru_cache(maxsize=65536)
def placed_day(day: date | None) -> tuple[str | None, int]:
    """Return the week of a day, and the day's bit in it, Monday the lowest; undated: no bit."""
    return (None, 0) if day is None else (iso_week(day), 1 << day.weekday())


def pieces(
    kept: Mapping[str, _Ratio], weeks: Iterable[Mapping[str, int]], rate: FrameRate
) -> list[WorkPiece]:
    """Return the dated, claimed work of one person, a piece for each shot.

    kept: frames of dated work, by shot. weeks: of each the shots in which frames of its days were
    claimed, with these days, a bit for each. A day with several shots is divided among them.
    """
    whole: dict[str, int] = defaultdict(int)
    divided: dict[str, list[int]] = defaultdict(list)
    for shots in weeks:
        worked = shared = 0
        for bits in shots.values():
            shared |= worked & bits
            worked |= bits
        for shot, bits in shots.items():
            whole[shot] += (bits & ~shared).bit_count()
        while shared:
            day = shared & -shared
            shared ^= day
            among = [shot for shot, bits in shots.items() if bits & day]
            for shot in among:
                divided[shot].append(len(among))
    one = lcm(*chain.from_iterable(divided.values()))
    found = []
    for shot, count in whole.items():
        parts = count * one + sum([one // among for among in divided.get(shot, ())])
        found.append(WorkPiece(seconds_over(kept[shot], rate), (parts, one)))
    return found


def pieces_of(works: Iterable[DayWork], rate: FrameRate) -> list[WorkPiece]:
    """Return the dated, claimed work of one person, as ``pieces`` does."""
    cells: dict[str, list[Cell]] = defaultdict(list)
    weeks: dict[str, dict[str, int]] = defaultdict(dict)
    for work in works:
        week, bit = placed_day(work.day)
        if week is not None and work.shot is not None and work.cells:
            cells[work.shot] += work.cells
            weeks[week][work.shot] = weeks[week].get(work.shot, 0) | bit
    kept = {shot: kept_by_shot(own) for shot, own in cells.items()}
    return pieces(kept, weeks.values(), rate)


class ShotsAsked(Protocol):
    """Figures that tell what the shots behind them asked for."""

    @property
    def characters_a_frame(self) -> Fraction | None: ...
    @property
    def character_kept(self) -> Exact: ...
    @property
    def poses(self) -> Exact: ...
    @property
    def wait(self) -> int: ...
    @property
    def shoot_days(self) -> int: ...
    @property
    def shots(self) -> Set[str]: ...


def shot_mix(figures: ShotsAsked, ledger: Ledger) -> dict[str, Exact | None]:
    """Return what the shots behind some figures asked for, by name; None where nothing says it."""
    shots = figures.shots
    taken = [take for take in ledger.takes.values() if take.shot in shots]

    def each(total: Exact, number: Exact) -> Exact | None:
        return Fraction(total) / number if number else None

    return {
        "characters_a_frame": figures.characters_a_frame,
        "frames_a_pose": each(figures.character_kept, figures.poses),
        "wait_minutes_a_day": each(figures.wait, figures.shoot_days),
        "frames_a_shot": each(sum(ledger.shots[shot].length for shot in shots), len(shots)),
        "retakes_a_shot": each(sum(take.decision is Decision.RETAKE for take in taken), len(shots)),
    }
