"""A straight trend over the visits, broken by adjustments: one drift rate, a level for each stretch between them.

Generalised least squares with the full covariance of the observations, for the visits share errors (ISO/TS
28037:2010, clause 9, for one stretch; with several, each has its own intercept). An adjustment moves the
level and is assumed not to change the rate at which the channel drifts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtri

from vibcal_nb.arrays import FloatArray, frozen

SIGNIFICANCE = 0.05  # of the chi-squared test, as in ISO/TS 28037


@dataclass(frozen=True, kw_only=True, eq=False)
class Trend:
    """Fitted trend; ``slope`` in the unit of y per unit of t, ``levels`` (s,) at t = ``origin``, one a stretch.

    ``covariance`` (s + 1, s + 1) is of the levels, then the slope. ``steady`` is the chi-squared test's answer,
    None where no degree of freedom is left to test with.
    """

    t: FloatArray
    y: FloatArray
    covariance_y: FloatArray
    stretch: tuple[int, ...]
    origin: float
    levels: FloatArray
    slope: float
    covariance: FloatArray
    chi_squared: float
    degrees_of_freedom: int
    chi_squared_limit: float | None
    steady: bool | None
    method: str = "generalised least squares: one slope, one level for each stretch between adjustments"

    @property
    def u_slope(self) -> float:
        """Standard uncertainty of the slope."""
        return math.sqrt(float(self.covariance[-1, -1]))

    def predict(self, t: ArrayLike, *, stretch: int = -1) -> tuple[FloatArray, FloatArray]:
        """Return the trend's value and standard uncertainty at times ``t``, same shape, in the given stretch."""
        at = np.atleast_1d(np.asarray(t, dtype=float)) - self.origin
        row = range(len(self.levels))[stretch]
        value = self.levels[row] + self.slope * at
        C = self.covariance
        variance = C[row, row] + 2.0 * at * C[row, -1] + at**2 * C[-1, -1]
        return value, np.sqrt(np.maximum(variance, 0.0))


def fit_trend(t: ArrayLike, y: ArrayLike, *, covariance: ArrayLike, stretch: Sequence[int]) -> Trend:
    """Fit the trend to ``y`` (n,) at times ``t`` (n,) with ``covariance`` (n, n) of y.

    ``stretch`` (n,) numbers the stretches between adjustments from 0. The levels are stated at the latest time.
    Raises ``ValueError`` with a sentence where no stretch holds two different times, so that there is no slope,
    or where the covariance is not positive definite.
    """
    t, y, V = np.asarray(t, dtype=float), np.asarray(y, dtype=float), np.asarray(covariance, dtype=float)
    numbers = np.asarray(stretch, dtype=int)
    if not any(np.ptp(t[numbers == s]) > 0.0 for s in np.unique(numbers)):
        raise ValueError("No stretch between adjustments holds two visits: there is no slope to be fitted.")
    origin = float(t.max())
    design = np.column_stack([numbers == s for s in range(numbers.max() + 1)] + [t - origin]).astype(float)
    try:
        root = np.linalg.cholesky(V)
    except np.linalg.LinAlgError:
        raise ValueError("The covariance of the observations is not positive definite.") from None
    whitened, target = np.linalg.solve(root, design), np.linalg.solve(root, y)
    parameters, *_ = np.linalg.lstsq(whitened, target, rcond=None)
    residual = target - whitened @ parameters
    freedom = len(t) - design.shape[1]
    chi_squared = float(residual @ residual) if freedom > 0 else 0.0  # else rounding alone, other in each process
    limit = float(chdtri(freedom, SIGNIFICANCE)) if freedom > 0 else None
    return Trend(
        t=frozen(t),
        y=frozen(y),
        covariance_y=frozen(V),
        stretch=tuple(int(s) for s in numbers),
        origin=origin,
        levels=frozen(parameters[:-1]),
        slope=float(parameters[-1]),
        covariance=frozen(np.linalg.pinv(whitened.T @ whitened, hermitian=True)),
        chi_squared=chi_squared,
        degrees_of_freedom=freedom,
        chi_squared_limit=limit,
        steady=None if limit is None else chi_squared <= limit,
    )
