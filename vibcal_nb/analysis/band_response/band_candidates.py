"""Least-squares fits of band models of several orders and shapes at once.

ln S = ln S0 - ln P_low/2 - ln P_high/2, with the polynomials of ``filter_shape``; degree 0 means that there is no
filter. All candidates are fitted together (``simultaneous_fits``) with the analytic Jacobian. The errors of the
readings are known from their budget, so that candidates are compared by chi-squared + 2 p (H. Akaike, IEEE Trans.
Autom. Control 19 (1974) 716, for known variances).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.band_response.filter_shape import log_power
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.numerics.simultaneous_fits import NO_GAIN, fit_all

REACH = 5.0  # ln of how far beyond the readings a corner may be sought
LEAST_TERM, MOST_TERM = -40.0, 40.0  # of a polynomial; beyond them lies no filter that anybody makes
NO_WEIGHT = 1e-4

Side = tuple[int, int]
"""Degree of one side's polynomial, 0 for no filter, and how many of its lower terms are fitted."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Swept:
    """What is fitted: ln f and ln S (n,), and the errors of ln S."""

    ln_f: FloatArray
    ln_s: FloatArray
    errors: CorrelatedErrors


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Fitted candidates: ``parameters`` (c, k), ``present`` (c, k), ``chi_squared`` (c,), of ``swept``.

    Columns: ln S0, ln f1, ln f2, the terms of the low side, then those of the high side, equally many.
    """

    sides: tuple[tuple[Side, Side], ...]
    parameters: FloatArray
    present: NDArray[np.bool_]
    chi_squared: FloatArray
    swept: Swept

    @cached_property
    def criterion(self) -> FloatArray:
        """Chi-squared + 2 p of each candidate; shape (c,)."""
        return np.asarray(self.chi_squared + 2.0 * self.present.sum(axis=1))

    @cached_property
    def best(self) -> int:
        """Index of the candidate with the least criterion."""
        return int(np.argmin(self.criterion))

    @cached_property
    def weights(self) -> FloatArray:
        """Akaike weights (c,)."""
        weights = np.exp(-0.5 * (self.criterion - self.criterion.min()))
        return np.asarray(weights / weights.sum())

    @cached_property
    def degrees(self) -> NDArray[np.int64]:
        """Degree of either side's polynomial, (c, 2)."""
        return _degrees(self.sides)

    def at(self, i: int, ln_f: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ln S (m,) of candidate ``i`` at ``ln_f`` (m,) and its Jacobian (m, p), of what is present."""
        value, jacobian = log_band(self.degrees[i : i + 1], self.parameters[i : i + 1], ln_f)
        return value[0], jacobian[0][:, self.present[i]]

    def covariance(self, i: int) -> FloatArray:
        """Covariance (p, p) of what is present of candidate ``i``, as the errors of the readings make it."""
        slope = self.swept.errors.whiten_columns(self.at(i, self.swept.ln_f)[1])
        return np.asarray(np.linalg.pinv(slope.T @ slope, hermitian=True))

    def weights_of_readings(self, i: int) -> FloatArray:
        """How each reading moves what is present of candidate ``i``, (p, n): its covariance is W V W^T."""
        slope = self.swept.errors.whiten_columns(self.at(i, self.swept.ln_f)[1])
        return np.asarray(np.linalg.pinv(slope) @ self.swept.errors.whiten(np.eye(self.swept.ln_f.size)).T)

    def corner_variance(self, side: int) -> float:
        """Variance of the best candidate's ln f1 (side 0) or ln f2 (1), with the other candidates' by their weights."""
        variance = total = 0.0
        for i in np.flatnonzero((self.weights > NO_WEIGHT) & self.present[:, 1 + side]):
            place = int(self.present[i, : 1 + side].sum())
            apart = float(self.parameters[i, 1 + side] - self.parameters[self.best, 1 + side])
            own = self.swept.errors.variance(self.weights_of_readings(int(i))[place])
            variance += self.weights[i] * (own + apart**2)
            total += self.weights[i]
        return variance / total if total else 0.0


def log_band(degrees: NDArray[np.int64], parameters: FloatArray, ln_f: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ln S (c, n) and its Jacobian (c, n, k) of ``degrees`` (c, 2), ``parameters`` (c, k) at ``ln_f`` (n,)."""
    terms = (parameters.shape[1] - 3) // 2
    low = log_power(degrees[:, 0], parameters[:, 3 : 3 + terms], 2.0 * (parameters[:, 1:2] - ln_f))
    high = log_power(degrees[:, 1], parameters[:, 3 + terms :], 2.0 * (ln_f - parameters[:, 2:3]))
    jacobian = np.ones((*low[0].shape, parameters.shape[1]))
    np.negative(low[1], out=jacobian[:, :, 1])
    jacobian[:, :, 2] = high[1]
    np.multiply(low[2], -0.5, out=jacobian[:, :, 3 : 3 + terms])
    np.multiply(high[2], -0.5, out=jacobian[:, :, 3 + terms :])
    return parameters[:, :1] - 0.5 * (low[0] + high[0]), jacobian


def fit_candidates(
    sides: Sequence[tuple[Side, Side]], start: FloatArray, swept: Swept, *, no_gain: float = NO_GAIN
) -> Candidates:
    """Fit candidates with ``sides`` (low, high) from ``start`` (c, 3 + 2 m), m the most terms that a side has.

    ``no_gain`` is the share of chi-squared by which a fit is settled.
    """
    terms = (start.shape[1] - 3) // 2
    fitted = np.array([[low[1], high[1]] for low, high in sides])
    degrees = _degrees(sides)
    present = np.ones(start.shape, dtype=bool)
    present[:, 1:3] = degrees > 0
    present[:, 3:] = np.hstack([np.arange(terms) < fitted[:, :1], np.arange(terms) < fitted[:, 1:]])
    corners = float(swept.ln_f.min()) - REACH, float(swept.ln_f.max()) + REACH
    parameters, chi_squared = fit_all(
        lambda parameters, which: log_band(degrees[which], parameters, swept.ln_f),
        start,
        target=swept.ln_s,
        errors=swept.errors,
        present=present,
        lower=np.array([-np.inf, corners[0], corners[0], *[LEAST_TERM] * (2 * terms)]),
        upper=np.array([np.inf, corners[1], corners[1], *[MOST_TERM] * (2 * terms)]),
        longest_step=1.0,
        no_gain=no_gain,
    )
    return Candidates(
        sides=tuple(sides), parameters=frozen(parameters), present=present, chi_squared=chi_squared, swept=swept
    )


def _degrees(sides: Sequence[tuple[Side, Side]]) -> NDArray[np.int64]:
    return np.array([[low[0], high[0]] for low, high in sides], dtype=np.int64)
