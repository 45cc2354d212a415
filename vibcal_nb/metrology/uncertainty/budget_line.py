"""One line of an uncertainty budget: value, distribution, divisor, sensitivity coefficient, kind."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from vibcal_nb.metrology.unusable import Unusable

Distribution = Literal["normal", "rectangular", "triangular", "arcsine", "trapezoidal"]
Kind = Literal["common", "independent"]
DISTRIBUTIONS = ("normal", "rectangular", "triangular", "arcsine", "trapezoidal")
KINDS = ("common", "independent")


class BudgetError(Unusable):
    """A budget line or a correlation that cannot be used; the text names it and says what to do."""


@dataclass(frozen=True, kw_only=True)
class BudgetLine:
    """One contribution to an uncertainty budget.

    ``value`` is the half-width of the limits for the bounded distributions; for ``normal`` it is the
    standard uncertainty, or the expanded uncertainty where ``k`` is above 1. It is in the unit of the input
    quantity; ``sensitivity_coefficient`` brings it to the unit of the result, and may be negative.
    ``beta`` is the ratio of the top of a trapezoid to its base, 0 (triangle) to 1 (rectangle).
    ``kind`` is ``"common"`` for what all readings share (it does not average down) and ``"independent"``
    for what differs from reading to reading. ``source`` says where the value comes from.

    Divisors: JCGM 100:2008, 4.3 and JCGM 101:2008, 6.4. Raises ``BudgetError``.
    """

    name: str
    value: float
    kind: Kind
    distribution: Distribution = "normal"
    k: float = 1.0
    beta: float | None = None
    sensitivity_coefficient: float = 1.0
    degrees_of_freedom: float = math.inf
    source: str = ""

    def __post_init__(self) -> None:
        problem = _problem_of(self)
        if problem:
            raise BudgetError(f"budget line '{self.name}': {problem}")

    def scaled_by(self, sensitivity_coefficient: float) -> BudgetLine:
        """Return the line with another sensitivity coefficient."""
        return replace(self, sensitivity_coefficient=sensitivity_coefficient)

    @property
    def divisor(self) -> float:
        """The number by which ``value`` is divided to give the standard uncertainty."""
        if self.distribution == "trapezoidal":
            return math.sqrt(6.0 / (1.0 + (self.beta or 0.0) ** 2))
        if self.distribution == "normal":
            return self.k
        return math.sqrt({"rectangular": 3.0, "triangular": 6.0, "arcsine": 2.0}[self.distribution])

    @property
    def standard_uncertainty(self) -> float:
        """u(x_i), in the unit of the input quantity."""
        return self.value / self.divisor

    @property
    def contribution(self) -> float:
        """u_i(y) = |c_i| u(x_i), in the unit of the result (JCGM 100:2008, 5.1.3)."""
        return abs(self.sensitivity_coefficient) * self.standard_uncertainty


def _problem_of(line: BudgetLine) -> str | None:
    """Say what is wrong with the line and what to do, or None."""
    if line.distribution not in DISTRIBUTIONS:
        return f"the distribution '{line.distribution}' is not known; take one of {', '.join(DISTRIBUTIONS)}"
    if line.kind not in KINDS:
        return f"the kind '{line.kind}' is not known; take 'common' or 'independent'"
    if not (math.isfinite(line.value) and line.value >= 0.0):
        return f"the value is {line.value}; give a finite number of zero or more"
    if not math.isfinite(line.sensitivity_coefficient):
        return f"the sensitivity coefficient is {line.sensitivity_coefficient}; give a finite number"
    if not line.degrees_of_freedom > 0.0:
        return f"the degrees of freedom are {line.degrees_of_freedom}; give a number above 0, or infinity"
    return _problem_of_shape(line)


def _problem_of_shape(line: BudgetLine) -> str | None:
    if not (math.isfinite(line.k) and line.k > 0.0):
        return f"the coverage factor k is {line.k}; give a finite number above 0"
    if line.distribution != "normal" and line.k != 1.0:
        return f"k = {line.k} belongs to a normal distribution, not to a {line.distribution} one; leave it out"
    if line.distribution != "trapezoidal":
        return None if line.beta is None else "beta belongs to a trapezoidal distribution; leave it out"
    if line.beta is None or not 0.0 <= line.beta <= 1.0:
        return f"beta is {line.beta}; give the ratio of the trapezoid's top to its base, from 0 to 1"
    return None
