"""A quantity that is defined in two ways, of which none is told: definitional uncertainty (JCGM 200:2012, 2.27)."""

from __future__ import annotations

import math
from dataclasses import replace

from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, expand


def expand_about_two(
    u: float, apart: float, degrees_of_freedom: float = math.inf, *, probability: float = PROBABILITY
) -> Expanded:
    """Expand ``u`` about the middle of two values ``apart``: the interval is that of the one and that of the other.

    Each has its own interval, both ends of it, so that far from the other it is excluded on one side alone and half as
    often as ``probability`` allows. Without a distance it is `expand`.

    >>> round(expand_about_two(1.0, 0.0).k, 3), round(expand_about_two(1.0, 6.0).k, 3)
    (1.96, 4.96)
    """
    plain = expand(u, degrees_of_freedom, probability=probability)
    if u == 0.0 or apart == 0.0:
        return plain
    U = plain.U + 0.5 * abs(apart)
    return replace(plain, k=U / u, U=U)
