"""A model of what pace would be usual for some shots, estimated from the production's own log.

It is a model and says so. It reads the work of the others alone, so nobody is measured by
themselves; who animated is no part of it. What it cannot say it does not say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from importlib.util import find_spec
from math import log2

from credits.model.facts import Decision
from credits.model.ledger import Ledger
from credits.review.days import DayWork
from credits.review.fit import Fit, WorkPiece, fit
from credits.review.review import WHOLE_TIME, Period, Reviews
from credits.review.unit import LEAST_OTHERS
from credits.units.film_time import seconds

# Ten observations for each coefficient is a common rule of thumb; the days are our own caution.
LEAST_PIECES_A_COEFFICIENT = 10
LEAST_DAYS = 60
LEAST_OWN_DAYS = 5
LIBRARY = "statsmodels"


class Regressor(StrEnum):
    """What the model knows of a piece of work. The order is that of ``WorkPiece.values``."""

    CHARACTERS = "characters"
    HOLD = "hold"
    WAIT = "wait"
    LENGTH = "length"
    RETAKES = "retakes"


class ExpectationOutcome(StrEnum):
    """Whether there is an expectation, or why there is none."""

    GIVEN = "given"
    OFF = "off"
    NOT_INSTALLED = "not-installed"
    TOO_FEW = "too-few"


@dataclass(frozen=True, slots=True)
class Effect:
    """How one regressor changes the pace: a factor for each step, with a 90 % interval."""

    regressor: Regressor
    factor: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """The usual pace for these shots in seconds a shoot day, with a 90 % interval.

    ``own_pace``: the person's over the same work. ``effects``: what the model uses. ``unused``:
    regressors that do not vary in the log, or not apart from others. ``beyond``: those of which
    this work has values that the log of the others never had. ``explained``: the share of the
    variation that the model explains. ``days``, ``pieces``, ``others``: what it was estimated from.
    """

    outcome: ExpectationOutcome
    pace: float = 0.0
    low: float = 0.0
    high: float = 0.0
    own_pace: float = 0.0
    own_days: float = 0.0
    effects: tuple[Effect, ...] = ()
    unused: tuple[Regressor, ...] = ()
    beyond: tuple[Regressor, ...] = ()
    explained: float = 0.0
    days: float = 0.0
    pieces: int = 0
    others: int = 0


def _piece(
    ledger: Ledger,
    person: str,
    works: Sequence[DayWork],
    shots_a_day: Mapping[date | None, int],
    waits: Mapping[date | None, int],
) -> WorkPiece:
    """What somebody did on one shot, as the model sees it."""
    shot = ledger.shots[works[0].shot or ""]
    rate = ledger.production.rate
    days = sum(1 / shots_a_day[work.day] for work in works)
    frames = sum(work.totals.by_shot.shot for work in works)
    character_frames = sum(work.totals.character.shot for work in works)
    kept = sum(work.totals.character.kept for work in works)
    poses = sum(work.poses for work in works)
    waited = sum(waits[work.day] / shots_a_day[work.day] for work in works)
    retakes = sum(take.decision is Decision.RETAKE for take in ledger.takes_of.get(shot.code, ()))
    return WorkPiece(
        person,
        shot.code,
        float(seconds(sum(work.totals.by_shot.kept for work in works), rate)),
        days,
        (
            float(character_frames / frames),
            float(kept / poses) if poses else 1.0,
            waited / 60 / days,
            log2(max(shot.length, 1) / float(rate.per_second)),
            float(retakes),
        ),
    )


def pieces_of(ledger: Ledger, person: str, works: Iterable[DayWork]) -> list[WorkPiece]:
    """The dated, claimed work of one person, a piece for each shot; a day with several shots is
    divided among them, and so is what was waited on it."""
    dated = [work for work in works if work.day is not None]
    claimed = [work for work in dated if work.takes and work.shot is not None]
    shots_a_day: Counter[date | None] = Counter(work.day for work in claimed)
    waits: dict[date | None, int] = dict.fromkeys(shots_a_day, 0)
    for work in dated:
        if work.day in waits:
            waits[work.day] += sum(wait.minutes for wait in work.waits)
    by_shot: dict[str, list[DayWork]] = {}
    for work in claimed:
        by_shot.setdefault(work.shot or "", []).append(work)
    return [_piece(ledger, person, own, shots_a_day, waits) for own in by_shot.values()]


def installed() -> bool:
    """Whether the statistics library is there."""
    return find_spec(LIBRARY) is not None


def expected_pace(own: Sequence[WorkPiece], others: Sequence[WorkPiece]) -> Expectation:
    """The pace that would be usual for the own pieces, by a model of the others' pieces.

    Needs the statistics library. Too few days, pieces or others: ``TOO_FEW``.
    """
    own_days = sum(piece.days for piece in own)
    days = sum(piece.days for piece in others)
    people = {piece.person for piece in others}
    known = Expectation(
        outcome=ExpectationOutcome.TOO_FEW,
        own_days=own_days,
        days=days,
        pieces=len(others),
        others=len(people),
    )
    if len(people) < LEAST_OTHERS or days < LEAST_DAYS or own_days < LEAST_OWN_DAYS:
        return known
    made = fit(others, LEAST_PIECES_A_COEFFICIENT)
    return known if made is None else _given(made, own, others, known)


def _given(
    made: Fit, own: Sequence[WorkPiece], others: Sequence[WorkPiece], known: Expectation
) -> Expectation:
    regressors = tuple(Regressor)
    used = [regressors[column] for column in made.columns]
    pace, low, high = made.pace_of(own)
    beyond = []
    for place, regressor in enumerate(regressors):
        seen = [piece.values[place] for piece in others]
        mine = [piece.values[place] for piece in own]
        if min(mine) < min(seen) or max(mine) > max(seen):
            beyond.append(regressor)
    return replace(
        known,
        outcome=ExpectationOutcome.GIVEN,
        pace=pace,
        low=low,
        high=high,
        own_pace=sum(piece.seconds for piece in own) / known.own_days,
        effects=tuple(Effect(*each) for each in zip(used, *made.factors, strict=True)),
        unused=tuple(regressor for regressor in regressors if regressor not in used),
        beyond=tuple(beyond),
        explained=made.explained,
    )


class Expectations:
    """The expectations of a production; the pieces of work are made once."""

    def __init__(self, reviews: Reviews) -> None:
        self._reviews = reviews
        self._ledger = reviews.ledger
        self._pieces: dict[str, list[WorkPiece]] | None = None

    def of(self, person: str, period: Period = WHOLE_TIME) -> Expectation:
        """What pace would be usual for the shots of one person in a period."""
        if not self._ledger.production.expectation:
            return Expectation(outcome=ExpectationOutcome.OFF)
        works = (work for work in self._reviews.works[person] if period.holds(work.day))
        own = pieces_of(self._ledger, person, works)
        if self._pieces is None:
            self._pieces = {
                other: pieces_of(self._ledger, other, works)
                for other, works in self._reviews.works.items()
            }
        others = [p for other, made in self._pieces.items() if other != person for p in made]
        if not installed():
            return Expectation(outcome=ExpectationOutcome.NOT_INSTALLED)
        return expected_pace(own, others)
