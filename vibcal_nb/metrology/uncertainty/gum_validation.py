"""Whether a budget's interval agrees with the Monte Carlo interval (JCGM 101:2008, clause 8)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vibcal_nb.metrology.uncertainty.budget import Expanded
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError
from vibcal_nb.metrology.uncertainty.monte_carlo import Interval, MonteCarloResult, numerical_tolerance


@dataclass(frozen=True, kw_only=True)
class GumValidation:
    """The comparison of both intervals, all in the unit of the result.

    ``d_low`` and ``d_high`` are the distances between the ends of the intervals; the budget is ``validated``
    where neither is above ``tolerance``.
    """

    monte_carlo: MonteCarloResult
    gum_interval: Interval
    monte_carlo_interval: Interval
    interval_kind: Literal["symmetric", "shortest"]
    d_low: float
    d_high: float
    tolerance: float
    validated: bool


def validate_gum(
    estimate: float,
    expanded: Expanded,
    monte_carlo: MonteCarloResult,
    *,
    interval: Literal["symmetric", "shortest"] = "symmetric",
    digits: int = 1,
) -> GumValidation:
    """Compare ``estimate`` +- ``expanded.U`` with the Monte Carlo interval of the same coverage probability.

    The tolerance is half a unit in the last of ``digits`` significant digits of u_c(y). One digit is what a
    field uncertainty carries; two is a hard test that any budget ruled by one rectangle fails.

    Source: JCGM 101:2008, clause 8.1. Raises ``BudgetError`` where the coverage probabilities differ.
    """
    if expanded.probability != monte_carlo.probability:
        raise BudgetError(
            f"the intervals have coverage probabilities {expanded.probability} and "
            f"{monte_carlo.probability}; compare intervals of the same probability"
        )
    low, high = monte_carlo.symmetric_interval if interval == "symmetric" else monte_carlo.shortest_interval
    gum_low, gum_high = estimate - expanded.U, estimate + expanded.U
    tolerance = numerical_tolerance(expanded.u, digits=digits)
    d_low, d_high = abs(gum_low - low), abs(gum_high - high)
    return GumValidation(
        monte_carlo=monte_carlo,
        gum_interval=(gum_low, gum_high),
        monte_carlo_interval=(low, high),
        interval_kind=interval,
        d_low=d_low,
        d_high=d_high,
        tolerance=tolerance,
        validated=max(d_low, d_high) <= tolerance,
    )


def validation_sentence(validation: GumValidation) -> str:
    """Say in one sentence whether the Monte Carlo run confirms the budget's interval."""
    monte_carlo = validation.monte_carlo
    outcome = "confirms" if validation.validated else "does not confirm"
    return (
        f"A Monte Carlo run of {monte_carlo.trials} trials (JCGM 101:2008, clause 8) {outcome} the "
        f"{100 * monte_carlo.probability:g} % interval of the budget: the ends differ by "
        f"{validation.d_low:.2g} and {validation.d_high:.2g}, "
        f"against a numerical tolerance of {validation.tolerance:.2g}."
    )
