"""A model of what pace would be usual, estimated from the production's own log.

It reads the work of the others alone, so nobody is measured by themselves, and it knows nothing
of the shots: what these asked for stands beside it as plain figures. Floats live here and where
they are shown; their sums do not depend on the order in which people stand.

The kept seconds of a piece of work (one person on one shot) have the mean days x pace, and a
variance that grows with the mean; beyond that, people differ. So the pace is the others' kept
seconds by their days, which no distribution need be assumed for, and pieces of which nothing was
kept count. The interval is that of one more person (Higgins, Thompson and Spiegelhalter, Journal
of the Royal Statistical Society A 172 (2009), 137-159), on the scale of logarithms.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import exp, fsum, sqrt
from typing import NamedTuple

from credits.review.days import WorkPiece
from credits.review.unit import LEAST_OTHERS
from credits.units.rounding import Exact, exact_of, ratio_of_sum

# What there must be at least. Ten observations for an estimate is a common rule of thumb, and
# without two different paces there is no range; the days are our own caution.
LEAST = {"own_days": 5, "others": LEAST_OTHERS, "days": 60, "pieces": 10, "paces": 2}
# Student's t that 95 % lie below, so that 90 % lie between it and its negative, for 1, 2, ...
# degrees of freedom: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2. More
# than 30 count as 30, which makes an interval a little wider.
LEVEL = 0.9
STUDENT_T = (
    6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812,
    1.796, 1.782, 1.771, 1.761, 1.753, 1.746, 1.740, 1.734, 1.729, 1.725,
    1.721, 1.717, 1.714, 1.711, 1.708, 1.706, 1.703, 1.701, 1.699, 1.697,
)  # fmt: skip


class Lack(NamedTuple):
    """What there is too little of: its name in ``LEAST``, how much there is and must be."""

    of: str
    has: Exact
    needs: int


class MixFigure(NamedTuple):
    """What the shots asked for, by its name: of this animator and of all the others together."""

    of: str
    own: Exact | None
    others: Exact | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """The usual pace in seconds a shoot day, with a 90 % interval for as many days as the own.

    lacks: why there is none; empty where there is one. own_pace: the person's over the own days.
    days, pieces, others: what it was estimated from. mix: what the shots asked for.
    """

    own_days: Exact
    days: Exact
    pieces: int
    others: int
    lacks: tuple[Lack, ...] = ()
    pace: float = 0.0
    low: float = 0.0
    high: float = 0.0
    own_pace: float = 0.0
    mix: tuple[MixFigure, ...] = ()


def between_people(people: Iterable[tuple[float, float]], spread: float) -> float:
    """Estimate how much people differ: the relative variance of their paces beyond their work's.

    The method of moments of DerSimonian and Laird, Controlled Clinical Trials 7 (1986), 177-188.
    people: of each the kept seconds and the expected ones. spread: the variance of kept seconds
    for each expected second.
    """
    apart = [(done / expected - 1, expected / spread) for done, expected in people]
    weights = fsum(w for _, w in apart)
    centre = fsum(w * z for z, w in apart) / weights
    heard = fsum(w * (z - centre) ** 2 for z, w in apart)
    scale = weights - fsum(w * w for _, w in apart) / weights
    return max(0.0, (heard - (len(apart) - 1)) / scale)


NO_WORK = WorkPiece((0, 1), (0, 1))


def _together(pieces: Iterable[WorkPiece]) -> WorkPiece:
    own = tuple(pieces)
    return WorkPiece(*map(ratio_of_sum, zip(*own, strict=True))) if own else NO_WORK


def _near(ratio: tuple[int, int]) -> float:
    return ratio[0] / ratio[1]


def _different(paces: Iterable[Fraction]) -> int:
    """Count different paces, as far as it matters how many there are."""
    found: set[Fraction] = set()
    for pace in paces:
        found.add(pace)
        if len(found) == LEAST["paces"]:
            break
    return len(found)


def expected_pace(own: Sequence[WorkPiece], others: Iterable[Sequence[WorkPiece]]) -> Expectation:
    """Estimate the usual pace, and its interval over the days of the own pieces.

    others: the pieces of each of the others.
    """
    everybody = [pieces for pieces in others if pieces]
    pieces = [piece for work in everybody for piece in work]
    people = [_together(work) for work in everybody]
    done, own_days = map(exact_of, _together(own))
    kept, days = map(exact_of, _together(people))
    has = {
        "own_days": own_days,
        "others": len(people),
        "days": days,
        "pieces": len(pieces),
        "paces": _different(Fraction(*seconds) / Fraction(*days) for seconds, days in pieces),
    }
    known = Expectation(own_days=own_days, days=days, pieces=len(pieces), others=len(people))
    lacks = tuple(
        Lack(name, has[name], least) for name, least in LEAST.items() if has[name] < least
    )
    if lacks:
        return replace(known, lacks=lacks)
    pace = float(kept / days)
    expected = [(_near(seconds), pace * _near(days)) for seconds, days in pieces]
    # The variance of kept seconds for each expected second, as Pearson's chi-square estimates it.
    spread = fsum((done - due) ** 2 / due for done, due in expected) / (len(expected) - 1)
    between = between_people([(_near(s), pace * _near(d)) for s, d in people], spread)
    # How well the pace is known, how much the own work varies, how much one more person differs.
    noise = spread / float(kept) + spread / (pace * float(own_days))
    variance = noise + between * (1 + 1 / len(people))
    reach = STUDENT_T[min(len(people) - 1, len(STUDENT_T)) - 1] * sqrt(variance)
    return replace(
        known,
        pace=pace,
        low=pace * exp(-reach),
        high=pace * exp(reach),
        own_pace=float(done / own_days),
    )
