"""ISO/TS 28037:2010, Determination and use of straight-line calibration functions: its worked examples.

`printed` is what the TS prints, as text, so that every printed digit counts; `full` was recomputed with
NumPy, statsmodels and GTC.
"""

from __future__ import annotations

import doctest
import math
from types import SimpleNamespace

import numpy as np
import pytest
import statsmodels.api as sm
from GTC import get_correlation, type_b, ureal
from scipy import stats

from vibcal_nb.metrology.straight_line import straight_line as lines
from vibcal_nb.metrology.straight_line.straight_line import (
    LineFit,
    chi_squared_test,
    fit_straight_line,
    fit_straight_line_covariance,
    forward_evaluate,
    inverse_evaluate,
    scaled,
)

# fmt: off
TS_6A = SimpleNamespace(  # clause 6.3, equal u(y)
    x=[1, 2, 3, 4, 5, 6],
    y=[3.3, 5.6, 7.1, 9.3, 10.7, 12.1],
    uy=[0.5] * 6,
    printed={"a": "1.867", "ua": "0.465", "b": "1.757", "ub": "0.120", "cov": "-0.050",
             "chi2": "1.665", "dof": "4"},
    full={"a": 1.8666666666666667, "ua": 0.4654746681256314, "b": 1.7571428571428571,
          "ub": 0.1195228609334394, "cov": -0.05, "chi2": 1.664761904761905})
TS_6A_INVERSE = {"y0": 10.5, "uy0": 0.5, "x0": "4.913", "ux0": "0.322",
                 "x0_full": 4.91327913279133, "ux0_full": 0.32203556012891}
TS_6A_FORWARD = {"x0": 3.5, "ux0": 0.2, "y0_full": 8.01666666666667, "uy0_full": 0.406409531732455}
# clause 6.4, unequal u(y): printed figures from memory; the full ones agree with GTC's test of "p 14"
TS_6B = SimpleNamespace(
    x=[1, 2, 3, 4, 5, 6],
    y=[3.2, 4.3, 7.6, 8.6, 11.7, 12.8],
    uy=[0.5, 0.5, 0.5, 1.0, 1.0, 1.0],
    printed={"a": "0.885", "ua": "0.530", "b": "2.057", "ub": "0.178", "cov": "-0.082",
             "chi2": "4.131", "dof": "4"},
    full={"a": 0.8852320675105, "ua": 0.5297081435088, "b": 2.0569620253164, "ub": 0.1778920167412,
          "cov": -0.08227848101266, "chi2": 4.13080168776371})
TS_6B_INVERSE = {"y0": 10.5, "uy0": 1.0, "x0": "4.674", "ux0": "0.533"}
TS_7 = SimpleNamespace(  # clause 7.4, u(x) and u(y)
    x=[1.2, 1.9, 2.9, 4.0, 4.7, 5.9],
    ux=[0.2] * 6,
    y=[3.4, 4.4, 7.2, 8.5, 10.8, 13.5],
    uy=[0.2, 0.2, 0.2, 0.4, 0.4, 0.4],
    printed={"a": "0.5788", "ua": "0.4764", "b": "2.1597", "ub": "0.1355", "cov": "-0.0577",
             "chi2": "2.743", "dof": "4"},
    full={"a": 0.57882212, "ua": 0.47642063, "b": 2.15965657, "ub": 0.13554793,
          "cov": -0.05771694, "chi2": 2.74267679})
TS_9 = SimpleNamespace(  # clause 9, covariance of y: first five diagonal 2, others 1; last five 5 and 4
    x=list(range(1, 11)),
    y=[1.3, 4.1, 6.9, 7.5, 10.2, 12.0, 14.5, 17.1, 19.5, 21.0],
    Uy=np.kron(np.diag([1.0, 4.0]), np.ones((5, 5))) + np.eye(10),
    # as asserted in GTC's test "ISO/TS 28037 Section 9"
    printed={"b": "2.20", "ub": "0.2015", "ua": "1.2726", "dof": "8"},
    full={"a": -0.64556391, "ua": 1.27261497, "b": 2.20135338, "ub": 0.20149815,
          "cov": -0.16691729, "chi2": 2.07395489})
