"""The response that most readings of a sweep agree on, whatever single rows or a run of them say.

Butterworth filters as in ``band_candidates``, fitted with Cauchy's loss, whose scale shrinks while it is fitted so
that rows that do not belong lose their weight (graduated non-convexity; Blake and Zisserman, Visual Reconstruction,
1987, from memory). All orders are fitted at once, from the specified corners and from plain least squares; where rows
stand apart, again with every known factor on the run of neighbouring rows that it fits best.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.band_response.band_candidates import log_band
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import BandSpecification

# Judgement, no source: what real channels differ from their specification by, and how far readings scatter.
CORNER_SPREAD = 0.08
LOOSE_SPREAD = 0.6
GAIN_SPREAD = 0.06
SCATTER = 0.008
LOOSE_COST = 4.0
RUN_COST = 6.0
_NARROWING = (0.3, 0.3, 0.1, 0.1, 0.05, 0.05, 0.02, 0.02, 0.012, 0.012, SCATTER, SCATTER, SCATTER)
_FROM_ALL = (10.0,) * 5  # so wide that every row counts alike


@dataclass(frozen=True, kw_only=True, eq=False)
class BandCurve:
    """ln of the response over nominal: ``orders`` (1, 2) and ``parameters`` (1, 3) of `log_band`, their covariance."""

    orders: NDArray[np.int64]
    parameters: FloatArray
    covariance: FloatArray
    loss: float

    def at(self, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ln of the response and its standard uncertainty, shape (n,) each."""
        value, slope = log_band(self.orders, self.parameters, np.log(frequency_hz))
        variance = np.einsum("ni,ij,nj->n", slope[0], self.covariance, slope[0])
        return value[0], np.sqrt(variance)


def fit_curve(band: BandSpecification, frequency_hz: FloatArray, ln_ratio: FloatArray, *, gain: float) -> BandCurve:
    """Fit the curve to ln of output over nominal output (n,); ``gain`` is ln of what the rest of the channel shows."""
    return _fit(band, frequency_hz, ln_ratio, gain, (0.0,))


def fit_curve_and_run(
    band: BandSpecification, frequency_hz: FloatArray, ln_ratio: FloatArray, *, gain: float, factors: Sequence[float]
) -> BandCurve:
    """Fit as `fit_curve` does, one of ``factors`` or one over it being on one run of neighbouring rows (n,)."""
    logs = np.log(np.asarray(factors))
    return _fit(band, frequency_hz, ln_ratio, gain, tuple(np.concatenate([logs, -logs])))


def _fit(
    band: BandSpecification, frequency_hz: FloatArray, ln_ratio: FloatArray, gain: float, shifts: tuple[float, ...]
) -> BandCurve:
    ln_f = np.log(frequency_hz)
    plain = _candidates(band, ln_f, ln_ratio, gain)
    orders, start, spread, cost = (np.concatenate([part] * len(shifts)) for part in plain)
    shift = np.repeat(shifts, len(plain[0]))[:, None]
    target, precision = start.copy(), 1.0 / spread**2
    target[:, 0] = gain
    found = start
    for turn in range(-len(_FROM_ALL), len(_NARROWING)):
        scale = np.where(cost > 0.0, _FROM_ALL[0] if turn < 0 else _NARROWING[turn], _NARROWING[max(turn, 0)])[:, None]
        found, curvature = _step(orders, found, ln_f, ln_ratio, shift, scale, target, precision)
    value, _ = log_band(orders, found, ln_f)
    residual = _less_the_run(ln_ratio - value, shift, SCATTER)
    loss = np.log1p((residual / SCATTER) ** 2).sum(axis=1) + cost
    loss += 0.5 * (precision * (found - target) ** 2).sum(axis=1) + RUN_COST * (shift[:, 0] != 0.0)
    i = int(np.argmin(loss))
    covariance = np.linalg.inv(curvature[i])
    return BandCurve(orders=orders[i : i + 1], parameters=found[i : i + 1], covariance=covariance, loss=float(loss[i]))


