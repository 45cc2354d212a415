"""JCGM 100:2008, example H.3: calibration line of a thermometer, b(t) = y1 + y2 (t - t0)."""

from __future__ import annotations

import numpy as np
import pytest

from vibcal_nb.metrology.straight_line.straight_line import (
    LineFit,
    fit_straight_line,
    fit_straight_line_covariance,
    forward_evaluate,
)

# fmt: off
T0 = 20.0
T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
PRINTED = {"y1": "-0.1712", "s_y1": "0.0029", "y2": "0.00218", "s_y2": "0.00067", "r": "-0.930",
           "s": "0.0035", "b30": "-0.1494", "u_b30": "0.0041"}
FULL = {"y1": -0.17120379, "s_y1": 0.0028776, "y2": 0.0021826977, "s_y2": 0.00066794, "r": -0.9304296,
        "s": 0.00349756, "b30": -0.14937681, "u_b30": 0.00413860, "ssr": 0.00011009658310929721}
PREDICTED = [-0.1679, -0.1668, -0.1657, -0.1646, -0.1635, -0.1625, -0.1614, -0.1603, -0.1592, -0.1581,
             -0.1570]
RESIDUAL = [-0.0031, -0.0022, -0.0003, 0.0056, -0.0005, -0.0025, 0.0054, 0.0033, 0.0002, -0.0029, -0.0030]
# GTC's documentation of H.3: a systematic error of the standard, u = 0.005, common to all readings
SYSTEMATIC = {"u": 0.005, "u_y1": 0.00576893138292676, "u_y2": 0.0006679387732278323}
# fmt: on


def fitted() -> LineFit:
    return fit_straight_line(np.array(T) - T0, B)


def found() -> dict[str, float]:
    fit = fitted()
    at_30 = forward_evaluate(fit, 30.0 - T0)
    return {
        "y1": fit.intercept,
        "s_y1": fit.u_intercept,
        "y2": fit.slope,
        "s_y2": fit.u_slope,
        "r": fit.correlation,
        "s": fit.scale,
        "b30": at_30.y0,
        "u_b30": at_30.u_y0,
        "ssr": fit.chi_squared,
    }


@pytest.mark.parametrize("name", PRINTED)
def test_every_printed_digit(name: str) -> None:
    decimals = len(PRINTED[name].partition(".")[2])
    assert f"{found()[name]:.{decimals}f}" == PRINTED[name]


@pytest.mark.parametrize("name", FULL)
def test_recomputed_digits(name: str) -> None:
    assert found()[name] == pytest.approx(FULL[name], rel=2e-6)


def test_table_h6_predicted_corrections_and_differences() -> None:
    fit = fitted()
    assert fit.degrees_of_freedom == 9
    np.testing.assert_array_equal(np.round(fit.residuals, 4), RESIDUAL)
    np.testing.assert_array_equal(np.round(np.array(B) - fit.residuals, 4), PREDICTED)


def test_uncertainty_at_30_degrees_is_that_of_the_line_about_30_degrees() -> None:
    """H.3.5: with t0 = 30 the intercept is b(30 C) itself, with the same uncertainty."""
    about_30 = fit_straight_line(np.array(T) - 30.0, B)
    at_30 = forward_evaluate(fitted(), 10.0)
    assert (about_30.intercept, about_30.u_intercept) == pytest.approx((at_30.y0, at_30.u_y0), rel=1e-11)


def test_a_common_error_widens_the_intercept_and_leaves_the_slope() -> None:
    s = fitted().scale
    U_y = s**2 * np.eye(len(T)) + SYSTEMATIC["u"] ** 2
    fit = fit_straight_line_covariance(np.array(T) - T0, B, U_y=U_y)
    assert fit.u_intercept == pytest.approx(SYSTEMATIC["u_y1"], rel=1e-10)
    assert fit.u_slope == pytest.approx(SYSTEMATIC["u_y2"], rel=1e-10)
    assert (fit.intercept, fit.slope) == pytest.approx((fitted().intercept, fitted().slope), rel=1e-10)