TS_E = SimpleNamespace(  # Annex E, u(y) known up to a factor
    x=[1, 2, 3, 4, 5, 6],
    y=[3.014, 5.225, 7.004, 9.061, 11.201, 12.762],
    printed={"a": "1.172", "ua": "0.159", "b": "1.964", "ub": "0.041", "cov": "-0.006",
             "sigma_hat": "0.171", "dof": "4"},
    full={"a": 1.172, "ua": 0.158875093196181, "b": 1.96357142857143, "ub": 0.0407953578791729,
          "cov": -0.00582491428571429, "chi2": 0.116498285714286, "sigma_hat": 0.17065922602828})
# scipy.stats.chi2.ppf(0.95, nu)
CHI2_95 = {4: 9.487729036781154, 5: 11.070497693516351, 8: 15.50731305586545}
# fmt: on


def numbers(fit: LineFit) -> dict[str, float]:
    return {
        "a": fit.intercept,
        "ua": fit.u_intercept,
        "b": fit.slope,
        "ub": fit.u_slope,
        "cov": fit.covariance,
        "chi2": fit.chi_squared,
        "dof": fit.degrees_of_freedom,
        "sigma_hat": fit.scale,
    }


def assert_printed(found: float, printed: str) -> None:
    decimals = len(printed.partition(".")[2])
    assert f"{found:.{decimals}f}" == printed


FITS = {
    "clause 6.3": (TS_6A, lambda: fit_straight_line(TS_6A.x, TS_6A.y, u_y=TS_6A.uy), 1e-13),
    "clause 6.4": (TS_6B, lambda: fit_straight_line(TS_6B.x, TS_6B.y, u_y=TS_6B.uy), 1e-12),
    "clause 7.4": (TS_7, lambda: fit_straight_line(TS_7.x, TS_7.y, u_x=TS_7.ux, u_y=TS_7.uy), 2e-8),
    "clause 9": (TS_9, lambda: fit_straight_line_covariance(TS_9.x, TS_9.y, U_y=TS_9.Uy), 2e-8),
    "Annex E": (TS_E, lambda: fit_straight_line(TS_E.x, TS_E.y), 1e-13),
}
CASES = [(clause, name) for clause, (example, _, _) in FITS.items() for name in example.printed]
FULL_CASES = [(clause, name) for clause, (example, _, _) in FITS.items() for name in example.full]


@pytest.mark.parametrize(("clause", "name"), CASES)
def test_every_printed_digit(clause: str, name: str) -> None:
    example, fit, _ = FITS[clause]
    assert_printed(numbers(fit())[name], example.printed[name])


@pytest.mark.parametrize(("clause", "name"), FULL_CASES)
def test_recomputed_digits(clause: str, name: str) -> None:
    example, fit, rel = FITS[clause]
    assert numbers(fit())[name] == pytest.approx(example.full[name], rel=rel)


@pytest.mark.parametrize("clause", FITS)
def test_method_names_the_clause(clause: str) -> None:
    _, fit, _ = FITS[clause]
    assert clause.partition(".")[0] in fit().method
    assert "ISO/TS 28037:2010" in fit().method


@pytest.mark.parametrize("clause", ["clause 6.3", "clause 6.4", "clause 7.4", "clause 9"])
def test_chi_squared_test_passes_as_in_the_ts(clause: str) -> None:
    _, fit, _ = FITS[clause]
    test = chi_squared_test(fit())
    assert test.limit == pytest.approx(CHI2_95[test.degrees_of_freedom], rel=1e-13)
    assert test.passed is True
    assert test.reason is None


@pytest.mark.parametrize("probability", [0.5, 0.9, 0.99])
@pytest.mark.parametrize("factor", [0.3, 1.0, 2.5])
def test_chi_squared_test_against_scipy(probability: float, factor: float) -> None:
    fit = fit_straight_line(TS_6B.x, TS_6B.y, u_y=np.array(TS_6B.uy) / factor)
    test = chi_squared_test(fit, probability=probability)
    assert test.limit == pytest.approx(stats.chi2.ppf(probability, 4), rel=1e-12)
    assert test.passed == (4.130801687763712 * factor**2 <= stats.chi2.ppf(probability, 4))


