"""Nonlinear least-squares fits of several models to the same readings, all at once.

Levenberg-Marquardt steps within bounds (D. W. Marquardt, J. SIAM 11 (1963) 431). Models with few readings each
cost the arithmetic of NumPy's calls more than the sums in them, so that many together cost little more than one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors

MOST_STEPS = 60
SETTLED = 1e-10  # of every parameter, all of which are logarithms or of order 1
NO_GAIN = 1e-10  # share of chi-squared

#: Values (m, n) and Jacobian (m, n, k) of the models with indices (m,) at parameters (m, k).
Models = Callable[[FloatArray, NDArray[np.intp]], tuple[FloatArray, FloatArray]]


def fit_all(
    models: Models,
    start: FloatArray,
    *,
    target: FloatArray,
    errors: CorrelatedErrors,
    present: NDArray[np.bool_],
    lower: FloatArray,
    upper: FloatArray,
    longest_step: float = np.inf,
    no_gain: float = NO_GAIN,
) -> tuple[FloatArray, FloatArray]:
    """Return the parameters (c, k) and chi-squared (c,) of c models fitted to ``target`` (n,) with its ``errors``.

    ``start`` (c, k); ``present`` (c, k) says which parameters a
    model has, the others stay at their start; ``lower`` and ``upper`` (k,) bound them all. A parameter that
    descends against its bound is held there, so that the others find their own least. A model is settled where a step
    lowers chi-squared by no more than the share ``no_gain``.
    """
    parameters = np.clip(start, lower, upper)
    live = np.arange(len(start))
    residual, slope = _residuals(models, parameters, live, target, errors)
    rss = (residual**2).sum(axis=1)
    rounding = float(((1e-15 * np.abs(target).max(initial=1.0) / errors.own) ** 2).sum())
    now, least, damping = parameters.copy(), rss.copy(), np.full(len(start), 1e-3)
    for _ in range(MOST_STEPS):
        step = _step(slope, residual, damping, _free(now, slope, residual, present[live], lower, upper))
        trial = np.clip(now + np.clip(step, -longest_step, longest_step), lower, upper)
        trial_residual, trial_slope = _residuals(models, trial, live, target, errors)
        trial_rss = (trial_residual**2).sum(axis=1)
        better = trial_rss <= least * (1.0 + 1e-12) + rounding
        gained = np.where(better, least - trial_rss, np.inf)
        moving = (np.abs(trial - now).max(axis=1) >= SETTLED) & (gained > no_gain * least)
        now = np.where(better[:, None], trial, now)
        least = np.where(better, trial_rss, least)
        parameters[live], rss[live] = now, least
        if not moving.any():
            break
        residual = np.where(better[:, None], trial_residual, residual)[moving]
        slope = np.where(better[:, None, None], trial_slope, slope)[moving]
        damping = np.clip(np.where(better, damping / 10.0, damping * 10.0), 1e-12, 1e12)[moving]
        now, least, live = now[moving], least[moving], live[moving]
    return parameters, rss


def _residuals(
    models: Models, parameters: FloatArray, which: NDArray[np.intp], target: FloatArray, errors: CorrelatedErrors
) -> tuple[FloatArray, FloatArray]:
    value, jacobian = models(parameters, which)
    return errors.whiten(target - value), errors.whiten_columns(jacobian)


def _free(
    parameters: FloatArray,
    slope: FloatArray,
    residual: FloatArray,
    present: NDArray[np.bool_],
    lower: FloatArray,
    upper: FloatArray,
) -> NDArray[np.bool_]:
    descent = np.matmul(residual[:, None, :], slope)[:, 0, :]
    held = ((parameters <= lower) & (descent < 0.0)) | ((parameters >= upper) & (descent > 0.0))
    return present & ~held


def _step(slope: FloatArray, residual: FloatArray, damping: FloatArray, free: NDArray[np.bool_]) -> FloatArray:
    taken = slope * free[:, None, :]
    transposed = taken.transpose(0, 2, 1)
    normal = transposed @ taken
    diagonal = np.arange(normal.shape[1])
    scale = normal[:, diagonal, diagonal]
    # a parameter without effect (held, absent, its corner far away) stays where it is
    normal[:, diagonal, diagonal] = scale * (1.0 + damping[:, None]) + ~free + 1e-12 * scale.max(axis=1)[:, None]
    step: FloatArray = np.linalg.solve(normal, transposed @ residual[:, :, None])[:, :, 0]  # type: ignore[assignment]
    return step
