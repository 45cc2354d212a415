"""Exponentially weighted moving average control chart (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen


@dataclass(frozen=True, kw_only=True, eq=False)
class EwmaChart:
    """The chart: observations ``x`` (n,), averages ``z`` (n + 1,) from the start value on, and its limits.

    ``out`` lists the numbers of the observations, from 1, after which the average lay outside the limits.
    """

    x: FloatArray
    z: FloatArray
    start: float
    s: float
    weight: float
    k: float
    lower_limit: float
    upper_limit: float
    out: tuple[int, ...]


def chart_ewma(x: ArrayLike, *, start: float, s: float, weight: float, k: float = 3.0) -> EwmaChart:
    """Chart observations ``x`` (n,) about ``start``: z_t = weight x_t + (1 - weight) z_t-1.

    ``s`` is the standard deviation of x. Limits: start -+ k s sqrt(weight / (2 - weight)), those of a long series.
    Raises ``ValueError`` for a weight outside 0 to 1 (1 included) or an s or k that is not positive.
    """
    if not (0.0 < weight <= 1.0 and s > 0.0 and k > 0.0):
        raise ValueError(f"weight {weight}, s {s}, k {k}: give a weight above 0 and up to 1, and s and k above 0.")
    values = np.atleast_1d(np.asarray(x, dtype=float))
    z = [float(start)]
    for value in values:
        z.append(weight * float(value) + (1.0 - weight) * z[-1])
    half = k * s * math.sqrt(weight / (2.0 - weight))
    return EwmaChart(
        x=frozen(values),
        z=frozen(z),
        start=float(start),
        s=float(s),
        weight=weight,
        k=k,
        lower_limit=start - half,
        upper_limit=start + half,
        out=tuple(i for i, value in enumerate(z) if i and abs(value - start) > half),
    )
