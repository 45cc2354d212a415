"""Least-squares fits of Butterworth band models of several orders at once.

ln S = ln S0 + ln|HP_n1(f; f1)| + ln|LP_n2(f; f2)|, order 0 meaning that the filter is absent. All candidates
are fitted together (``simultaneous_fits``) with the analytic Jacobian in (ln S0, ln f1, ln f2). They are
compared by AICc (Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed., section 2.4, from
memory), their scatter being unknown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.simultaneous_fits import fit_all

LEAST_RELATIVE_RESIDUAL = 1e-9  # rounding, not scatter: keeps ln(RSS) finite for readings without scatter
REACH = 5.0  # ln of how far beyond the readings a corner may be sought


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Fitted candidates: ``orders`` (c, 2), ``parameters`` (c, 3), ``rss`` (c,) weighted, ``weights`` (c,) Akaike.

    ``criterion`` (c,) is AICc, or chi-squared + 2p where there are too few readings for AICc.
    """

    orders: NDArray[np.int64]
    parameters: FloatArray
    rss: FloatArray
    criterion: FloatArray
    weights: FloatArray

    @property
    def best(self) -> int:
        """Index of the candidate with the least criterion."""
        return int(np.argmin(self.criterion))

    def order_weights(self, side: int) -> dict[int, float]:
        """Weight of each order of one side (0 low, 1 high), summed over the orders of the other."""
        found = self.orders[:, side]
        return {int(n): float(self.weights[found == n].sum()) for n in np.unique(found)}


def log_band(orders: NDArray[np.int64], parameters: FloatArray, ln_f: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ln S (c, n) and its Jacobian (c, n, 3) of ``orders`` (c, 2), ``parameters`` (c, 3) at ``ln_f`` (n,)."""
    low, high = orders[:, :1], orders[:, 1:]
    low_power, low_share = _power(2.0 * low * (parameters[:, 1:2] - ln_f))
    high_power, high_share = _power(2.0 * high * (ln_f - parameters[:, 2:3]))
    value = parameters[:, :1] - 0.5 * (low_power * (low > 0) + high_power * (high > 0))
    jacobian = np.ones((*value.shape, 3))
    np.multiply(low_share, -low, out=jacobian[:, :, 1])
    np.multiply(high_share, high, out=jacobian[:, :, 2])
    return value, jacobian


def _power(exponent: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ln(1 + e^x) and its slope e^x/(1 + e^x), with nothing that overflows."""
    small = np.exp(-np.abs(exponent))
    return np.maximum(exponent, 0.0) + np.log1p(small), np.where(exponent < 0.0, small, 1.0) / (1.0 + small)


def fit_candidates(
    orders: NDArray[np.int64], start: FloatArray, *, ln_f: FloatArray, ln_s: FloatArray, u_rel: FloatArray
) -> Candidates:
    """Fit every row of ``orders`` (c, 2) from ``start`` (3,) to ln S at ln f with weights 1/u_rel; all (n,)."""
    corners = float(ln_f.min()) - REACH, float(ln_f.max()) + REACH
    parameters, rss = fit_all(
        lambda parameters, which: log_band(orders[which], parameters, ln_f),
        np.repeat(start[None, :], len(orders), axis=0),
        target=ln_s,
        weight=1.0 / u_rel,
        present=np.concatenate([np.ones((len(orders), 1), dtype=bool), orders > 0], axis=1),
        lower=np.array([-np.inf, corners[0], corners[0]]),
        upper=np.array([np.inf, corners[1], corners[1]]),
        longest_step=1.0,
    )
    floor = float(((LEAST_RELATIVE_RESIDUAL / u_rel) ** 2).sum())
    count = 1 + (orders > 0).sum(axis=1)
    criterion = _criterion(np.maximum(rss, floor), count, ln_f.size)
    weights = np.exp(-0.5 * (criterion - criterion.min()))
    return Candidates(
        orders=orders, parameters=parameters, rss=rss, criterion=criterion, weights=weights / weights.sum()
    )


def _criterion(rss: FloatArray, count: NDArray[np.int64], n: int) -> FloatArray:
    k = count + 1  # the scatter is estimated too
    if n - k.max() - 1 <= 0:
        return rss + 2.0 * count
    return n * np.log(rss / n) + 2.0 * k + 2.0 * k * (k + 1) / (n - k - 1)
