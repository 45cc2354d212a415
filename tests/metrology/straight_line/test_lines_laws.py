"""Laws that every fitted line obeys, and second ways to the same line on random readings."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from vibcal_nb.metrology.straight_line.straight_line import (
    LineFit,
    fit_line_through_zero,
    fit_straight_line,
    fit_straight_line_covariance,
    forward_evaluate,
    inverse_evaluate,
)

KINDS = ["clause 6", "clause 7", "clause 9", "Annex E"]


@st.composite
def readings(draw, min_size: int = 4):
    """Readings about a rising line, with uncertainties of the size of their scatter."""
    n = draw(st.integers(min_size, 12))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    x = np.linspace(1.0, 20.0, n) + random.uniform(-0.5, 0.5, n)
    u_x, u_y = random.uniform(0.02, 0.2, n), random.uniform(0.05, 0.5, n)
    intercept, slope = draw(st.floats(-5, 5)), draw(st.floats(0.5, 5))
    y = intercept + slope * (x + u_x * random.standard_normal(n)) + u_y * random.standard_normal(n)
    return x, y, u_x, u_y


def covariance_of(u_y: np.ndarray) -> np.ndarray:
    return np.diag(u_y**2) + 0.5 * np.outer(u_y, u_y)


def fit_by(kind: str, x: np.ndarray, y: np.ndarray, u_x: np.ndarray, u_y: np.ndarray) -> LineFit:
    if kind == "clause 9":
        return fit_straight_line_covariance(x, y, U_y=covariance_of(u_y))
    stated = {"clause 6": {"u_y": u_y}, "clause 7": {"u_x": u_x, "u_y": u_y}, "Annex E": {}}
    return fit_straight_line(x, y, **stated[kind])


def assert_same(fit: LineFit, other: LineFit, *, rel: float = 1e-9) -> None:
    """Same line, compared at its centroid, so that no number near zero rules."""
    at = forward_evaluate(other, fit.x_centroid).y0
    assert abs(at - fit.y_centroid) <= rel * (fit.u_centroid + abs(fit.y_centroid))
    assert fit.slope == pytest.approx(other.slope, rel=rel)
    assert fit.u_slope == pytest.approx(other.u_slope, rel=rel)
    assert fit.u_intercept == pytest.approx(other.u_intercept, rel=rel)
    assert fit.covariance == pytest.approx(other.covariance, rel=rel)
    assert fit.chi_squared == pytest.approx(other.chi_squared, rel=rel)
    assert fit.degrees_of_freedom == other.degrees_of_freedom


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=40)
@given(data=readings(), seed=st.integers(0, 1000))
def test_the_order_of_the_readings_does_not_matter(kind: str, data, seed: int) -> None:
    x, y, u_x, u_y = data
    order = np.random.default_rng(seed).permutation(x.size)
    assert_same(fit_by(kind, x, y, u_x, u_y), fit_by(kind, x[order], y[order], u_x[order], u_y[order]))


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=40)
@given(
    data=readings(),
    x_unit=st.sampled_from([25.4, 1e-3, 9.80665, -1.0, 1e-60]),
    y_unit=st.sampled_from([1000.0, 1e-12, -0.70710678, 1e100]),
)
def test_units_carry_through(kind: str, data, x_unit: float, y_unit: float) -> None:
    x, y, u_x, u_y = data
    fit = fit_by(kind, x, y, u_x, u_y)
    other = fit_by(kind, x * x_unit, y * y_unit, u_x * abs(x_unit), u_y * abs(y_unit))
    assert other.slope == pytest.approx(fit.slope * y_unit / x_unit, rel=1e-9)
    assert other.u_slope == pytest.approx(fit.u_slope * abs(y_unit / x_unit), rel=1e-9)
    assert other.u_intercept == pytest.approx(fit.u_intercept * abs(y_unit), rel=1e-9)
    assert other.covariance == pytest.approx(fit.covariance * y_unit**2 / x_unit, rel=1e-9)
    assert other.intercept == pytest.approx(fit.intercept * y_unit, rel=1e-9, abs=1e-9 * fit.u_intercept * abs(y_unit))
    expected = fit.chi_squared * (y_unit**2 if kind == "Annex E" else 1.0)  # Annex E: in the unit of y squared
    assert other.chi_squared == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=40)
@given(data=readings(), x_shift=st.floats(-100, 100), y_shift=st.floats(-100, 100))
def test_a_shift_moves_the_line_and_nothing_else(kind: str, data, x_shift: float, y_shift: float) -> None:
    x, y, u_x, u_y = data
    fit, other = fit_by(kind, x, y, u_x, u_y), fit_by(kind, x + x_shift, y + y_shift, u_x, u_y)
    assert other.slope == pytest.approx(fit.slope, rel=1e-9)
    assert other.u_slope == pytest.approx(fit.u_slope, rel=1e-9)
    assert other.chi_squared == pytest.approx(fit.chi_squared, rel=1e-7)
    assert other.intercept == pytest.approx(fit.intercept + y_shift - fit.slope * x_shift, rel=1e-9, abs=1e-8)
    moved = forward_evaluate(fit, 7.0, u_x0=0.1)
    assert forward_evaluate(other, 7.0 + x_shift, u_x0=0.1).u_y0 == pytest.approx(moved.u_y0, rel=1e-9)


@pytest.mark.parametrize("kind", ["clause 6", "clause 9", "Annex E"])
@settings(deadline=None, max_examples=40)
@given(data=readings(), a=st.floats(-10, 10), b=st.floats(-10, 10))
def test_adding_a_line_adds_that_line(kind: str, data, a: float, b: float) -> None:
    x, y, u_x, u_y = data
    fit, other = fit_by(kind, x, y, u_x, u_y), fit_by(kind, x, y + a + b * x, u_x, u_y)
    assert other.slope == pytest.approx(fit.slope + b, rel=1e-9, abs=1e-9)
    assert other.intercept == pytest.approx(fit.intercept + a, rel=1e-9, abs=1e-8)
    assert other.u_intercept == pytest.approx(fit.u_intercept, rel=1e-9)
    np.testing.assert_allclose(other.residuals, fit.residuals, rtol=0, atol=1e-10)


@pytest.mark.parametrize("kind", ["clause 6", "clause 7"])
@settings(deadline=None, max_examples=40)
@given(data=readings(), copies=st.integers(2, 5))
def test_exact_duplicates_divide_the_variance(kind: str, data, copies: int) -> None:
    x, y, u_x, u_y = data
    fit = fit_by(kind, x, y, u_x, u_y)
    other = fit_by(kind, *(np.tile(values, copies) for values in data))
    assert other.slope == pytest.approx(fit.slope, rel=1e-9)
    assert other.intercept == pytest.approx(fit.intercept, rel=1e-9, abs=1e-9)
    assert other.u_slope**2 * copies == pytest.approx(fit.u_slope**2, rel=1e-9)
    assert other.u_intercept**2 * copies == pytest.approx(fit.u_intercept**2, rel=1e-9)
    assert other.chi_squared == pytest.approx(copies * fit.chi_squared, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(readings())
def test_clause_7_read_the_other_way_round_is_the_same_line(data) -> None:
    x, y, u_x, u_y = data
    fit, other = fit_straight_line(x, y, u_x=u_x, u_y=u_y), fit_straight_line(y, x, u_x=u_y, u_y=u_x)
    assert other.slope == pytest.approx(1 / fit.slope, rel=1e-9)
    assert other.intercept == pytest.approx(-fit.intercept / fit.slope, rel=1e-9, abs=1e-9)
    assert other.u_slope == pytest.approx(fit.u_slope / fit.slope**2, rel=1e-8)
    assert other.chi_squared == pytest.approx(fit.chi_squared, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(readings())
def test_clause_6_against_statsmodels(data) -> None:
    x, y, _, u_y = data
    other = sm.WLS(y, sm.add_constant(x), weights=1 / u_y**2).fit(cov_type="fixed scale")
    fit = fit_straight_line(x, y, u_y=u_y)
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(other.params), rel=1e-9, abs=1e-10)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(other.bse), rel=1e-10)


@settings(deadline=None, max_examples=40)
@given(readings())
def test_line_through_zero_against_statsmodels(data) -> None:
    x, y, _, u_y = data
    stated = sm.WLS(y, x, weights=1 / u_y**2).fit(cov_type="fixed scale")
    fit = fit_line_through_zero(x, y, u_y=u_y)
    assert (fit.slope, fit.u_slope) == pytest.approx((stated.params[0], stated.bse[0]), rel=1e-10)
    by_residuals, other = fit_line_through_zero(x, y), sm.OLS(y, x).fit()
    assert (by_residuals.slope, by_residuals.u_slope) == pytest.approx((other.params[0], other.bse[0]), rel=1e-10)
    np.testing.assert_allclose(by_residuals.residuals, other.resid, rtol=0, atol=1e-11)


@settings(deadline=None, max_examples=40)
@given(readings())
def test_clause_9_against_statsmodels(data) -> None:
    x, y, _, u_y = data
    other = sm.GLS(y, sm.add_constant(x), sigma=covariance_of(u_y)).fit(cov_type="fixed scale")
    fit = fit_straight_line_covariance(x, y, U_y=covariance_of(u_y))
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(other.params), rel=1e-8, abs=1e-9)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(other.bse), rel=1e-9)


@settings(deadline=None, max_examples=25)
@given(readings())
def test_clause_7_against_least_squares_in_every_true_x(data) -> None:
    x, y, u_x, u_y = data

    def residuals(p: np.ndarray) -> np.ndarray:
        return np.concatenate([(x - p[2:]) / u_x, (y - p[0] - p[1] * p[2:]) / u_y])

    start = np.concatenate([np.polyfit(x, y, 1)[::-1], x])
    found = least_squares(residuals, start, jac="3-point", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    covariance = np.linalg.inv(found.jac.T @ found.jac)[:2, :2]
    fit = fit_straight_line(x, y, u_x=u_x, u_y=u_y)
    assert fit.chi_squared == pytest.approx(2 * found.cost, rel=1e-9)
    assert fit.slope == pytest.approx(found.x[1], rel=1e-6)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-5)


@settings(deadline=None, max_examples=40)
@given(readings(), st.floats(-5, 30))
def test_inverse_undoes_forward(data, x0: float) -> None:
    x, y, _, u_y = data
    fit = fit_straight_line(x, y, u_y=u_y)
    assume(fit.slope > 0.1)
    forward = forward_evaluate(fit, x0)
    inverse = inverse_evaluate(fit, forward.y0, u_y0=0.0)
    assert inverse.x0 == pytest.approx(x0, rel=1e-9, abs=1e-9)
    assert inverse.u_x0 == pytest.approx(forward.u_y0 / fit.slope, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(readings(), st.floats(-5, 30), st.floats(0, 1))
def test_evaluation_is_the_formula_of_clause_11(data, x0: float, u_x0: float) -> None:
    x, y, _, u_y = data
    fit = fit_straight_line(x, y, u_y=u_y)
    variance = fit.u_intercept**2 + 2 * x0 * fit.covariance + x0**2 * fit.u_slope**2 + (fit.slope * u_x0) ** 2
    found = forward_evaluate(fit, x0, u_x0=u_x0)
    assert found.y0 == pytest.approx(fit.intercept + fit.slope * x0, rel=1e-10, abs=1e-10)
    assert found.u_y0**2 == pytest.approx(variance, rel=1e-9)


def test_independent_scatter_averages_down_and_a_common_error_does_not() -> None:
    """100 readings instead of 4: u(slope) falls; an error common to all y widens the intercept only."""
    few, many = np.linspace(1, 10, 4), np.linspace(1, 10, 100)
    for x in (few, many):
        common = fit_straight_line_covariance(x, 2 * x, U_y=0.01 * np.eye(x.size) + 0.25)
        independent = fit_straight_line(x, 2 * x, u_y=0.1)
        assert common.u_slope == pytest.approx(independent.u_slope, rel=1e-9)
        assert common.u_intercept**2 == pytest.approx(independent.u_intercept**2 + 0.25, rel=1e-9)
    assert fit_straight_line(many, 2 * many, u_y=0.1).u_slope < 0.3 * fit_straight_line(few, 2 * few, u_y=0.1).u_slope


def test_the_stated_uncertainties_are_the_scatter_of_repeated_calibrations() -> None:
    """2000 simulated calibrations with uncertainty in x and y: coverage of the slope and mean chi-squared."""
    random = np.random.default_rng(28037)
    x, u_x, u_y = np.linspace(2, 20, 8), 0.05, 0.1
    fits = [
        fit_straight_line(
            x + u_x * random.standard_normal(8), 1 + 3 * x + u_y * random.standard_normal(8), u_x=u_x, u_y=u_y
        )
        for _ in range(2000)
    ]
    normalised = np.array([(fit.slope - 3) / fit.u_slope for fit in fits])
    assert np.std(normalised) == pytest.approx(1.0, abs=4 / np.sqrt(2 * 2000))
    assert np.mean([fit.chi_squared for fit in fits]) == pytest.approx(6.0, abs=4 * np.sqrt(12 / 2000))
