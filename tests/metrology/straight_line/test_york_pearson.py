"""Pearson's data with York's weights: the standard test of a line with uncertainty in x and y.

K. Pearson, Phil. Mag. 2 (1901) 559 (volume and page from memory); weights D. York, Can. J. Phys. 44 (1966)
1079; standard errors D. York et al., Am. J. Phys. 72 (2004) 367; exact intercept and slope F. Neri et al.,
J. Phys. E 22 (1989) 215; S/nu = 1.4833 quoted from R. J. Murray, 1994.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from GTC import get_correlation, type_b, ureal
from scipy.optimize import least_squares, minimize_scalar

from vibcal_nb.metrology.straight_line.straight_line import chi_squared_test, fit_straight_line, scaled

# fmt: off
PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
YORK_WX = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0]  # = 1/ux^2
YORK_WY = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0]  # = 1/uy^2
NERI = {"a": "5.47991022", "b": "-0.480533407"}  # as printed
YORK = {"a": 5.479910224032864, "b": -0.4805334074462021,
        "ua": 0.29497073549310865, "ub": 0.05798500900077448,
        "cov": -0.016472544658115824, "r": -0.9630881375079948,
        "S": 11.866353194061462, "S_over_nu": 1.4832941492576828,
        "ua_scaled": 0.359246522551112, "ub_scaled": 0.070620269528771, "goodness": 1.217905640539398}
# A. H. Kalantar, Meas. Sci. Technol. 3 (1992) 1113
YORK_KALANTAR = {"ua": "0.29193", "ub": "0.057617", "cov": "-0.0162"}
# fmt: on
U_X, U_Y = np.array(YORK_WX) ** -0.5, np.array(YORK_WY) ** -0.5


def test_neri_every_printed_digit() -> None:
    fit = fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y)
    assert f"{fit.intercept:.8f}" == NERI["a"]
    assert f"{fit.slope:.9f}" == NERI["b"]


def test_york_2004_a_priori_standard_errors() -> None:
    fit = fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y)
    assert (fit.intercept, fit.slope) == pytest.approx((YORK["a"], YORK["b"]), rel=1e-13)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx((YORK["ua"], YORK["ub"]), rel=1e-12)
    assert fit.covariance == pytest.approx(YORK["cov"], rel=1e-12)
    assert fit.correlation == pytest.approx(YORK["r"], rel=1e-12)


def test_goodness_of_fit_as_quoted_from_murray() -> None:
    fit = fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y)
    assert fit.degrees_of_freedom == 8
    assert fit.chi_squared == pytest.approx(YORK["S"], rel=1e-12)
    assert f"{fit.chi_squared / 8:.4f}" == "1.4833"
    assert chi_squared_test(fit).passed is True


def test_standard_errors_scaled_by_the_goodness_of_fit() -> None:
    fit = scaled(fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y))
    assert fit.scale == pytest.approx(YORK["goodness"], rel=1e-12)
    assert fit.u_intercept == pytest.approx(YORK["ua_scaled"], rel=1e-12)
    assert fit.u_slope == pytest.approx(YORK["ub_scaled"], rel=1e-12)


def propagated_covariance() -> np.ndarray:
    """Covariance of (a, b) propagated through the solution: central differences over every reading."""
    values = np.concatenate([PEARSON_X, PEARSON_Y])
    u = np.concatenate([U_X, U_Y])
    columns = []
    for i, u_i in enumerate(u):
        line = []
        for sign in (1, -1):
            moved = values.copy()
            moved[i] += sign * 1e-3 * u_i
            fit = fit_straight_line(moved[:10], moved[10:], u_x=U_X, u_y=U_Y)
            line.append(np.array([fit.intercept, fit.slope]))
        columns.append((line[0] - line[1]) / 2e-3)
    return np.array(columns).T @ np.array(columns)


def test_kalantar_differs_because_he_propagates_through_the_solution() -> None:
    """Propagation reproduces Kalantar's 0.29193 and 0.057617; York's 0.29497 and 0.05799 are not wrong.

    Propagation also differentiates the weights, which depend on the slope. GTC does the same.
    """
    covariance = propagated_covariance()
    assert f"{math.sqrt(covariance[0, 0]):.5f}" == YORK_KALANTAR["ua"]
    assert f"{math.sqrt(covariance[1, 1]):.6f}" == YORK_KALANTAR["ub"]
    assert f"{covariance[0, 1]:.4f}" == YORK_KALANTAR["cov"]
    x = [ureal(value, u) for value, u in zip(PEARSON_X, U_X.tolist(), strict=True)]
    y = [ureal(value, u) for value, u in zip(PEARSON_Y, U_Y.tolist(), strict=True)]
    a, b = type_b.line_fit_wtls(x, y).a_b
    assert (a.u, b.u) == pytest.approx((math.sqrt(covariance[0, 0]), math.sqrt(covariance[1, 1])), rel=1e-6)
    assert a.u * b.u * get_correlation(a, b) == pytest.approx(covariance[0, 1], rel=1e-6)


def test_against_direct_minimisation_over_the_slope() -> None:
    x, y = np.array(PEARSON_X), np.array(PEARSON_Y)

    def chi_squared(angle: float) -> float:
        b = math.tan(angle)
        w = 1 / (U_Y**2 + b**2 * U_X**2)
        z = y - b * x
        return float(w @ (z - (w @ z) / w.sum()) ** 2)

    grid = np.linspace(-math.pi / 2, math.pi / 2, 2001)
    start = min(grid, key=chi_squared)
    found = minimize_scalar(chi_squared, bracket=(start - 0.01, start, start + 0.01), options={"xtol": 1e-12})
    fit = fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y)
    assert fit.slope == pytest.approx(math.tan(found.x), rel=1e-7)
    assert fit.chi_squared == pytest.approx(found.fun, rel=1e-12)


def test_against_least_squares_in_every_true_x() -> None:
    """The whole problem, a, b and ten true x, given to scipy.optimize: same line, and same covariance."""
    x, y = np.array(PEARSON_X), np.array(PEARSON_Y)

    def residuals(p: np.ndarray) -> np.ndarray:
        return np.concatenate([(x - p[2:]) / U_X, (y - p[0] - p[1] * p[2:]) / U_Y])

    found = least_squares(
        residuals, np.concatenate([[6.0, -0.5], x]), jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)[:2, :2]
    fit = fit_straight_line(PEARSON_X, PEARSON_Y, u_x=U_X, u_y=U_Y)
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(found.x[:2]), rel=1e-7)
    assert (fit.u_intercept**2, fit.u_slope**2) == pytest.approx(tuple(np.diag(covariance)), rel=1e-6)
    assert fit.covariance == pytest.approx(covariance[0, 1], rel=1e-6)
