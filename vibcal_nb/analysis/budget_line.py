"""One line of an uncertainty budget: value, distribution, divisor, sensitivity coefficient, kind."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, cast

if TYPE_CHECKING:
    from vibcal_nb.inputs.visit import Contribution

Distribution = Literal["normal", "rectangular", "triangular", "arcsine", "trapezoidal"]
Kind = Literal["common", "independent"]
DISTRIBUTIONS = ("normal", "rectangular", "triangular", "arcsine", "trapezoidal")
KINDS = ("common", "independent")


class BudgetError(ValueError):
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

    @classmethod
    def from_input(cls, contribution: Contribution, *, sensitivity_coefficient: float = 1.0) -> BudgetLine:
        """Make the line, in percent, of what a visit's file states.

        A stated divisor is k for ``normal`` (1 where none is stated: the value is a standard uncertainty),
        fixes beta for ``trapezoidal``, and must agree within 1 % with the distribution's own otherwise.
        """
        stated, nu = contribution.divisor, contribution.degrees_of_freedom
        is_normal = contribution.distribution == "normal"
        line = cls(
            name=contribution.name,
            value=contribution.value_pct,
            kind=cast(Kind, contribution.kind),
            distribution=cast(Distribution, contribution.distribution),
            k=stated if is_normal and stated is not None else 1.0,
            beta=_beta_of(contribution) if contribution.distribution == "trapezoidal" else None,
            sensitivity_coefficient=sensitivity_coefficient,
            degrees_of_freedom=math.inf if nu is None else nu,
            source=contribution.source or "",
        )
        if stated is not None and abs(stated - line.divisor) > 0.01 * line.divisor:
            raise BudgetError(
                f"budget line '{line.name}': the divisor {stated} does not belong to a {line.distribution} "
                f"distribution, whose divisor is {line.divisor:.3f}; leave it out or change the distribution"
            )
        return line

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


def _beta_of(contribution: Contribution) -> float:
    """Return the beta of the trapezoid with the stated divisor, sqrt(6 / (1 + beta^2))."""
    divisor = contribution.divisor
    if divisor is None or not math.sqrt(3.0) * 0.99 <= divisor <= math.sqrt(6.0) * 1.01:
        raise BudgetError(
            f"budget line '{contribution.name}': the divisor of a trapezoidal distribution is {divisor}; "
            "give it, from 1.732 (a rectangle) to 2.449 (a triangle)"
        )
    return math.sqrt(min(max(6.0 / divisor**2 - 1.0, 0.0), 1.0))
