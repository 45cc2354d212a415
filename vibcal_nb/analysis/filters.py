"""Magnitudes of the filters in a vibration channel: Butterworth band limits, resonance, first-order droop.

A corner is where the power is halved: magnitude 1/sqrt(2), -3.0103 dB.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.arrays import FloatArray


def butterworth_low_pass(f: ArrayLike, corner: float, order: int) -> FloatArray:
    """Return |LP_n(f)| = 1/sqrt(1 + (f/corner)^(2n)); ``f`` and ``corner`` in Hz, the shape of ``f``.

    Raises ``ValueError`` where the corner or the order is not positive.
    """
    _check(corner, order)
    return np.asarray(np.exp(-0.5 * np.logaddexp(0.0, 2 * order * np.log(np.asarray(f, float) / corner))))


def butterworth_high_pass(f: ArrayLike, corner: float, order: int) -> FloatArray:
    """Return |HP_n(f)| = 1/sqrt(1 + (corner/f)^(2n)); ``f`` and ``corner`` in Hz, the shape of ``f``.

    Raises ``ValueError`` where the corner or the order is not positive.
    """
    _check(corner, order)
    return np.asarray(np.exp(-0.5 * np.logaddexp(0.0, 2 * order * np.log(corner / np.asarray(f, float)))))


def resonance_rise(f: ArrayLike, fn: float) -> FloatArray:
    """Return 1/(1 - (f/fn)^2), the undamped rise toward a resonance at ``fn`` in Hz; for ``f`` below ``fn``.

    Raises ``ValueError`` where a frequency is not below the resonance.
    """
    ratio = np.asarray(f, float) / fn
    if not np.all(ratio < 1.0):
        raise ValueError(f"A frequency is not below the resonance at {fn:g} Hz; give lower frequencies.")
    return np.asarray(1.0 / (1.0 - ratio**2))


def first_order_droop(f: ArrayLike, f1: float) -> FloatArray:
    """Return 1/sqrt(1 + (f1/f)^2), the droop of an RC time constant, f1 = 1/(2 pi R C) in Hz."""
    return butterworth_high_pass(f, f1, 1)


def _check(corner: float, order: int) -> None:
    if not (corner > 0.0 and order >= 1):
        raise ValueError(f"A filter needs a corner above 0 Hz and an order from 1; got {corner:g} Hz, order {order}.")
