"""Least-squares fits of Butterworth band models of several orders at once.

ln S = ln S0 + ln|HP_n1(f; f1)| + ln|LP_n2(f; f2)|, order 0 meaning that the filter is absent. All candidates
are fitted together by Levenberg-Marquardt steps with the analytic Jacobian in (ln S0, ln f1, ln f2), so that
25 of them cost little more than one. Candidates are compared by AICc (Burnham and Anderson, Model Selection
and Multimodel Inference, 2nd ed., section 2.4, from memory), their scatter being unknown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.arrays import FloatArray

LEAST_RELATIVE_RESIDUAL = 1e-9  # rounding, not scatter: keeps ln(RSS) finite for readings without scatter
MOST_STEPS = 60
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
    below = 2.0 * low * (parameters[:, 1:2] - ln_f)
    above = 2.0 * high * (ln_f - parameters[:, 2:3])
    low_power, high_power = np.logaddexp(0.0, below), np.logaddexp(0.0, above)
    value = parameters[:, :1] - 0.5 * (low_power * (low > 0) + high_power * (high > 0))
    slope_low = -low * np.exp(below - low_power)
    slope_high = high * np.exp(above - high_power)
    return value, np.stack([np.ones_like(value), slope_low, slope_high], axis=-1)


def fit_candidates(
    orders: NDArray[np.int64], start: FloatArray, *, ln_f: FloatArray, ln_s: FloatArray, u_rel: FloatArray
) -> Candidates:
    """Fit every row of ``orders`` (c, 2) from ``start`` (3,) to ln S at ln f with weights 1/u_rel; all (n,)."""
    parameters = np.repeat(start[None, :], len(orders), axis=0)
    parameters, rss = _minimise(orders, parameters, ln_f, ln_s, 1.0 / u_rel)
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


def _minimise(
    orders: NDArray[np.int64], parameters: FloatArray, ln_f: FloatArray, ln_s: FloatArray, weight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    absent = np.concatenate([np.zeros((len(orders), 1)), orders == 0], axis=1)
    damping = np.full(len(orders), 1e-3)
    value, jacobian = log_band(orders, parameters, ln_f)
    residual = (ln_s - value) * weight
    rss = (residual**2).sum(axis=1)
    for _ in range(MOST_STEPS):
        step = _step(jacobian * weight[:, None], residual, damping, absent)
        trial = parameters + np.clip(step, -1.0, 1.0)
        trial[:, 1:] = np.clip(trial[:, 1:], ln_f.min() - REACH, ln_f.max() + REACH)
        value, slope = log_band(orders, trial, ln_f)
        trial_residual = (ln_s - value) * weight
        trial_rss = (trial_residual**2).sum(axis=1)
        better = trial_rss <= rss
        settled = np.abs(trial - parameters).max(axis=1) < 1e-9
        parameters = np.where(better[:, None], trial, parameters)
        jacobian = np.where(better[:, None, None], slope, jacobian)
        residual = np.where(better[:, None], trial_residual, residual)
        rss = np.where(better, trial_rss, rss)
        damping = np.clip(np.where(better, damping / 10.0, damping * 10.0), 1e-12, 1e12)
        if settled.all():
            break
    return parameters, rss


def _step(jacobian: FloatArray, residual: FloatArray, damping: FloatArray, absent: FloatArray) -> FloatArray:
    transposed = jacobian.transpose(0, 2, 1)
    normal = transposed @ jacobian
    diagonal = np.arange(3)
    scale = normal[:, diagonal, diagonal]
    # a parameter without effect (absent filter, corner far away) stays where it is
    normal[:, diagonal, diagonal] = scale * (1.0 + damping[:, None]) + absent + 1e-12 * scale.max(axis=1)[:, None]
    gradient = transposed @ residual[:, :, None]
    step: FloatArray = np.linalg.solve(normal, gradient)[:, :, 0]  # type: ignore[assignment]
    return step