def test_annex_e_leaves_no_chi_squared_test() -> None:
    test = chi_squared_test(fit_straight_line(TS_E.x, TS_E.y))
    assert test.passed is None
    assert test.limit is None
    assert "taken from the residuals" in (test.reason or "")


@pytest.mark.parametrize(("example", "inverse"), [(TS_6A, TS_6A_INVERSE), (TS_6B, TS_6B_INVERSE)])
def test_inverse_evaluation_11_1(example: SimpleNamespace, inverse: dict) -> None:
    fit = fit_straight_line(example.x, example.y, u_y=example.uy)
    found = inverse_evaluate(fit, inverse["y0"], u_y0=inverse["uy0"])
    assert_printed(found.x0, inverse["x0"])
    assert_printed(found.u_x0, inverse["ux0"])


def test_inverse_and_forward_evaluation_full_digits() -> None:
    fit = fit_straight_line(TS_6A.x, TS_6A.y, u_y=TS_6A.uy)
    inverse = inverse_evaluate(fit, TS_6A_INVERSE["y0"], u_y0=TS_6A_INVERSE["uy0"])
    assert inverse.x0 == pytest.approx(TS_6A_INVERSE["x0_full"], rel=1e-13)
    assert inverse.u_x0 == pytest.approx(TS_6A_INVERSE["ux0_full"], rel=1e-13)
    forward = forward_evaluate(fit, TS_6A_FORWARD["x0"], u_x0=TS_6A_FORWARD["ux0"])
    assert forward.y0 == pytest.approx(TS_6A_FORWARD["y0_full"], rel=1e-13)
    assert forward.u_y0 == pytest.approx(TS_6A_FORWARD["uy0_full"], rel=1e-13)


def test_evaluation_agrees_with_gtc_uncertain_numbers() -> None:
    y = [ureal(value, u) for value, u in zip(TS_6B.y, TS_6B.uy, strict=True)]
    a, b = type_b.line_fit_wls(TS_6B.x, y).a_b
    fit = fit_straight_line(TS_6B.x, TS_6B.y, u_y=TS_6B.uy)
    x0 = (ureal(11.0, 0.7) - a) / b
    inverse = inverse_evaluate(fit, 11.0, u_y0=0.7)
    assert (inverse.x0, inverse.u_x0) == pytest.approx((x0.x, x0.u), rel=1e-12)
    y0 = a + b * ureal(-2.0, 0.3)
    forward = forward_evaluate(fit, -2.0, u_x0=0.3)
    assert (forward.y0, forward.u_y0) == pytest.approx((y0.x, y0.u), rel=1e-12)


def test_clause_7_is_not_propagation_through_the_solution() -> None:
    """GTC propagates u(x), u(y) through the solution and gives 0.4804 and 0.1362; 7.4 prints 0.4764, 0.1355.

    Both are first-order results; they differ because propagation also differentiates the weights, which
    depend on the slope and so on the readings. The TS's own figures need the Gauss-Newton covariance.
    """
    x = [ureal(value, u) for value, u in zip(TS_7.x, TS_7.ux, strict=True)]
    y = [ureal(value, u) for value, u in zip(TS_7.y, TS_7.uy, strict=True)]
    fit = fit_straight_line(TS_7.x, TS_7.y, u_x=TS_7.ux, u_y=TS_7.uy)
    a, b = type_b.line_fit_wtls(x, y).a_b
    assert (a.x, b.x) == pytest.approx((fit.intercept, fit.slope), rel=1e-7)
    assert (f"{a.u:.4f}", f"{b.u:.4f}") == ("0.4804", "0.1362")
    assert get_correlation(a, b) == pytest.approx(fit.correlation, abs=2e-3)


