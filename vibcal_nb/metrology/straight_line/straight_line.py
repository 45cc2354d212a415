"""Straight-line calibration functions, ISO/TS 28037:2010: fit, test, evaluate forwards and backwards.

Every line is y = a + b x, with intercept a and slope b. x and y are plain numbers in the caller's own
units; a and its uncertainty are in the unit of y, b and its uncertainty in that of y over x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.straight_line.fitted_line import STANDARD, LineFit, line_fit, scaled
from vibcal_nb.metrology.straight_line.line_equations import (
    solve_both_uncertain,
    solve_correlated,
    solve_through_zero,
    solve_weighted,
)
from vibcal_nb.metrology.straight_line.line_points import (
    checked_covariance,
    checked_points,
    checked_uncertainty,
    require_two_levels,
)
from vibcal_nb.metrology.uncertainty.estimated_variance import KNOWN, EstimatedVariance, chi_squared_quantile

__all__ = [
    "ChiSquaredTest",
    "ForwardEvaluation",
    "InverseEvaluation",
    "LineFit",
    "chi_squared_test",
    "fit_line_through_zero",
    "fit_straight_line",
    "fit_straight_line_covariance",
    "forward_evaluate",
    "inverse_evaluate",
    "scaled",
]


def fit_straight_line(
    x: ArrayLike, y: ArrayLike, *, u_x: ArrayLike | None = None, u_y: ArrayLike | None = None
) -> LineFit:
    """Fit y = a + b x by least squares to two or more points.

    ``x``, ``y``: shape (n,). ``u_x``, ``u_y``: standard uncertainties of the same unit and shape, or one
    number for all; independent from point to point, so a contribution that all points share (the reference
    level's calibration) must **not** be in them. ISO/TS 28037:2010:

    - ``u_y`` alone: x exact, weighted least squares, clause 6.
    - ``u_x`` (may be zero) and ``u_y``: clause 7. The covariance is the Gauss-Newton one at the solution, as
      7.4 prints it (D. York et al., Am. J. Phys. 72 (2004) 367), not one propagated through the solution.
    - neither: equal uncertainties known up to a factor, taken from the residuals, Annex E; three or more
      points.

    Raises ValueError for points or uncertainties that do not make a line: unlike lengths, values not finite,
    u_y not positive, all x the same, two points without u_y, u_x without u_y.

    Tied to its source by tests/metrology/straight_line: test_iso_ts_28037.py and test_york_pearson.py.

    >>> fit = fit_straight_line([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], u_y=0.5)
    >>> f"a = {fit.intercept:.3f}, u = {fit.u_intercept:.3f}; b = {fit.slope:.3f}, u = {fit.u_slope:.3f}"
    'a = 1.867, u = 0.465; b = 1.757, u = 0.120'
    """
    x, y = checked_points(x, y)
    require_two_levels(x)
    if u_y is None:
        if u_x is not None:
            raise ValueError("u_x was given without u_y: state the uncertainty of y as well.")
        return _fit_by_residuals(x, y, through_zero=False)
    u_y = checked_uncertainty("u_y", u_y, points=x.size)
    if u_x is None:
        return line_fit(solve_weighted(x, y, u_y=u_y), x, y, u_y=u_y, method=f"{STANDARD}, clause 6")
    u_x = checked_uncertainty("u_x", u_x, points=x.size, zero_allowed=True)
    solution = solve_both_uncertain(x, y, u_x=u_x, u_y=u_y)
    return line_fit(solution, x, y, u_x=u_x, u_y=u_y, method=f"{STANDARD}, clause 7")


def fit_straight_line_covariance(x: ArrayLike, y: ArrayLike, *, U_y: ArrayLike) -> LineFit:
    """Fit y = a + b x where the errors of y are correlated, ISO/TS 28037:2010, clause 9.

    ``x`` exact, ``y``: shape (n,). ``U_y``: covariance matrix of y, shape (n, n), in the unit of y squared.
    Raises ValueError as ``fit_straight_line`` does, and where ``U_y`` is not symmetric positive definite.
    """
    x, y = checked_points(x, y)
    require_two_levels(x)
    U_y = checked_covariance(U_y, points=x.size)
    u_y = np.sqrt(U_y.diagonal())
    solution = solve_correlated(x, y, u_y=u_y, U_y=U_y)
    return line_fit(solution, x, y, u_y=u_y, U_y=U_y, method=f"{STANDARD}, clause 9")


def fit_line_through_zero(x: ArrayLike, y: ArrayLike, *, u_y: ArrayLike | None = None) -> LineFit:
    """Fit y = b x, the line through zero, by weighted least squares.

    b = sum(w x y) / sum(w x^2), w = 1/u_y^2; the intercept is zero and certain. Without ``u_y`` its size
    comes from the residuals, as in Annex E of ISO/TS 28037:2010, and takes two or more points; with it one
    point is enough. The TS itself has no clause for this line; tied to NIST StRD NoInt1 by
    tests/metrology/straight_line/test_nist_strd.py. Raises ValueError as ``fit_straight_line`` does, and where
    every x is zero.
    """
    x, y = checked_points(x, y, at_least=1)
    if not x.any():
        raise ValueError(f"All {x.size} points lie at x = 0: a line through zero needs a reading elsewhere.")
    if u_y is None:
        return _fit_by_residuals(x, y, through_zero=True)
    u_y = checked_uncertainty("u_y", u_y, points=x.size)
    solution = solve_through_zero(x, y, u_y=u_y)
    return line_fit(solution, x, y, u_y=u_y, parameters=1, method="weighted least squares through zero")


def _fit_by_residuals(x: FloatArray, y: FloatArray, *, through_zero: bool) -> LineFit:
    unit = np.ones_like(y)
    return scaled(fit_line_through_zero(x, y, u_y=unit) if through_zero else fit_straight_line(x, y, u_y=unit))


@dataclass(frozen=True, kw_only=True)
class ChiSquaredTest:
    """Whether the residuals agree with the stated uncertainties.

    ``passed`` is ``chi_squared <= limit``; where the test cannot be made, ``passed`` and ``limit`` are None
    and ``reason`` says why.
    """

    chi_squared: float
    degrees_of_freedom: int
    probability: float
    limit: float | None
    passed: bool | None
    reason: str | None


def chi_squared_test(fit: LineFit, *, probability: float = 0.95, variance: EstimatedVariance = KNOWN) -> ChiSquaredTest:
    """Test the straight-line model, ISO/TS 28037:2010, 6.3 (and the same step of every later clause).

    ``limit`` is the ``probability`` quantile of chi-squared with the line's degrees of freedom; of its distribution
    with a ``variance`` that was pooled from repeats, where it was (the TS takes it as known). Not available
    without degrees of freedom, nor where the uncertainty came from these very residuals (Annex E).
    Raises ValueError for a probability outside (0, 1).
    """
    if not 0 < probability < 1:
        raise ValueError(f"The probability of the chi-squared test is {probability}: give one between 0 and 1.")
    reason, limit = None, None
    if fit.degrees_of_freedom == 0:
        reason = "a line through as few points as it has parameters leaves nothing to test"
    elif fit.residual_based:
        reason = "the uncertainties were taken from the residuals, which therefore cannot test them"
    else:
        limit = chi_squared_quantile(probability, fit.degrees_of_freedom, variance)
    return ChiSquaredTest(
        chi_squared=fit.chi_squared,
        degrees_of_freedom=fit.degrees_of_freedom,
        probability=probability,
        limit=limit,
        passed=None if limit is None else fit.chi_squared <= limit,
        reason=reason,
    )


@dataclass(frozen=True, kw_only=True)
class ForwardEvaluation:
    """``y0`` = a + b ``x0`` and their standard uncertainties."""

    x0: float
    u_x0: float
    y0: float
    u_y0: float


@dataclass(frozen=True, kw_only=True)
class InverseEvaluation:
    """``x0`` = (``y0`` - a) / b and their standard uncertainties."""

    y0: float
    u_y0: float
    x0: float
    u_x0: float


def forward_evaluate(fit: LineFit, x0: float, *, u_x0: float = 0.0) -> ForwardEvaluation:
    """Evaluate the line at ``x0``, ISO/TS 28037:2010, 11.2.

    u(y0)^2 = u(a)^2 + 2 x0 cov(a, b) + x0^2 u(b)^2 + b^2 u(x0)^2, formed about the line's centroid. It is
    the uncertainty of the line's height, not that of a further reading. ``x0`` must be independent of the
    readings behind the line. Raises ValueError for a value that is not finite or a negative uncertainty.
    """
    _require_number("x0", x0, u_x0)
    from_centroid = x0 - fit.x_centroid
    return ForwardEvaluation(
        x0=x0,
        u_x0=u_x0,
        y0=fit.y_centroid + fit.slope * from_centroid,
        u_y0=math.hypot(fit.u_centroid, from_centroid * fit.u_slope, fit.slope * u_x0),
    )


def inverse_evaluate(fit: LineFit, y0: float, *, u_y0: float) -> InverseEvaluation:
    """Return the x that a later reading ``y0`` stands for, ISO/TS 28037:2010, 11.1.

    u(x0)^2 = (u(a)^2 + 2 x0 cov(a, b) + x0^2 u(b)^2 + u(y0)^2) / b^2, formed about the line's centroid.
    ``y0`` must be independent of the readings behind the line; for the mean of p readings ``u_y0`` is
    s / sqrt(p). First order in the uncertainties: good while u(b) is small beside b. Raises ValueError
    where the slope is zero, a value is not finite, or an uncertainty is negative.
    """
    _require_number("y0", y0, u_y0)
    if fit.slope == 0:
        raise ValueError("The slope of the line is zero: no x can be found from a reading of y.")
    from_centroid = (y0 - fit.y_centroid) / fit.slope
    return InverseEvaluation(
        y0=y0,
        u_y0=u_y0,
        x0=fit.x_centroid + from_centroid,
        u_x0=math.hypot(fit.u_centroid, from_centroid * fit.u_slope, u_y0) / abs(fit.slope),
    )


def _require_number(name: str, value: float, uncertainty: float) -> None:
    if not math.isfinite(value):
        raise ValueError(f"{name} is {value}: give a finite number.")
    if not (math.isfinite(uncertainty) and uncertainty >= 0):
        raise ValueError(f"u_{name} is {uncertainty}: a standard uncertainty is zero or a positive number.")
