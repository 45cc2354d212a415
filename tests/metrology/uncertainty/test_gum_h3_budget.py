"""JCGM 100:2008, example H.3: the corrections read off a calibration line, as a budget of correlated lines.

The fit itself is tested elsewhere; intercept, slope and their correlation are taken as recomputed from the
printed observations.
"""

from __future__ import annotations

import math

import GTC
import pytest

from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetLine

T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]  # degC
B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]  # degC
# Y1, s(Y1), Y2, s(Y2), r, recomputed from Table H.6; printed -0.1712, 0.0029, 0.002 18, 0.000 67, -0.930
Y1, S_Y1, Y2, S_Y2, R = -0.17120379, 0.0028776, 0.0021826977, 0.00066794, -0.9304296


def correction(temperature: float, *, systematic: float = 0.0) -> Budget:
    """H.3.4, equation (H.14): b(t) = Y1 + Y2 (t - t0), with t0 = 20 degC and 9 degrees of freedom."""
    slope_of = temperature - 20.0
    lines = [
        BudgetLine(name="intercept", value=S_Y1, kind="independent", degrees_of_freedom=9),
        BudgetLine(
            name="slope",
            value=S_Y2,
            kind="independent",
            degrees_of_freedom=9,
            sensitivity_coefficient=slope_of,
        ),
        BudgetLine(name="reference", value=systematic, kind="common"),
    ]
    correlations = {("intercept", "slope"): R}
    return Budget(lines=tuple(lines), correlations=correlations, estimate=Y1 + Y2 * slope_of)


def test_h_3_4_predicted_correction() -> None:
    budget = correction(30.0)
    assert budget.estimate == pytest.approx(-0.1494, abs=5e-5)
    assert round(budget.combined_standard_uncertainty, 4) == 0.0041
    assert budget.combined_standard_uncertainty == pytest.approx(0.00413860, rel=1e-5)


def test_h_3_4_degrees_of_freedom_are_those_of_the_fit() -> None:
    # intercept and slope share one estimate of scatter: 9 degrees of freedom at every temperature
    for temperature in (20.0, 24.0085, 30.0):
        assert correction(temperature).effective_degrees_of_freedom == pytest.approx(9.0, rel=1e-12)


def test_correlated_lines_of_unlike_degrees_of_freedom_take_the_least() -> None:
    """A convention of this project: JCGM 100:2008, G.4.1, covers independent lines only."""
    lines = [
        BudgetLine(name=name, value=1.0, kind="common", degrees_of_freedom=nu) for name, nu in (("a", 4.0), ("b", 50.0))
    ]
    budget = Budget(lines=tuple(lines), correlations={("a", "b"): 0.5})
    assert budget.effective_degrees_of_freedom == pytest.approx(4.0)


def test_without_the_correlation_the_uncertainty_is_wrong() -> None:
    """Leaving the correlation out gives 0.0073 instead of the printed 0.0041 at 30 degC."""
    lines = correction(30.0).lines
    assert Budget(lines=lines).combined_standard_uncertainty == pytest.approx(math.hypot(S_Y1, 10 * S_Y2))
    assert Budget(lines=lines).combined_standard_uncertainty > 1.7 * 0.0041


def test_a_systematic_error_widens_the_intercept_only() -> None:
    """GTC's documentation of H.3 adds a common error of u = 0.005 degC: u(y1) = 0.005 769."""
    at_t0 = correction(20.0, systematic=0.005)
    assert at_t0.combined_standard_uncertainty == pytest.approx(0.00576893138292676, rel=1e-5)
    assert at_t0.common_uncertainty == 0.005
    assert at_t0.independent_uncertainty == pytest.approx(S_Y1)


def test_agrees_with_gtc_on_the_fitted_line() -> None:
    fit = GTC.type_a.line_fit([t - 20.0 for t in T], B)
    intercept, slope = fit.a_b
    predicted = intercept + slope * 10.0
    budget = correction(30.0)
    assert budget.estimate == pytest.approx(predicted.x, rel=1e-6)
    assert budget.combined_standard_uncertainty == pytest.approx(predicted.u, rel=1e-5)
    assert budget.effective_degrees_of_freedom == pytest.approx(predicted.df, rel=1e-9)
