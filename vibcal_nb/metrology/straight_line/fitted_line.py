"""A fitted straight line, what it was made from, and the scaling of its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.straight_line.line_equations import TOO_WIDE, LineSolution

STANDARD = "ISO/TS 28037:2010"


@dataclass(frozen=True, kw_only=True, eq=False)
class LineFit:
    """A straight line y = a + b x fitted to n points, with what it was made from.

    ``intercept`` a, ``slope`` b, their standard uncertainties ``u_intercept``, ``u_slope`` and
    ``covariance`` cov(a, b). ``chi_squared`` is the weighted sum of squared residuals **for u_x and u_y as
    stated**, with ``degrees_of_freedom`` n - 2 (n - 1 for a line through zero).

    ``x``, ``y``, ``u_x``, ``u_y``, ``residuals`` (y - a - b x): read-only, shape (n,). ``u_x`` is None where
    x was taken as exact; ``u_y`` is 1 throughout where none was stated. ``U_y``, shape (n, n), is the
    covariance matrix of y where one was given.

    ``scale`` multiplies u_x and u_y to give the uncertainties the line's covariance rests on: 1 where they
    were known; where ``residual_based`` it is the standard deviation of the weighted residuals,
    sqrt(chi_squared / degrees_of_freedom) (Annex E, also called the Birge ratio), and the covariance has
    ``scale_degrees_of_freedom``.

    ``x_centroid``, ``y_centroid`` is the point of the line whose height is uncorrelated with the slope, and
    ``u_centroid`` its standard uncertainty in y: evaluation starts there, so that it keeps its digits
    however far the readings lie from zero. ``method`` names the clause.
    """

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    covariance: float
    chi_squared: float
    degrees_of_freedom: int
    x: FloatArray
    y: FloatArray
    u_x: FloatArray | None
    u_y: FloatArray
    U_y: FloatArray | None
    residuals: FloatArray
    x_centroid: float
    y_centroid: float
    u_centroid: float
    scale: float
    residual_based: bool
    method: str
    scale_degrees_of_freedom: int = 0

    @property
    def correlation(self) -> float | None:
        """Correlation coefficient r(a, b); None where an uncertainty is zero, so that none exists."""
        product = self.u_intercept * self.u_slope
        return self.covariance / product if product > 0 else None


def line_fit(
    solution: LineSolution,
    x: FloatArray,
    y: FloatArray,
    *,
    u_y: FloatArray,
    method: str,
    u_x: FloatArray | None = None,
    U_y: FloatArray | None = None,
    parameters: int = 2,
) -> LineFit:
    """Carry a solution from its centroid to x = 0, and keep what it was made from.

    Raises ValueError where a number of it overflows.
    """
    at_zero = solution.x_centroid * solution.u_slope
    fit = LineFit(
        intercept=solution.y_centroid - solution.slope * solution.x_centroid,
        slope=solution.slope,
        u_intercept=math.hypot(solution.u_centroid, at_zero),
        u_slope=solution.u_slope,
        covariance=0.0 - at_zero * solution.u_slope,
        chi_squared=solution.chi_squared if x.size > parameters else 0.0,
        degrees_of_freedom=x.size - parameters,
        x=frozen(x),
        y=frozen(y),
        u_x=None if u_x is None else frozen(u_x),
        u_y=frozen(u_y),
        U_y=None if U_y is None else frozen(U_y),
        residuals=frozen(solution.residuals),
        x_centroid=solution.x_centroid,
        y_centroid=solution.y_centroid,
        u_centroid=solution.u_centroid,
        scale=1.0,
        residual_based=False,
        method=method,
    )
    numbers = (fit.intercept, fit.slope, fit.u_intercept, fit.u_slope, fit.covariance, fit.chi_squared)
    if not all(map(math.isfinite, numbers)):
        raise ValueError(TOO_WIDE)
    return fit


def scaled(fit: LineFit, *, repeats: Sequence[NDArray[np.intp]] = ()) -> LineFit:
    """Return the line with its covariance multiplied by chi_squared / degrees_of_freedom.

    For uncertainties known only up to a common factor (ISO/TS 28037:2010, Annex E); the same step widens a
    line by its Birge ratio. It also narrows one whose residuals are smaller than their stated
    uncertainties: whether that is wanted is the caller's decision. A line that rests on its residuals already
    is returned as it is. Where groups of ``repeats`` (indices of points) are given, the factor is that of their means
    about the line: repeats that agree with one another do not make a line that misses them any surer (N. R. Draper
    and H. Smith, Applied Regression Analysis, 1.5, from memory). Raises ValueError where there are no degrees of
    freedom.
    """
    if fit.residual_based:
        return fit
    squares, nu = _about_the_line(fit, repeats)
    if nu == 0:
        raise ValueError(
            f"{fit.x.size} point(s) leave no residual from which to take the uncertainty: state u_y, "
            "or take more readings."
        )
    scale = math.sqrt(squares / nu)
    return replace(
        fit,
        u_intercept=fit.u_intercept * scale,
        u_slope=fit.u_slope * scale,
        u_centroid=fit.u_centroid * scale,
        covariance=fit.covariance * scale**2,
        scale=scale,
        residual_based=True,
        scale_degrees_of_freedom=nu,
        method=f"{fit.method}, uncertainty from the residuals as in {STANDARD}, Annex E",
    )


def _about_the_line(fit: LineFit, repeats: Sequence[NDArray[np.intp]]) -> tuple[float, int]:
    """Weighted squares of the residuals without the scatter of repeats about their means, and their number."""
    squares, nu = fit.chi_squared, fit.degrees_of_freedom
    weight = 1.0 / (fit.u_y**2 + (0.0 if fit.u_x is None else (fit.slope * fit.u_x) ** 2))
    for group in repeats:
        w, residual = weight[group], fit.residuals[group]
        apart = residual - float(w @ residual) / float(w.sum())
        squares -= float(w @ apart**2)
        nu -= len(group) - 1
    return max(squares, 0.0), nu