@pytest.mark.parametrize("example", [TS_6A, TS_6B])
def test_clause_6_against_statsmodels_wls(example: SimpleNamespace) -> None:
    weights = 1 / np.square(example.uy)
    other = sm.WLS(example.y, sm.add_constant(np.array(example.x, float)), weights=weights).fit(cov_type="fixed scale")
    fit = fit_straight_line(example.x, example.y, u_y=example.uy)
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(other.params), rel=1e-12)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(other.bse), rel=1e-12)
    assert fit.covariance == pytest.approx(other.cov_params()[0, 1], rel=1e-12)
    assert fit.chi_squared == pytest.approx(float(weights @ other.resid**2), rel=1e-12)


def test_clause_9_against_statsmodels_gls() -> None:
    design = sm.add_constant(np.array(TS_9.x, float))
    other = sm.GLS(TS_9.y, design, sigma=TS_9.Uy).fit(cov_type="fixed scale")
    fit = fit_straight_line_covariance(TS_9.x, TS_9.y, U_y=TS_9.Uy)
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(other.params), rel=1e-11)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(other.bse), rel=1e-11)
    assert fit.chi_squared == pytest.approx(float(other.wresid @ other.wresid), rel=1e-11)
    np.testing.assert_array_equal(fit.U_y, TS_9.Uy)


def test_annex_e_against_statsmodels_ols() -> None:
    other = sm.OLS(TS_E.y, sm.add_constant(np.array(TS_E.x, float))).fit()
    fit = fit_straight_line(TS_E.x, TS_E.y)
    assert (fit.u_intercept, fit.u_slope) == pytest.approx(tuple(other.bse), rel=1e-12)
    assert fit.covariance == pytest.approx(other.cov_params()[0, 1], rel=1e-12)


def test_clause_9_with_a_diagonal_covariance_is_clause_6() -> None:
    independent = fit_straight_line(TS_6B.x, TS_6B.y, u_y=TS_6B.uy)
    correlated = fit_straight_line_covariance(TS_6B.x, TS_6B.y, U_y=np.diag(np.square(TS_6B.uy)))
    assert numbers(correlated) == pytest.approx(numbers(independent), rel=1e-12)


def test_clause_7_with_certain_x_is_clause_6() -> None:
    clause_6 = fit_straight_line(TS_6B.x, TS_6B.y, u_y=TS_6B.uy)
    clause_7 = fit_straight_line(TS_6B.x, TS_6B.y, u_x=0.0, u_y=TS_6B.uy)
    assert numbers(clause_7) == pytest.approx(numbers(clause_6), rel=1e-12)


def test_scaling_is_annex_e_whatever_common_size_was_stated() -> None:
    annex_e = fit_straight_line(TS_E.x, TS_E.y)
    guessed = scaled(fit_straight_line(TS_E.x, TS_E.y, u_y=7.0))
    assert guessed.u_slope == pytest.approx(annex_e.u_slope, rel=1e-12)
    assert guessed.covariance == pytest.approx(annex_e.covariance, rel=1e-12)
    assert guessed.scale * 7.0 == pytest.approx(annex_e.scale, rel=1e-12)
    assert guessed.residual_based
    assert scaled(guessed) is guessed


def test_scaled_covariance_is_chi_squared_over_nu_times_the_stated_one() -> None:
    stated = fit_straight_line(TS_7.x, TS_7.y, u_x=TS_7.ux, u_y=TS_7.uy)
    birge = math.sqrt(TS_7.full["chi2"] / 4)
    assert scaled(stated).scale == pytest.approx(birge, rel=1e-8)
    assert scaled(stated).u_intercept == pytest.approx(stated.u_intercept * birge, rel=1e-8)
    assert scaled(stated).covariance == pytest.approx(stated.covariance * birge**2, rel=1e-8)
    assert inverse_evaluate(scaled(stated), 6.0, u_y0=0.0).u_x0 == pytest.approx(
        inverse_evaluate(stated, 6.0, u_y0=0.0).u_x0 * birge, rel=1e-8
    )


def test_example_in_the_documentation_runs() -> None:
    assert doctest.testmod(lines) == doctest.TestResults(failed=0, attempted=2)
