"""What a filter leaves of a sine, for filters of any shape without zeros.

|H|^-2 = P(x) = 1 + a_1 x + ... + a_N x^N, with x = (f/f_c)^2 of a low pass and (f_c/f)^2 of a high pass, for every
filter that has poles alone (any textbook on filters): Butterworth's, Bessel's, Chebyshev's first kind, first orders
in series. The coefficients sum to 1, so that P(1) = 2 and half power lies at f_c, whatever the shape. Butterworth's
filter of order N has a_N = 1 and nothing else; of a second order with damping h, a_1 = (4 h^2 - 2) r with
r = a_2^(1/2).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray

LEAST_POWER = 1e-9  # of P, which no filter takes to nothing


def log_power(
    degree: NDArray[np.int64], terms: FloatArray, ln_x: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return ln P (c, n), its slope in ln x (c, n), and its slopes in the terms (c, n, m).

    ``degree`` (c,) is N, 0 where there is no filter; ``terms`` (c, m) are a_(N-1), ..., a_(N-m); ``ln_x`` (c, n).
    """
    n = np.maximum(degree, 1)[:, None].astype(np.float64)
    scale = np.maximum(n * ln_x, 0.0)  # taken out, so that nothing overflows
    top = np.exp(n * ln_x - scale)
    power = np.exp(-scale) + (1.0 - terms.sum(axis=1))[:, None] * top
    slope = n * (1.0 - terms.sum(axis=1))[:, None] * top
    slopes = np.empty((*ln_x.shape, terms.shape[1]))
    for j in range(terms.shape[1]):
        k = n - 1.0 - j
        part = np.exp(k * ln_x - scale)
        power = power + terms[:, j : j + 1] * part
        slope = slope + k * terms[:, j : j + 1] * part
        slopes[:, :, j] = part - top
    inverse = (degree > 0)[:, None] / np.maximum(power, LEAST_POWER)
    value = (scale + np.log(np.maximum(power, LEAST_POWER))) * (degree > 0)[:, None]
    return value, slope * inverse, slopes * inverse[:, :, None]


def damping_of(term: float) -> float:
    """Return the damping ratio h of a second order with a_1 = ``term``, which is below 1; infinite at 1."""
    if term >= 1.0:
        return math.inf
    return math.sqrt(max(term / math.sqrt(1.0 - term) + 2.0, 0.0)) / 2.0
