"""The date until which a drifting channel is probably within its tolerance.

Over time the trend moves and its uncertainty grows; the probability of conformity (JCGM 106:2012, clause 7)
falls. The date sought is when it first falls below a chosen level. The date is itself uncertain, as the trend
is: its interval comes from drawing the trend's parameters from their covariance and seeking the date for each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits, probability_of_conformity
from vibcal_nb.metrology.over_time.trend import Trend

DRAWS = 2000
STEPS_PER_YEAR = 24


@dataclass(frozen=True, kw_only=True, eq=False)
class ConformityDate:
    """Years after the trend's origin until the probability of conformity falls below ``level``.

    ``years`` is None where that does not happen within ``horizon_years``; so is either end of ``interval_years``
    (95 %). ``t_years`` (m,) and ``probability`` (m,) are the curve itself, from the origin on.
    """

    level: float
    horizon_years: float
    years: float | None
    interval_years: tuple[float | None, float | None]
    t_years: FloatArray
    probability: FloatArray
    draws: int


def find_conformity_date(
    trend: Trend, *, tolerance: float, level: float, horizon_years: float, rng: np.random.Generator, draws: int = DRAWS
) -> ConformityDate:
    """Find when the latest stretch of ``trend`` (t in years) leaves -+ ``tolerance`` with probability 1 - ``level``.

    Assumes that the drift goes on at the fitted rate. Raises ``ValueError`` for a level outside 0 to 1 or a
    horizon or tolerance that is not positive.
    """
    if not (0.0 < level < 1.0 and horizon_years > 0.0 and tolerance > 0.0):
        raise ValueError(
            f"level {level}, horizon {horizon_years} years, tolerance {tolerance}: give a level between 0 and 1, "
            "a horizon and a tolerance above 0."
        )
    t = np.linspace(0.0, horizon_years, max(int(horizon_years * STEPS_PER_YEAR), 2) + 1)
    limits = ToleranceLimits(lower=-tolerance, upper=tolerance)
    value, u = trend.predict(trend.origin + t)
    probability = probability_of_conformity(value, u, limits)
    pair = trend.covariance[np.ix_([-2, -1], [-2, -1])]  # level of the latest stretch, and slope
    drawn = rng.multivariate_normal([trend.levels[-1], trend.slope], pair, size=draws, method="svd")
    values = drawn[:, :1] + drawn[:, 1:] * t
    dates = _first_below(t, probability_of_conformity(values, u, limits), level)
    low, high = np.quantile(dates, [0.025, 0.975], method="inverted_cdf")
    return ConformityDate(
        level=level,
        horizon_years=horizon_years,
        years=_within(float(_first_below(t, probability[None, :], level)[0])),
        interval_years=(_within(float(low)), _within(float(high))),
        t_years=frozen(t),
        probability=frozen(probability),
        draws=draws,
    )


def _within(years: float) -> float | None:
    return years if math.isfinite(years) else None


def _first_below(t: FloatArray, probability: FloatArray, level: float) -> FloatArray:
    """Return for each row of ``probability`` (d, m) the first time below ``level``, infinite where there is none."""
    below = probability < level
    index = below.argmax(axis=1)
    rows = np.arange(len(index))
    before = np.maximum(index - 1, 0)
    p0, p1 = probability[rows, before], probability[rows, index]
    share = np.divide(p0 - level, p0 - p1, out=np.zeros_like(p0), where=p0 > p1)
    found = t[before] + np.clip(share, 0.0, 1.0) * (t[index] - t[before])
    return np.where(below.any(axis=1), np.where(index == 0, 0.0, found), math.inf)
