"""A model of what pace would be usual for some shots, estimated from the production's own log.

It is a model and says so. It reads the work of the others alone, so nobody is measured by
themselves; who animated is no part of it. What it cannot say it does not say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from importlib.util import find_spec
from typing import NamedTuple

from credits.review.days import Regressor, WorkPiece, pieces_of
from credits.review.review import WHOLE_TIME, Period, Reviews
from credits.review.unit import LEAST_OTHERS

# Ten observations for each coefficient is a common rule of thumb; the days are our own caution.
LEAST_PIECES_A_COEFFICIENT = 10
LEAST_DAYS = 60
LEAST_OWN_DAYS = 5
LIBRARY = "statsmodels"


class ExpectationOutcome(StrEnum):
    """Whether there is an expectation, or why there is none."""

    GIVEN = "given"
    OFF = "off"
    NOT_INSTALLED = "not-installed"
    TOO_FEW = "too-few"


class Effect(NamedTuple):
    """How one regressor changes the pace: a factor for each step, with a 90 % interval."""

    regressor: Regressor
    factor: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """The usual pace for these shots in seconds a shoot day, with a 90 % interval.

    own_pace: the person's over the same work. effects: what the model uses. unused: regressors that
    do not vary in the log, or not apart from others. beyond: those of which this work has values
    that the log of the others never had. explained: the share of the variation that the model
    explains. days, pieces, others: what it was estimated from.
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


def expected_pace(own: Sequence[WorkPiece], others: Sequence[WorkPiece]) -> Expectation:
    """Estimate the pace that would be usual for the own pieces, by a model of the others' pieces.

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
    # Here alone, since the libraries that it needs are an extra of the installation.
    from credits.review.fit import fit  # noqa: PLC0415

    made = fit(others, LEAST_PIECES_A_COEFFICIENT)
    if made is None:
        return known
    regressors = tuple(Regressor)
    used = [regressors[column] for column in made.columns]
    pace, low, high = made.pace_of(own)
    seen, mine = (zip(*(piece.values for piece in work), strict=True) for work in (others, own))
    both = zip(regressors, seen, mine, strict=True)
    beyond = (r for r, usual, these in both if min(these) < min(usual) or max(these) > max(usual))
    return replace(
        known,
        outcome=ExpectationOutcome.GIVEN,
        pace=pace,
        low=low,
        high=high,
        own_pace=sum(piece.seconds for piece in own) / own_days,
        effects=tuple(
            Effect(regressor, *factors)
            for regressor, factors in zip(used, made.factors, strict=True)
        ),
        unused=tuple(regressor for regressor in regressors if regressor not in used),
        beyond=tuple(beyond),
        explained=made.explained,
    )


class Expectations:
    """The expectations of a production; the pieces of work are made once."""

    def __init__(self, reviews: Reviews) -> None:
        self._reviews = reviews

    @cached_property
    def _pieces(self) -> dict[str, list[WorkPiece]]:
        ledger = self._reviews.ledger
        return {p: pieces_of(ledger, p, works) for p, works in self._reviews.works.items()}

    def of(self, person: str, period: Period = WHOLE_TIME) -> Expectation:
        """Return what pace would be usual for the shots of one person in a period."""
        ledger = self._reviews.ledger
        if not ledger.production.expectation:
            return Expectation(outcome=ExpectationOutcome.OFF)
        if find_spec(LIBRARY) is None:
            return Expectation(outcome=ExpectationOutcome.NOT_INSTALLED)
        works = (work for work in self._reviews.works[person] if period.holds(work.day))
        others = [p for other, made in self._pieces.items() if other != person for p in made]
        return expected_pace(pieces_of(ledger, person, works), others)
