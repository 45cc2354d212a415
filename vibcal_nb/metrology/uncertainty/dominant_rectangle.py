"""A budget that one rectangular contribution dominates: its coverage factor is not that of a normal distribution.

The central limit theorem needs several contributions of like size. Where the others together are at most 0.3 of one
rectangle, the sum is a rectangle with softened edges: at 95 % its coverage factor lies near 0.95 sqrt(3) = 1.65, and
1.96 claims limits that the rectangle cannot reach. EA-4/02 M:2022, example S9, expands such a budget with the
rectangle's own factor 1.65, and gives 0.3 as the limit (from memory). Here the factor is that of the rectangle with
the others added as a normal distribution, which is 1.65 where nothing else counts and rises with what does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from scipy.special import ndtr

from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded

MOST_OF_THE_REST = 0.3  # of the rectangle's standard uncertainty: EA-4/02 M:2022, S9.12, from memory


def expand_budget(budget: Budget, *, probability: float = PROBABILITY) -> Expanded:
    """Return U = k u_c of a budget: by the rectangle that dominates it, else by Student's t (``Budget.expanded``).

    Raises ``CoverageError`` for a probability outside (0, 1).
    """
    usual = budget.expanded(probability=probability)
    widest = None if budget.correlations else dominating_rectangle(budget.lines)
    if widest is None:
        return usual
    rest = math.sqrt(max((usual.u / widest.contribution) ** 2 - 1.0, 0.0))
    k = softened_rectangle_factor(round(rest, 12), probability)
    return replace(usual, k=k, U=k * usual.u, dominated_by=widest.name)


def dominating_rectangle(lines: Sequence[BudgetLine]) -> BudgetLine | None:
    """Return the rectangular line that dominates uncorrelated ``lines``; None where none does.

    A line whose limits are not known exactly (finite degrees of freedom) does not count.
    """
    widest = max(lines, key=lambda line: line.contribution, default=None)
    if widest is None or widest.distribution != "rectangular" or math.isfinite(widest.degrees_of_freedom):
        return None
    rest = math.sqrt(math.fsum(line.contribution**2 for line in lines if line is not widest))
    dominates = widest.contribution > 0.0 and rest <= MOST_OF_THE_REST * widest.contribution
    return widest if dominates else None


@lru_cache(maxsize=1024)
def softened_rectangle_factor(rest: float, probability: float) -> float:
    """Return k of the sum of a rectangle and a normal distribution, ``rest`` times as wide, for its combined u.

    ``rest`` is the ratio of the standard uncertainties, 0 or more. k = 0.95 sqrt(3) at 95 % without a rest.

    >>> round(softened_rectangle_factor(0.0, 0.95), 3)
    1.645
    """
    from scipy.optimize import brentq

    half_width = math.sqrt(3.0)  # of a rectangle with u = 1
    if rest < 1e-6:  # softens nothing that a float could show
        return probability * half_width
    bound = half_width + 40.0 * rest
    inside = brentq(lambda y: _within(y, half_width, rest) - probability, 0.0, bound, xtol=1e-12)
    return float(inside) / math.hypot(1.0, rest)


def _within(y: float, half_width: float, sigma: float) -> float:
    """Probability that a rectangle plus a normal variable lies within -y and y."""

    def integral(z: float) -> float:
        """Integral of the normal distribution function from minus infinity to z."""
        return z * float(ndtr(z)) + math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)

    high, low = (y + half_width) / sigma, (y - half_width) / sigma
    below = sigma / (2.0 * half_width) * (integral(high) - integral(low))
    return 2.0 * below - 1.0