def _candidates(
    band: BandSpecification, ln_f: FloatArray, ln_ratio: FloatArray, gain: float
) -> tuple[NDArray[np.int64], FloatArray, FloatArray, FloatArray]:
    """Orders (c, 2), starts (c, 3), spreads (c, 3) and costs (c,): near the specification twice, and from anywhere."""
    corners = band.corner_low_hz, band.corner_high_hz
    near = np.array([(a, b) for a in _orders(corners[0]) for b in _orders(corners[1])], dtype=np.int64)
    wide = np.array([(a, b) for a in {0, *_orders(corners[0])} for b in {0, *_orders(corners[1])}], dtype=np.int64)
    ln_corners = [math.log(corner or 1.0) for corner in corners]
    second = np.array([[2 * bool(corner) for corner in corners]])
    most = _mode(ln_ratio - log_band(second, np.array([[0.0, *ln_corners]]), ln_f)[0][0])
    parts = ((near, gain, CORNER_SPREAD, 0.0), (near, most, CORNER_SPREAD, 0.0), (wide, most, LOOSE_SPREAD, LOOSE_COST))
    orders = np.concatenate([part[0] for part in parts])
    start = np.concatenate([np.tile([level, *ln_corners], (len(o), 1)) for o, level, _, _ in parts])
    spread = np.concatenate([np.tile([GAIN_SPREAD, s, s], (len(o), 1)) for o, _, s, _ in parts])
    cost = np.concatenate([np.full(len(o), c) for o, _, _, c in parts])
    return orders, start, spread, cost


def _orders(corner: float | None) -> tuple[int, ...]:
    return (0,) if corner is None else (1, 2, 3, 4)


def _mode(values: FloatArray) -> float:
    """Where most values lie together."""
    near = np.abs(values[:, None] - values[None, :]) < 0.06
    return float(np.median(values[near[int(near.sum(axis=1).argmax())]]))


def _step(
    orders: NDArray[np.int64],
    now: FloatArray,
    ln_f: FloatArray,
    ln_ratio: FloatArray,
    shift: FloatArray,
    scale: FloatArray,
    target: FloatArray,
    precision: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """One reweighted Gauss-Newton step of every candidate; returns parameters (c, 3) and curvature (c, 3, 3)."""
    value, slope = log_band(orders, now, ln_f)
    residual = _less_the_run(ln_ratio - value, shift, scale)
    weight = 1.0 / (scale**2 + residual**2)
    weighted = weight[:, :, None] * slope
    curvature = np.matmul(weighted.transpose(0, 2, 1), slope)
    curvature[:, range(3), range(3)] += precision
    pull = np.matmul(weighted.transpose(0, 2, 1), residual[:, :, None])[:, :, 0] + precision * (target - now)
    step = np.linalg.solve(curvature, pull[:, :, None])[:, :, 0]
    return now + np.clip(step, -0.5, 0.5), curvature


def _less_the_run(residual: FloatArray, shift: FloatArray, scale: FloatArray | float) -> FloatArray:
    """Take the shift (c, 1) from the run of neighbouring rows, of each candidate (c, n), whose loss it lessens most.

    The run with the largest sum of gains is found from their running sums.
    """
    if not shift.any():
        return residual
    without = residual - shift
    gains = np.log1p((residual / scale) ** 2) - np.log1p((without / scale) ** 2)
    sums = np.concatenate([np.zeros((len(gains), 1)), np.cumsum(gains, axis=1)], axis=1)
    lowest = np.minimum.accumulate(sums[:, :-1], axis=1)
    last = np.argmax(sums[:, 1:] - lowest, axis=1)[:, None]
    first = np.argmax(sums[:, :-1] == np.take_along_axis(lowest, last, axis=1), axis=1)[:, None]
    row = np.arange(residual.shape[1])[None, :]
    return np.where((row >= first) & (row <= last), without, residual)
