"""Lines under nasty numbers, and what is refused. The judge is the same arithmetic in exact rationals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from vibcal_nb.metrology.straight_line import line_equations
from vibcal_nb.metrology.straight_line.straight_line import (
    chi_squared_test,
    fit_line_through_zero,
    fit_straight_line,
    fit_straight_line_covariance,
    forward_evaluate,
    inverse_evaluate,
    scaled,
)


def exact_line(x: Sequence[float], y: Sequence[float], u_y: Sequence[float]) -> SimpleNamespace:
    """Weighted least squares by the normal equations, in exact rationals of the float64 readings."""
    X, Y, w = [Fraction(v) for v in x], [Fraction(v) for v in y], [1 / Fraction(u) ** 2 for u in u_y]
    S, Sx, Sy = sum(w), sum(map(lambda a, b: a * b, w, X)), sum(map(lambda a, b: a * b, w, Y))
    Sxx = sum(a * b * b for a, b in zip(w, X, strict=True))
    Sxy = sum(a * b * c for a, b, c in zip(w, X, Y, strict=True))
    D = S * Sxx - Sx**2
    a, b = (Sxx * Sy - Sx * Sxy) / D, (S * Sxy - Sx * Sy) / D
    residuals = [q - a - b * p for p, q in zip(X, Y, strict=True)]
    return SimpleNamespace(
        a=a,
        b=b,
        var_a=Sxx / D,
        var_b=S / D,
        cov=-Sx / D,
        residuals=[float(r) for r in residuals],
        chi2=float(sum(v * r * r for v, r in zip(w, residuals, strict=True))),
    )


def test_offsets_of_1e8_cost_no_digits() -> None:
    x = 1e8 + np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])
    y = 1e8 + np.array([0.125, 2.0, 4.25, 5.75, 8.0, 10.5])
    fit, exact = fit_straight_line(x, y, u_y=0.25), exact_line(x, y, [0.25] * 6)
    assert fit.slope == pytest.approx(float(exact.b), rel=1e-14)
    assert fit.u_slope == pytest.approx(math.sqrt(exact.var_b), rel=1e-14)
    assert fit.chi_squared == pytest.approx(exact.chi2, rel=1e-12)
    assert fit.intercept == pytest.approx(float(exact.a), rel=1e-14)
    assert fit.u_intercept == pytest.approx(math.sqrt(exact.var_a), rel=1e-14)
    assert fit.covariance == pytest.approx(float(exact.cov), rel=1e-14)
    np.testing.assert_allclose(fit.residuals, exact.residuals, rtol=1e-12, atol=1e-14)


def test_evaluation_far_from_zero_keeps_its_digits() -> None:
    """u(a)^2 + 2 x cov + x^2 u(b)^2 would lose every digit here: the terms are 1e15 times the sum."""
    x = 1e8 + np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])
    y = 1e8 + np.array([0.125, 2.0, 4.25, 5.75, 8.0, 10.5])
    fit, exact = fit_straight_line(x, y, u_y=0.25), exact_line(x, y, [0.25] * 6)
    x0 = Fraction(1e8 + 1.5)
    height = exact.a + exact.b * x0
    variance = exact.var_a + 2 * x0 * exact.cov + x0**2 * exact.var_b
    forward = forward_evaluate(fit, 1e8 + 1.5)
    assert forward.y0 == pytest.approx(float(height), rel=1e-15)
    assert forward.u_y0 == pytest.approx(math.sqrt(variance), rel=1e-10)
    inverse = inverse_evaluate(fit, 1e8 + 3.0, u_y0=0.0)
    assert inverse.x0 - 1e8 == pytest.approx(float((Fraction(1e8 + 3.0) - exact.a) / exact.b) - 1e8, abs=2e-8)


def test_clause_7_with_offsets_of_1e8() -> None:
    x, y = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0]), np.array([0.125, 2.0, 4.25, 5.75, 8.0, 10.5])
    near, far = (fit_straight_line(x + shift, y + shift, u_x=0.1, u_y=0.25) for shift in (0.0, 1e8))
    assert far.slope == pytest.approx(near.slope, rel=1e-12)
    assert far.u_slope == pytest.approx(near.u_slope, rel=1e-12)
    assert far.chi_squared == pytest.approx(near.chi_squared, rel=1e-11)


numbers = st.floats(-1e6, 1e6, allow_subnormal=False)


@settings(deadline=None, max_examples=200)
@given(st.lists(st.tuples(numbers, numbers, st.floats(1e-3, 1e3)), min_size=2, max_size=10))
def test_any_points_against_exact_rationals(points: list[tuple[float, float, float]]) -> None:
    x, y, u_y = (list(values) for values in zip(*points, strict=True))
    assume(np.ptp(x) > max(1e-9, 1e-3 * max(map(abs, x))))
    fit, exact = fit_straight_line(x, y, u_y=u_y), exact_line(x, y, u_y)
    size = max(map(abs, y)) / np.ptp(x)  # the slope's own scale, where readings cancel to nearly none
    assert fit.slope == pytest.approx(float(exact.b), rel=1e-9, abs=1e-9 * size)
    assert fit.u_slope == pytest.approx(math.sqrt(exact.var_b), rel=1e-9)
    assert fit.u_intercept == pytest.approx(math.sqrt(exact.var_a), rel=1e-9)
    floor = 1e-9 * max(map(abs, y))
    np.testing.assert_allclose(fit.residuals, exact.residuals, rtol=1e-9, atol=floor)


def test_one_reading_a_billion_times_surer_than_the_rest() -> None:
    x, y, u_y = [3.0, 1.0, 2.0, 7.0], [3.3, 1.2, 1.9, 7.4], [1e-9, 1.0, 1.0, 1.0]
    fit, exact = fit_straight_line(x, y, u_y=u_y), exact_line(x, y, u_y)
    assert fit.slope == pytest.approx(float(exact.b), rel=1e-13)
    assert fit.u_slope == pytest.approx(math.sqrt(exact.var_b), rel=1e-13)
    assert fit.u_centroid == pytest.approx(1e-9, rel=1e-13)
    assert fit.intercept == pytest.approx(float(exact.a), rel=1e-12)


@pytest.mark.parametrize("unit", [1e-150, 1e-30, 1e30, 1e150])
def test_units_of_any_size(unit: float) -> None:
    x, y = np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.1, 3.9, 6.2, 7.8])
    fit = fit_straight_line(x, y, u_y=0.1)
    other = fit_straight_line(x, y * unit, u_y=0.1 * unit)
    assert other.slope == pytest.approx(fit.slope * unit, rel=1e-14)
    assert other.u_intercept == pytest.approx(fit.u_intercept * unit, rel=1e-14)
    assert other.chi_squared == pytest.approx(fit.chi_squared, rel=1e-12)


def test_what_cannot_be_computed_is_refused_and_not_a_nan() -> None:
    with pytest.raises(ValueError, match="differ too widely in size: check their units"):
        fit_straight_line([1, 2, 3], [1e200, 2e200, 4e200], u_y=1e-200)
    with pytest.raises(ValueError, match="differ too widely in size"):
        fit_straight_line([1, 2, 3], [1, 2, 4], u_y=[1e-200, 1, 1])
    with pytest.raises(ValueError, match="differ too widely in size"):
        fit_line_through_zero([1e-200, 2e-200], [1e200, 2e200], u_y=1.0)


def test_two_points_leave_no_residual() -> None:
    fit = fit_straight_line([1.0, 3.0], [2.0, 8.0], u_y=[0.1, 0.2])
    assert (fit.intercept, fit.slope) == pytest.approx((-1.0, 3.0), rel=1e-14)
    assert fit.u_slope == pytest.approx(math.hypot(0.1, 0.2) / 2, rel=1e-14)
    assert (fit.chi_squared, fit.degrees_of_freedom) == (0.0, 0)
    test = chi_squared_test(fit)
    assert (test.passed, test.limit) == (None, None)
    assert "nothing to test" in (test.reason or "")


def test_two_points_with_uncertainty_in_x() -> None:
    fit = fit_straight_line([1.0, 3.0], [2.0, 8.0], u_x=0.1, u_y=0.2)
    assert (fit.intercept, fit.slope, fit.chi_squared) == pytest.approx((-1.0, 3.0, 0.0), rel=1e-13)
    assert fit.u_slope == pytest.approx(math.hypot(0.2, 3 * 0.1) * math.sqrt(2) / 2, rel=1e-12)


def test_two_points_without_uncertainty_are_refused() -> None:
    with pytest.raises(ValueError, match=r"2 point\(s\) leave no residual .* state u_y, or take more readings"):
        fit_straight_line([1.0, 3.0], [2.0, 8.0])
    with pytest.raises(ValueError, match=r"1 point\(s\) leave no residual"):
        fit_line_through_zero([1.0], [2.0])
    with pytest.raises(ValueError, match="leave no residual"):
        scaled(fit_straight_line([1.0, 3.0], [2.0, 8.0], u_y=0.1))


def test_one_point_and_zero_make_a_line() -> None:
    fit = fit_line_through_zero([4.0], [10.0], u_y=0.2)
    assert (fit.slope, fit.u_slope, fit.degrees_of_freedom) == (2.5, 0.05, 0)


def test_neighbouring_floats_are_two_levels() -> None:
    x = [1.0, math.nextafter(1.0, 2.0)]
    fit = fit_straight_line(x, [0.0, 1.0], u_y=1.0)
    assert fit.slope == pytest.approx(2.0**52, rel=1e-12)


def test_a_perfect_line_has_no_residual_uncertainty() -> None:
    fit = fit_straight_line([1, 2, 3, 4], [3, 5, 7, 9])
    assert (fit.intercept, fit.slope, fit.scale, fit.u_slope) == (1.0, 2.0, 0.0, 0.0)
    assert fit.correlation is None
    assert scaled(fit) is fit


def test_readings_that_do_not_move() -> None:
    fit = fit_straight_line([1.0, 2.0, 3.0], [5.0, 5.0, 5.0], u_x=0.1, u_y=0.1)
    assert fit.slope == 0.0
    with pytest.raises(ValueError, match="slope of the line is zero"):
        inverse_evaluate(fit, 5.0, u_y0=0.1)


def test_clause_7_with_x_far_less_sure_than_y() -> None:
    """Only x uncertain: the line is the weighted fit of x against y, turned round."""
    x, y = np.array([1.1, 1.9, 3.2, 3.9]), np.array([1.0, 2.0, 3.0, 4.0])
    fit, turned = fit_straight_line(x, y, u_x=0.1, u_y=1e-7), fit_straight_line(y, x, u_y=0.1)
    assert fit.slope == pytest.approx(1 / turned.slope, rel=1e-9)
    assert fit.chi_squared == pytest.approx(turned.chi_squared, rel=1e-9)


def test_clause_7_that_does_not_settle_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(line_equations, "MAX_ITERATIONS", 2)
    with pytest.raises(ValueError, match="does not settle: u_x is too large beside the range of x"):
        fit_straight_line([1.2, 1.9, 2.9, 4.0], [3.4, 4.4, 7.2, 8.5], u_x=0.2, u_y=0.2)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.1, 1.0, 5.0]))
def test_clause_7_finds_the_least_chi_squared_however_noisy_the_readings(seed: int, u_x: float) -> None:
    """Readings that hardly make a line: no slope on a fine grid of angles has a lower chi-squared."""
    random = np.random.default_rng(seed)
    x, y = random.uniform(0, 10, 6), random.uniform(0, 10, 6)
    fit = fit_straight_line(x, y, u_x=u_x, u_y=1.0)

    def chi_squared(b: float) -> float:
        z = y - b * x
        return float(((z - z.mean()) ** 2 / (1.0 + (b * u_x) ** 2)).sum())

    assert fit.chi_squared == pytest.approx(chi_squared(fit.slope), rel=1e-9)
    assert fit.chi_squared <= min(chi_squared(math.tan(angle)) for angle in np.linspace(-1.57, 1.57, 1001)) * (1 + 1e-9)


def test_inputs_are_kept_read_only_and_are_not_the_callers() -> None:
    x, y, u_y = np.array([1.0, 2.0, 3.0]), np.array([1.0, 2.5, 3.0]), np.array([0.1, 0.1, 0.2])
    fit = fit_straight_line(x, y, u_x=0.01, u_y=u_y)
    x[0] = 99.0
    assert fit.x[0] == 1.0
    np.testing.assert_array_equal(fit.u_x, [0.01, 0.01, 0.01])
    for array in (fit.x, fit.y, fit.u_x, fit.u_y, fit.residuals):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0.0


REFUSED = {
    "All 3 points lie at x = 5: a slope needs readings at two or more different x": {
        "x": [5, 5, 5],
        "y": [1, 2, 3],
    },
    r"x has shape \(3,\) and y has shape \(2,\): give two lists of the same length": {
        "x": [1, 2, 3],
        "y": [1, 2],
    },
    "x has shape": {"x": [[1, 2], [3, 4]], "y": [[1, 2], [3, 4]]},
    r"1 point\(s\) given: this line needs at least 2": {"x": [1], "y": [2]},
    r"0 point\(s\) given": {"x": [], "y": []},
    "Point 2 is x = nan, y = 2.0: correct it or leave it out": {"x": [1, math.nan, 3], "y": [1, 2, 3]},
    "Point 3 is x = 3.0, y = inf": {"x": [1, 2, 3], "y": [1, 2, math.inf]},
    "u_y of point 2 is 0.0: a standard uncertainty is a positive number": {
        "x": [1, 2, 3],
        "y": [1, 2, 3],
        "u_y": [1, 0, 1],
    },
    "u_y of point 1 is -0.1": {"x": [1, 2, 3], "y": [1, 2, 3], "u_y": -0.1},
    "u_y of point 3 is nan": {"x": [1, 2, 3], "y": [1, 2, 3], "u_y": [1, 1, math.nan]},
    r"u_y has shape \(2,\) for 3 points": {"x": [1, 2, 3], "y": [1, 2, 3], "u_y": [1, 1]},
    "u_x of point 1 is -1.0: a standard uncertainty is zero or": {
        "x": [1, 2, 3],
        "y": [1, 2, 3],
        "u_x": -1,
        "u_y": 1,
    },
    "u_x was given without u_y: state the uncertainty of y as well": {
        "x": [1, 2, 3],
        "y": [1, 2, 3],
        "u_x": 1,
    },
}


@pytest.mark.parametrize("message", REFUSED)
def test_refused_in_one_sentence(message: str) -> None:
    with pytest.raises(ValueError, match=message) as refusal:
        fit_straight_line(**REFUSED[message])
    assert str(refusal.value).count("\n") == 0


COVARIANCES = {
    r"U_y has shape \(2, 2\) for 3 points: give a 3 by 3 matrix": np.eye(2),
    "U_y is not symmetric": np.eye(3) + np.diag([0.5, 0.5], 1),
    "U_y is not positive definite": np.ones((3, 3)) * 2 - np.eye(3),
    "variance on its diagonal that is not positive": np.diag([1.0, 0.0, 1.0]),
    "not a finite number": np.diag([1.0, math.nan, 1.0]),
}


@pytest.mark.parametrize("message", COVARIANCES)
def test_covariance_refused_in_one_sentence(message: str) -> None:
    with pytest.raises(ValueError, match=message):
        fit_straight_line_covariance([1, 2, 3], [1, 2, 4], U_y=COVARIANCES[message])


def test_line_through_zero_with_every_x_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="All 2 points lie at x = 0"):
        fit_line_through_zero([0, 0], [1, 2])


@pytest.mark.parametrize("probability", [0.0, 1.0, 95, math.nan])
def test_chi_squared_probability_out_of_range(probability: float) -> None:
    with pytest.raises(ValueError, match="give one between 0 and 1"):
        chi_squared_test(fit_straight_line([1, 2, 3], [1, 2, 4], u_y=1), probability=probability)


@pytest.mark.parametrize(("value", "u"), [(math.nan, 0.1), (1.0, -0.1), (1.0, math.nan), (math.inf, 0.1)])
def test_evaluation_refuses_what_is_not_a_number(value: float, u: float) -> None:
    fit = fit_straight_line([1, 2, 3], [1, 2, 4], u_y=1)
    with pytest.raises(ValueError, match=r"u_y0 is|y0 is"):
        inverse_evaluate(fit, value, u_y0=u)
    with pytest.raises(ValueError, match=r"u_x0 is|x0 is"):
        forward_evaluate(fit, value, u_x0=u)


def test_readings_on_a_line_to_within_their_last_digit_settle():
    x = [2.0, 5.0, 10.0, 15.0, 20.0]
    y = [7.9361, 19.8402, 39.6804, 59.5207, 79.3609]
    u_y = [0.01652033, 0.04130068, 0.08260134, 0.12390222, 0.16520289]
    line = fit_straight_line(x, y, u_x=[0.0288675] * 5, u_y=u_y)
    assert line.slope == pytest.approx(3.96805, rel=1e-5)
    assert line.chi_squared < 1e-6
