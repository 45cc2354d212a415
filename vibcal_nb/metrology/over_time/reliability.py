"""Reliability of like channels between visits, from how many were found out of tolerance after how long.

Survival model: a channel leaves its tolerance at a constant rate, so that after a time t a share R(t) =
exp(-rate t) is still in. A visit only shows whether it has happened by then (the binomial, interval-censored
case of NCSL RP-1's reliability methods, from memory). The rate's estimate is maximum likelihood; its limits
invert the exact distribution of the number found out (C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404,
for unequal times: the sum of unequal Bernoulli trials), so that they hold with no failure at all, too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from vibcal_nb.arrays import FloatArray, frozen

LARGEST_RATE = 100.0  # a year
_BISECTIONS = 60


@dataclass(frozen=True, kw_only=True, eq=False)
class Reliability:
    """Rate of leaving the tolerance, per year, with its two-sided limits for ``confidence``.

    ``rate`` is 0 where none was found out. ``upper_rate`` is None where every one was found out, so that the
    visits set no upper limit; ``rate`` is None then, too.
    """

    years: FloatArray
    out: int
    rate: float | None
    lower_rate: float
    upper_rate: float | None
    confidence: float
    method: str = "constant rate, maximum likelihood; limits by the exact distribution of the number found out"

    def interval_for(self, target: float) -> float | None:
        """Return the years after which the share in tolerance falls to ``target``; None: the visits set no bound."""
        return None if not self.rate else -math.log(target) / self.rate

    def interval_limits(self, target: float) -> tuple[float, float | None]:
        """Return the limits of those years; the upper is None where the rate's lower limit is 0."""
        low = 0.0 if self.upper_rate is None else -math.log(target) / self.upper_rate
        return low, None if self.lower_rate == 0.0 else -math.log(target) / self.lower_rate


def estimate_reliability(years: ArrayLike, out: ArrayLike, *, confidence: float = 0.95) -> Reliability:
    """Estimate from ``years`` (n,) since each channel was last in tolerance, and whether it was found ``out`` (n,).

    Raises ``ValueError`` without observations, or for times that are not positive.
    """
    t = np.atleast_1d(np.asarray(years, dtype=float))
    failed: NDArray[np.bool_] = np.atleast_1d(np.asarray(out, dtype=bool))
    if t.size == 0 or t.shape != failed.shape or not (np.isfinite(t) & (t > 0.0)).all():
        raise ValueError("Reliability needs at least one channel, each with its time since it was good, above 0 years.")
    count, alpha = int(failed.sum()), 0.5 * (1.0 - confidence)
    everyone = count == t.size
    return Reliability(
        years=frozen(t),
        out=count,
        rate=None if everyone else 0.0 if count == 0 else _solve(lambda r: _score(r, t, failed)),
        lower_rate=0.0 if count == 0 else _solve(lambda r: alpha - (1.0 - _at_most(count - 1, r, t))),
        upper_rate=None if everyone else _solve(lambda r: _at_most(count, r, t) - alpha),
        confidence=confidence,
    )


def _score(rate: float, t: FloatArray, failed: NDArray[np.bool_]) -> float:
    """Derivative of the log-likelihood with respect to the rate."""
    return float((t[failed] / np.expm1(rate * t[failed])).sum() - t[~failed].sum())


def _solve(falling: Callable[[float], float]) -> float:
    """Return where a falling function of the rate passes zero, by bisection in the logarithm."""
    low, high = math.log(1e-9), math.log(LARGEST_RATE)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if falling(math.exp(middle)) > 0.0 else (low, middle)
    return math.exp(0.5 * (low + high))


def _at_most(count: int, rate: float, t: FloatArray) -> float:
    """Probability that at most ``count`` of the channels are found out (sum of unequal Bernoulli trials)."""
    probabilities = np.zeros(count + 1)
    probabilities[0] = 1.0
    for p in -np.expm1(-rate * t):
        probabilities[1:] = probabilities[1:] * (1.0 - p) + probabilities[:-1] * p
        probabilities[0] *= 1.0 - p
    return float(probabilities.sum())
