"""A line that may bend: how high it stands beyond its readings where a bend is permitted that they do not exclude.

y = a + b x + c2 (x/X)^2 + c3 (x/X)^3 with a and b free. Of each c all that is known beforehand is that it lies within
a half-width, so that it enters as an observation of zero with the standard uncertainty half-width/sqrt(3) (JCGM
100:2008, 4.3.7). Least squares with such observations is the posterior of Bayesian regression with normal errors
(C. Elster et al., A Guide to Bayesian Inference for Regression Problems, 2015, from memory). A straight line alone
would leave out, beyond its readings, what a bend too small for them to show does by then.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial, polyutils

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.straight_line.fitted_line import LineFit
from vibcal_nb.metrology.straight_line.nonlinearity import LinearityKind

POWERS = (2, 3)
_NONE = 1e-12  # of the largest coefficient
#: Non-linearity of z^2 and z^3 from 0 to 1 by kind, in parts of span: Chebyshev's lines, and least squares.
NONLINEARITY_OF_A_POWER: Mapping[LinearityKind, Mapping[int, float]] = {
    "independent": {2: 1.0 / 8.0, 3: 3.0**-1.5},
    "terminal-based": {2: 1.0 / 4.0, 3: 2.0 * 3.0**-1.5},
    "zero-based": {2: 3.0 - math.sqrt(8.0), 3: 1.0 / 4.0},
    "least-squares": {2: 1.0 / 6.0, 3: 3.0 / 10.0},
}


@dataclass(frozen=True, kw_only=True, eq=False)
class BentLine:
    """A fitted line with its bends; ``coefficients`` of (x/``at``)^0..3, shape (4,), with their ``covariance``."""

    at: float
    coefficients: FloatArray
    covariance: FloatArray

    def height(self, x: float) -> tuple[float, float]:
        """Return y at ``x`` and its standard uncertainty."""
        powers = (x / self.at) ** np.arange(4)
        return float(powers @ self.coefficients), math.sqrt(float(powers @ self.covariance @ powers))

    def slope(self, x: float) -> float:
        """Return dy/dx at ``x``."""
        return float(polynomial.polyval(x / self.at, polynomial.polyder(self.coefficients))) / self.at

    def level(self, y: float, *, near: float) -> tuple[float, float] | None:
        """Return the x at which the line comes to ``y``, and its standard uncertainty.

        Of several the nearest to ``near``. None where it never comes to it, or turns away from it first.
        """
        above = polynomial.polysub(self.coefficients, [y])
        largest = float(np.abs(above).max())
        roots = polynomial.polyroots(polyutils.trimcoef(above, _NONE * largest))  # rounding would make roots of its own
        real = [float(r.real) * self.at for r in roots if abs(r.imag) < 1e-9 and r.real > 0.0]
        rising = [x for x in real if self.slope(x) > 0.0]
        if not rising:
            return None
        x = min(rising, key=lambda found: abs(found - near))
        return x, self.height(x)[1] / self.slope(x)


def permitted_half_widths(kind: LinearityKind, limit: float) -> dict[int, float]:
    """Return the largest bend of each power whose non-linearity, of a ``kind``, is ``limit``; in the unit of it."""
    return {power: limit / share for power, share in NONLINEARITY_OF_A_POWER[kind].items()}


def fit_bent_line(fit: LineFit, *, at: float, half_widths: Mapping[int, float]) -> BentLine:
    """Fit the readings of a line again, with bends of at most ``half_widths`` at ``at``, in the unit of y by power.

    ``fit.scale`` widens the stated uncertainties of the readings as it did the line's. Raises ``ValueError`` where a
    half-width is not above zero.
    """
    if any(not half_widths[power] > 0.0 for power in POWERS):
        raise ValueError(f"half-widths of bends are {dict(half_widths)}: give a number above 0 for each power.")
    u_x = 0.0 if fit.u_x is None else fit.u_x
    u = fit.scale * np.hypot(fit.u_y, fit.slope * u_x)
    readings = np.vander(fit.x / at, 4, increasing=True) / u[:, None]
    known = np.zeros((len(POWERS), 4))
    for row, power in enumerate(POWERS):
        known[row, power] = math.sqrt(3.0) / half_widths[power]
    orthogonal, triangle = np.linalg.qr(np.vstack([readings, known]))
    seen = np.concatenate([fit.y / u, np.zeros(len(POWERS))])
    inverse = np.linalg.inv(triangle)
    return BentLine(at=at, coefficients=frozen(inverse @ (orthogonal.T @ seen)), covariance=frozen(inverse @ inverse.T))
