"""The figures of a review, and what follows from them: pace, re-shot share, characters a frame."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import partial

from credits.compute.review_days import DayWork
from credits.footage.claims import Exact
from credits.footage.footage import MEASURES, FootageTotals, summed
from credits.model.facts import Purpose
from credits.units.film_time import FrameRate, seconds


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
