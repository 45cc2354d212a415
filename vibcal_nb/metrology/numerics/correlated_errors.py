"""Errors of readings that partly are their own and partly one error that several share.

Covariance V = diag(own^2) + A A^T, with A the sizes of the shared errors in each reading. Its inverse square root is
applied without making V: with B = A/own = U S W^T, V^(-1/2) = (1 - U (1 - (1 + S^2)^(-1/2)) U^T) / own.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from vibcal_nb.arrays import FloatArray, frozen


@dataclass(frozen=True, kw_only=True, eq=False)
class CorrelatedErrors:
    """Standard uncertainties of n readings: ``own`` (n,), all above 0, and ``shared`` (n, r), one column an error.

    The sign of a column's entries says which readings an error moves one way. ``otherwise`` (n, n) is what the
    covariance gains where a part that counts as each reading's own is one error of neighbours, empty where none may
    be. Fits take no notice of it, their uncertainty does.
    """

    own: FloatArray
    shared: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    otherwise: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))

    @cached_property
    def covariance(self) -> FloatArray:
        """The covariance matrix (n, n)."""
        return np.asarray(np.diag(self.own**2) + (self.shared @ self.shared.T if self.shared.size else 0.0))

    @cached_property
    def expected(self) -> FloatArray:
        """The covariance matrix (n, n) with what it gains where neighbours share errors."""
        return self.covariance + self.otherwise if self.otherwise.size else self.covariance

    def variance(self, weights: FloatArray) -> float:
        """Return the variance of the sum of readings times ``weights`` (n,)."""
        return float(weights @ self.expected @ weights)

    def shared_by(self, probability: float) -> CorrelatedErrors:
        """Return the errors where neighbours share them with that probability: their covariance is a mean."""
        return replace(self, otherwise=frozen(probability * self.otherwise)) if self.otherwise.size else self

    def told_by(self, residual: FloatArray, slope: FloatArray) -> float:
        """Return the probability that neighbours share errors, from the residuals (n,) of a fit of ``slope`` (n, p).

        One half beforehand. By restricted likelihood, which leaves out what the fit takes up (D. A. Harville, J. Am.
        Stat. Assoc. 72 (1977) 320, from memory).
        """
        if not self.otherwise.size:
            return 0.0
        own, shared = (_restricted(residual, slope, each) for each in (self.covariance, self.expected))
        return float(expit(shared - own))

    @cached_property
    def u(self) -> FloatArray:
        """Standard uncertainty of each reading, (n,)."""
        return np.sqrt(self.own**2 + (self.shared**2).sum(axis=1)) if self.shared.size else self.own

    @cached_property
    def _reflection(self) -> tuple[FloatArray, FloatArray] | None:
        if not self.shared.size:
            return None
        left, size, _ = np.linalg.svd(self.shared / self.own[:, None], full_matrices=False)
        return left, 1.0 - 1.0 / np.sqrt(1.0 + size**2)

    def whiten(self, values: FloatArray) -> FloatArray:
        """Return V^(-1/2) times ``values`` (..., n): uncorrelated, of unit variance where V is their covariance."""
        scaled: FloatArray = values / self.own
        if self._reflection is None:
            return scaled
        left, shrink = self._reflection
        return np.asarray(scaled - ((scaled @ left) * shrink) @ left.T)

    def whiten_columns(self, columns: FloatArray) -> FloatArray:
        """Return V^(-1/2) times ``columns`` (..., n, k)."""
        scaled: FloatArray = columns / self.own[:, None]
        if self._reflection is None:
            return scaled
        left, shrink = self._reflection
        return np.asarray(scaled - left @ (shrink[:, None] * (left.T @ scaled)))

    def at(self, chosen: NDArray[np.bool_]) -> CorrelatedErrors:
        """Return the errors of the readings where ``chosen`` (n,) is True."""
        shared = self.shared[chosen] if self.shared.size else self.shared
        otherwise = self.otherwise[np.ix_(chosen, chosen)] if self.otherwise.size else self.otherwise
        return CorrelatedErrors(own=frozen(self.own[chosen]), shared=frozen(shared), otherwise=frozen(otherwise))


def _restricted(residual: FloatArray, slope: FloatArray, covariance: FloatArray) -> float:
    """Logarithm of the restricted likelihood of residuals, but for a constant."""
    root = np.linalg.cholesky(covariance)
    white = np.linalg.solve(root, np.column_stack([residual, slope]))
    basis, triangle = np.linalg.qr(white[:, 1:])
    left = white[:, 0] - basis @ (basis.T @ white[:, 0])
    volumes = np.log(np.diag(root)).sum() + np.log(np.maximum(np.abs(np.diag(triangle)), 1e-300)).sum()
    return -float(volumes) - 0.5 * float(left @ left)
