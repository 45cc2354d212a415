"""A quantity that is defined in two ways, of which none is told: definitional uncertainty (JCGM 200:2012, 2.27)."""

from __future__ import annotations

import math
from dataclasses import replace

from scipy.special import ndtr, stdtr

from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, expand

BISECTIONS = 40


def expand_about_two(
    u: float, apart: float, degrees_of_freedom: float = math.inf, *, probability: float = PROBABILITY
) -> Expanded:
    """Expand ``u`` so that the interval about the middle of two values ``apart`` holds either with ``probability``.

    k solves T(k - b) - T(-k - b) = probability, with b half the distance in units of ``u`` and T Student's
    distribution. Without a distance it is `expand`.

    >>> round(expand_about_two(1.0, 0.0).k, 3), round(expand_about_two(1.0, 6.0).k, 3)
    (1.96, 4.645)
    """
    plain = expand(u, degrees_of_freedom, probability=probability)
    if u == 0.0 or apart == 0.0:
        return plain
    half = 0.5 * abs(apart) / u
    low, high = plain.k, plain.k + half
    for _ in range(BISECTIONS):
        k = 0.5 * (low + high)
        inside = _below(k - half, degrees_of_freedom) - _below(-k - half, degrees_of_freedom)
        low, high = (k, high) if inside < probability else (low, k)
    return replace(plain, k=high, U=high * u)


def _below(t: float, nu: float) -> float:
    return float(ndtr(t) if math.isinf(nu) else stdtr(nu, t))
