"""NIST/ITL Statistical Reference Datasets, linear regression: Norris, NoInt1, NoInt2.

https://www.itl.nist.gov/div898/strd/lls/lls.shtml. Certified values have 15 digits; the data are decimal
numbers that float64 does not hold exactly, so that about 2e-13 is what it reaches on the intercept of Norris.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import scipy

from vibcal_nb.metrology.straight_line.straight_line import LineFit, fit_line_through_zero, fit_straight_line

# fmt: off
NORRIS_X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
            338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0,
            779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]
NORRIS_Y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
            339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5,
            778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]
NORRIS = {"a": -0.262323073774029, "sd_a": 0.232818234301152,
          "b": 1.00211681802045, "sd_b": 0.429796848199937e-03,
          "resid_sd": 0.884796396144373, "r2": 0.999993745883712,
          "ss_reg": 4255954.13232369, "ss_res": 26.6173985294224, "ms_res": 0.782864662630069,
          "F": 5436385.54079785, "dof": 34}
NOINT1_X = [60, 61, 62, 63, 64, 65, 66, 67, 68, 69, 70]
NOINT1_Y = [130, 131, 132, 133, 134, 135, 136, 137, 138, 139, 140]
NOINT1 = {"b": 2.07438016528926, "sd_b": 0.165289256198347e-01,
          "resid_sd": 3.56753034006338, "r2": 0.999365492298663,
          "ss_reg": 200457.727272727, "ss_res": 127.272727272727, "ms_res": 12.7272727272727,
          "F": 15750.25, "dof": 10}
# NoInt2 from memory; b = 56/77 and the residual sum of squares 41 - 56^2/77 follow in whole numbers
NOINT2_X = [4, 5, 6]
NOINT2_Y = [3, 4, 4]
NOINT2 = {"b": 0.727272727272727, "sd_b": 0.420827318078432e-01,
          "resid_sd": 0.369274472937998, "r2": 0.993348115299335,
          "ss_reg": 40.7272727272727, "ss_res": 0.272727272727273, "ms_res": 0.136363636363636,
          "F": 298.6666666666667, "dof": 2}
# fmt: on


def statistics(fit: LineFit) -> dict[str, float]:
    """Everything that NIST certifies, from what the fit reports (R^2 about zero for a line through zero)."""
    F = (fit.slope / fit.u_slope) ** 2
    ms_res = fit.chi_squared / fit.degrees_of_freedom
    ss_reg = F * ms_res
    return {
        "a": fit.intercept,
        "sd_a": fit.u_intercept,
        "b": fit.slope,
        "sd_b": fit.u_slope,
        "resid_sd": fit.scale,
        "r2": ss_reg / (ss_reg + fit.chi_squared),
        "ss_reg": ss_reg,
        "ss_res": fit.chi_squared,
        "ms_res": ms_res,
        "F": F,
        "dof": fit.degrees_of_freedom,
    }


@pytest.mark.parametrize("name", NORRIS)
def test_norris_to_twelve_digits(name: str) -> None:
    assert statistics(fit_straight_line(NORRIS_X, NORRIS_Y))[name] == pytest.approx(NORRIS[name], rel=1e-12)


@pytest.mark.parametrize("name", NOINT1)
def test_noint1_to_thirteen_digits(name: str) -> None:
    found = statistics(fit_line_through_zero(NOINT1_X, NOINT1_Y))[name]
    assert found == pytest.approx(NOINT1[name], rel=5e-14 if name == "b" else 1e-13)


def test_noint1_slope_is_the_rational_251_over_121() -> None:
    assert fit_line_through_zero(NOINT1_X, NOINT1_Y).slope == pytest.approx(251 / 121, rel=3e-16)


@pytest.mark.parametrize("name", NOINT2)
def test_noint2_to_thirteen_digits(name: str) -> None:
    found = statistics(fit_line_through_zero(NOINT2_X, NOINT2_Y))[name]
    assert found == pytest.approx(NOINT2[name], rel=2e-13)


def test_line_through_zero_has_a_certain_intercept() -> None:
    fit = fit_line_through_zero(NOINT1_X, NOINT1_Y)
    assert (fit.intercept, fit.u_intercept, fit.covariance) == (0.0, 0.0, 0.0)


def test_norris_with_its_residual_deviation_stated_is_the_same_line() -> None:
    unknown = fit_straight_line(NORRIS_X, NORRIS_Y)
    known = fit_straight_line(NORRIS_X, NORRIS_Y, u_y=NORRIS["resid_sd"])
    assert known.u_slope == pytest.approx(unknown.u_slope, rel=1e-13)
    assert known.chi_squared == pytest.approx(34, rel=1e-12)
    assert math.isclose(known.intercept, unknown.intercept, rel_tol=1e-12)


def test_norris_constants_are_those_of_the_original_file() -> None:
    path = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    rows = [line.split() for line in path.read_text(encoding="utf-8").splitlines()[60:96]]
    assert [float(y) for y, _ in rows] == NORRIS_Y
    assert [float(x) for _, x in rows] == NORRIS_X
