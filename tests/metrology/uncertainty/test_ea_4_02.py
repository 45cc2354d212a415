"""EA-4/02 M, worked examples of uncertainty budgets.

S2: contributions as published, 29.3 mg from memory (arithmetic confirmed). S3, S9 and S10: from memory
(arithmetic confirmed).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetLine, rounded
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY_OF_K_2
from vibcal_nb.metrology.uncertainty.monte_carlo import propagate


def line(name: str, value: float, **more: object) -> BudgetLine:
    return BudgetLine(name=name, value=value, kind="common", **more)  # type: ignore[arg-type]


def weight() -> Budget:
    """S2: weight of nominal value 10 kg, mg."""
    return Budget(
        estimate=10_000_025.0,
        lines=(
            line("m_S", 45.0, k=2.0),
            line("drift of m_S", 15.0, distribution="rectangular"),
            line("observed difference", 25.0 / math.sqrt(3)),  # pooled s = 25 mg, mean of 3
            line("eccentricity and magnetism", 10.0, distribution="rectangular"),
            line("air buoyancy", 10.0, distribution="rectangular"),
        ),
    )


def test_s2_contributions() -> None:
    printed = [22.5, 8.66, 14.4, 5.77, 5.77]
    decimals = [1, 2, 1, 2, 2]
    assert [round(c.contribution, d) for c, d in zip(weight().lines, decimals, strict=True)] == printed


def test_s2_result() -> None:
    expanded = weight().expanded(probability=PROBABILITY_OF_K_2)
    assert round(expanded.u, 1) == 29.3
    assert expanded.k == pytest.approx(2.0)
    text = rounded(10_000.025, expanded.U / 1000.0)
    assert (text.value, text.uncertainty) == ("10000.025", "0.059")


def test_s3_resistor_of_10_kilohm() -> None:
    """Contributions in milliohm; a triangle among them. u = 8.33, U = 17."""
    budget = Budget(
        lines=(
            line("R_S", 5.0, k=2.0),
            line("drift of R_S", 10.0, distribution="rectangular"),
            line("temperature of R_S", 2.75, distribution="rectangular"),
            line("temperature of R_X", 5.5, distribution="rectangular", sensitivity_coefficient=-1.0),
            line("parasitic voltages", 1e-6, distribution="triangular", sensitivity_coefficient=1e7),
            line("ratio", 0.07e-6, sensitivity_coefficient=1e7),
        )
    )
    assert [round(part.contribution, 1) for part in budget.lines] == [2.5, 5.8, 1.6, 3.2, 4.1, 0.7]
    assert round(budget.combined_standard_uncertainty, 2) == 8.33
    assert round(budget.expanded_uncertainty(probability=PROBABILITY_OF_K_2)) == 17


def test_s9_rectangle_that_rules_the_budget() -> None:
    """Hand-held multimeter at 100 V: resolution +-0.05 V, calibrator +-0.011 V; (0.1 +- 0.05) V at 95 %."""
    budget = Budget(
        estimate=0.1,
        lines=(
            line("resolution", 0.05, distribution="rectangular"),
            line("calibrator", 0.011, distribution="rectangular"),
            line("certificate of the calibrator", 0.002, k=2.0),
        ),
    )
    u = budget.combined_standard_uncertainty
    assert round(u, 3) == 0.030
    low, high = propagate(budget, rng=np.random.default_rng(9)).symmetric_interval
    assert round((low + high) / 2.0, 2) == 0.10
    assert round((high - low) / 2.0, 2) == 0.05
    # the example takes k = 1.65 of the rectangle alone; both rectangles make a trapezoid, k = 1.71 by S10.13
    assert (high - low) / 2.0 / u == pytest.approx(trapezoid_coverage_factor(39.0 / 61.0), abs=0.01)


def trapezoid_coverage_factor(beta: float, p: float = 0.95) -> float:
    """S10.13, for beta up to p/(2 - p)."""
    return (1.0 - math.sqrt((1.0 - p) * (1.0 - beta**2))) / math.sqrt((1.0 + beta**2) / 6.0)


@pytest.mark.parametrize("beta", [0.0, 0.3, 0.6, 0.9])
def test_s10_coverage_factor_of_a_trapezoid(beta: float) -> None:
    budget = Budget(lines=(line("trapezoid", 3.0, distribution="trapezoidal", beta=beta),))
    k = trapezoid_coverage_factor(beta)
    low, high = propagate(budget, rng=np.random.default_rng(10)).symmetric_interval
    assert (high - low) / 2.0 == pytest.approx(k * budget.combined_standard_uncertainty, rel=2e-3)
