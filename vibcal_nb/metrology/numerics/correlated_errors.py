"""Errors of readings that partly are their own and partly one error that several share.

Covariance V = diag(own^2) + A A^T, with A the sizes of the shared errors in each reading. Its inverse square root is
applied without making V: with B = A/own = U S W^T, V^(-1/2) = (1 - U (1 - (1 + S^2)^(-1/2)) U^T) / own.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray, frozen


@dataclass(frozen=True, kw_only=True, eq=False)
class CorrelatedErrors:
    """Standard uncertainties of n readings: ``own`` (n,), all above 0, and ``shared`` (n, r), one column an error.

    The sign of a column's entries says which readings an error moves one way. ``otherwise`` (n, n) is what the
    covariance may be in place of that: a part that counts as each reading's own may be one error of neighbours. It is
    added to the covariance, empty where nothing may be otherwise. Fits take no notice of it, their uncertainty does.
    """

    own: FloatArray
    shared: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    otherwise: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))

    @cached_property
    def covariance(self) -> FloatArray:
        """The covariance matrix (n, n)."""
        return np.asarray(np.diag(self.own**2) + (self.shared @ self.shared.T if self.shared.size else 0.0))

    @property
    def covariances(self) -> tuple[FloatArray, ...]:
        """The covariance matrix, and that which may hold in its place; of what follows the larger variance counts."""
        return (self.covariance, self.covariance + self.otherwise) if self.otherwise.size else (self.covariance,)

    def variance(self, weights: FloatArray) -> float:
        """Return the variance of the sum of readings times ``weights`` (n,), the largest that may be."""
        return max(float(weights @ covariance @ weights) for covariance in self.covariances)

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
