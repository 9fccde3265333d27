"""The statistics behind an expectation: a log-linear model of pace.

Kept seconds of a piece of work = days * exp(b0 + b1 x1 + ... ), fitted by Poisson pseudo maximum
likelihood, which is consistent where the mean is right whatever the distribution (documentation of
the R package ppml, after Cameron and Trivedi 2013), so pieces count of which nothing was kept, and
no whole numbers are needed. Standard errors are robust and clustered by shot. Floats live here and
where they are shown.
"""

from __future__ import annotations

import warnings
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy import float64
from numpy.typing import NDArray
from scipy.stats import t
from statsmodels.genmod.families import Poisson
from statsmodels.genmod.generalized_linear_model import GLM

from credits.review.days import WorkPiece

Numbers = NDArray[float64]

LEVEL = 0.90


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A fitted model.

    columns: which values it uses. factors: of each the factor exp(b), and the ends of its 90 %
    interval. explained: the share of the variation that it explains. spread: the variance of kept
    seconds for each expected second. between: how much the people differ beyond that, as a relative
    variance. people: how many there were.
    """

    columns: tuple[int, ...]
    coefficients: Numbers
    covariance: Numbers
    factors: tuple[tuple[float, float, float], ...]
    explained: float
    spread: float
    between: float
    people: int

    def pace_of(self, pieces: Sequence[WorkPiece]) -> tuple[float, float, float]:
        """Return the usual pace for these pieces in seconds a day, and the ends of its interval.

        In nine of ten cases somebody who does these pieces has a pace in the interval. It is as
        wide as three things make it: how well the coefficients are known, how much work varies
        from piece to piece, and how much people differ (with few people: Student's t).
        """
        matrix = _matrix(pieces, self.columns)
        means = np.array([piece.days for piece in pieces]) * np.exp(matrix @ self.coefficients)
        total = float(means.sum())
        direction = means @ matrix / total
        known = float(direction @ self.covariance @ direction)
        variance = known + self.spread / total + self.between * (1 + 1 / self.people)
        reach = float(t.ppf((1 + LEVEL) / 2, self.people - 1)) * sqrt(variance)
        pace = total / sum(piece.days for piece in pieces)
        return pace, pace * exp(-reach), pace * exp(reach)


def _matrix(pieces: Sequence[WorkPiece], columns: Sequence[int]) -> Numbers:
    rows = [[1.0, *(piece.values[column] for column in columns)] for piece in pieces]
    return np.array(rows, dtype=float)


def _usable_columns(pieces: Sequence[WorkPiece]) -> tuple[int, ...]:
    """Find the values that vary, and vary apart from each other."""
    used: list[int] = []
    for column in range(len(pieces[0].values)):
        tried = _matrix(pieces, (*used, column))
        size = np.abs(tried).max(axis=0)
        if size.min() > 0 and np.linalg.matrix_rank(tried / size, tol=1e-6) == tried.shape[1]:
            used.append(column)
    return tuple(used)


def between_people(pieces: Sequence[WorkPiece], means: Numbers, spread: float) -> float:
    """Estimate how much people differ: the variance of their paces beyond that of their work.

    The method of moments of DerSimonian and Laird, Controlled Clinical Trials 7 (1986), 177-188,
    with the weights of the pieces' own spread.
    """
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for piece, mean in zip(pieces, means, strict=True):
        sums[piece.person][0] += piece.seconds
        sums[piece.person][1] += float(mean)
    apart = [(done - expected) / expected for done, expected in sums.values()]
    weights = [expected / spread for _, expected in sums.values()]
    centre = sum(w * z for w, z in zip(weights, apart, strict=True)) / sum(weights)
    heard = sum(w * (z - centre) ** 2 for w, z in zip(weights, apart, strict=True))
    scale = sum(weights) - sum(w * w for w in weights) / sum(weights)
    return max(0.0, (heard - (len(weights) - 1)) / scale)


def fit(pieces: Sequence[WorkPiece], pieces_a_coefficient: int) -> Fit | None:
    """Fit the model; None where there are too few pieces for its coefficients, or no answer."""
    columns = _usable_columns(pieces)
    if len(pieces) < pieces_a_coefficient * (len(columns) + 1):
        return None
    shots = {piece.shot: place for place, piece in enumerate(pieces)}
    seconds = np.array([piece.seconds for piece in pieces])
    if len(shots) < 2 or seconds.sum() <= 0:
        return None
    groups = np.array([shots[piece.shot] for piece in pieces])
    offset = np.log([piece.days for piece in pieces])
    matrix = _matrix(pieces, columns)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = GLM(seconds, matrix, family=Poisson(), offset=offset)
        made = model.fit(cov_type="cluster", cov_kwds={"groups": groups})
        null = GLM(seconds, matrix[:, :1], family=Poisson(), offset=offset).fit()
    covariance = np.asarray(made.cov_params())
    spread = float(made.pearson_chi2 / made.df_resid)
    if not made.converged or not np.isfinite(covariance).all() or not spread > 0:
        return None
    freedom = min(len(shots) - 1, int(made.df_resid))
    widths = t.ppf((1 + LEVEL) / 2, freedom) * np.sqrt(np.diag(covariance).clip(0.0))
    ends = zip(made.params[1:], widths[1:], strict=True)
    return Fit(
        columns=columns,
        coefficients=np.asarray(made.params),
        covariance=covariance,
        factors=tuple((exp(b), exp(b - wide), exp(b + wide)) for b, wide in ends),
        explained=1 - float(made.deviance) / float(null.deviance) if null.deviance > 0 else 0.0,
        spread=spread,
        between=between_people(pieces, np.asarray(made.mu), spread),
        people=len({piece.person for piece in pieces}),
    )
