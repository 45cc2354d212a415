"""Expectations over a standard normal variable, of functions that may jump."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

import numpy as np

from vibcal_nb.analysis.arrays import FloatArray, frozen

_END = 9.0  # the normal distribution has 2e-19 of its mass beyond
_OFFSETS = (-8.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0)


def normal_expectation(
    function: Callable[[FloatArray], FloatArray], *, transitions: Iterable[tuple[float, float]] = ()
) -> float:
    """Return E[f(Z)] for Z ~ N(0, 1), by Gauss-Legendre quadrature with 16 nodes to a panel.

    ``function`` takes an array of z, shape (m,), and returns one of that shape. ``transitions`` are pairs
    (z, width) where it rises or falls as a normal distribution function of that standard deviation, or
    jumps where the width is zero; panels end there and around, which keeps the accuracy near 1e-14.
    """
    ends = [np.arange(-_END, _END + 0.25, 0.5)]
    ends += [centre + width * np.array(_OFFSETS) for centre, width in transitions]
    edges = np.unique(np.clip(np.concatenate(ends), -_END, _END))
    nodes, weights = _legendre()
    half = np.diff(edges)[:, np.newaxis] / 2.0
    z = (edges[:-1, np.newaxis] + half * (1.0 + nodes)).ravel()
    mass = (half * weights).ravel() * np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    return float(np.sum(mass * function(z)))


@lru_cache(maxsize=1)
def _legendre() -> tuple[FloatArray, FloatArray]:
    nodes, weights = np.polynomial.legendre.leggauss(16)
    return frozen(nodes), frozen(weights)
