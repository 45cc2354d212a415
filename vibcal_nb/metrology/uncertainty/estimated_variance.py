"""Chi-squared of residuals whose variance was itself estimated from repeats, its distribution and quantile.

Weighted residuals leave A + L over V. A: the scatter of repeats about their means, on ``within`` degrees of freedom;
L: the scatter of the means about the model, on the rest; V: the estimated variance over the true one. With a share w
of the variance pooled from these repeats and others (B, on ``elsewhere``), V = 1 - w + w (A + B) / (within +
elsewhere), A in both places. Taken as known, the variance rejects more good models than the test says: A is smaller
where L looks large. Where the repeats are all there is (w = 1, B = 0) the test is the F test of lack of fit on L
(Draper and Smith, Applied Regression Analysis, 1.5, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import chdtrc, chdtri

from vibcal_nb.arrays import FloatArray

_NODES = 40  # of a Gauss rule over the probability of A, and of B


@dataclass(frozen=True, kw_only=True)
class EstimatedVariance:
    """How much of the residuals' variance was pooled from repeats, and on how many degrees of freedom.

    ``within`` are those of repeats among the tested residuals themselves, ``elsewhere`` those of other repeats;
    ``share`` of the variance, 0 to 1, was estimated so, the rest is known. Raises ``ValueError``.
    """

    within: int
    elsewhere: int
    share: float

    def __post_init__(self) -> None:
        if self.within < 0 or self.elsewhere < 0 or not 0.0 <= self.share <= 1.0:
            raise ValueError(f"{self}: give degrees of freedom of zero or more and a share from 0 to 1.")

    @property
    def degrees_of_freedom(self) -> int:
        """All that the variance was pooled on."""
        return self.within + self.elsewhere

    @property
    def is_known(self) -> bool:
        """Whether nothing of the variance was estimated."""
        return self.share == 0.0 or self.degrees_of_freedom == 0


KNOWN = EstimatedVariance(within=0, elsewhere=0, share=0.0)


@lru_cache(maxsize=256)
def chi_squared_quantile(probability: float, degrees_of_freedom: int, variance: EstimatedVariance = KNOWN) -> float:
    """Return the quantile of chi-squared on ``degrees_of_freedom`` with the variance known or estimated.

    ``variance.within`` must not exceed ``degrees_of_freedom``; where it equals them there is nothing but repeats, and
    no model is tested. Raises ``ValueError``.

    >>> round(chi_squared_quantile(0.95, 4), 3)
    9.488
    """
    from scipy.optimize import brentq

    if variance.within >= degrees_of_freedom > 0 and not variance.is_known:
        raise ValueError(
            f"{variance.within} of {degrees_of_freedom} degrees of freedom are repeats: nothing is tested."
        )
    known = float(chdtri(degrees_of_freedom, 1.0 - probability))
    if variance.is_known:
        return known

    def beyond(log_t: float) -> float:
        return exceeding(math.exp(log_t), degrees_of_freedom, variance) - (1.0 - probability)

    low, high = math.log(known) - 5.0, math.log(known) + 1.0
    while beyond(high) > 0.0:
        high += 2.0
    return math.exp(brentq(beyond, low, high, xtol=1e-10))


def exceeding(chi_squared: float, degrees_of_freedom: int, variance: EstimatedVariance) -> float:
    """Return the probability that a good model leaves more than ``chi_squared``."""
    if variance.is_known:
        return float(chdtrc(degrees_of_freedom, chi_squared))
    a, wa = _chi_squared_nodes(variance.within)
    b, wb = _chi_squared_nodes(variance.elsewhere)
    per_degree = chi_squared * variance.share / variance.degrees_of_freedom
    left = chi_squared * (1.0 - variance.share) + a[:, None] * (per_degree - 1.0) + b[None, :] * per_degree
    sure = chdtrc(degrees_of_freedom - variance.within, np.maximum(left, 0.0))
    return float(wa @ sure @ wb)


@lru_cache(maxsize=256)
def _chi_squared_nodes(degrees_of_freedom: int) -> tuple[FloatArray, FloatArray]:
    """Values of a chi-squared variable and their probabilities: a Gauss rule over its probability."""
    if degrees_of_freedom == 0:
        return np.zeros(1), np.ones(1)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return np.asarray(chdtri(degrees_of_freedom, (1.0 - nodes) / 2.0)), weights / 2.0
