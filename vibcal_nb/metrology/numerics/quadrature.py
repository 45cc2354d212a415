"""Expectations over a standard normal variable, of functions that may jump."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

import numpy as np

from vibcal_nb.arrays import FloatArray, frozen

OFFSETS = (-8.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0)
"""Where panels end around a normal density or its rise, in standard deviations."""

_END = 9.0  # the normal distribution has 2e-19 of its mass beyond


def normal_expectation(
    function: Callable[[FloatArray], FloatArray], *, transitions: Iterable[tuple[float, float]] = ()
) -> float:
    """Return E[f(Z)] for Z ~ N(0, 1), by Gauss-Legendre quadrature with 16 nodes to a panel.

    ``function`` takes an array of z, shape (m,), and returns one of that shape. ``transitions`` are pairs
    (z, width) where it rises or falls as a normal distribution function of that standard deviation, or
    jumps where the width is zero; panels end there and around, which keeps the accuracy near 1e-14.
    """
    ends = [np.arange(-_END, _END + 0.25, 0.5)]
    ends += [centre + width * np.array(OFFSETS) for centre, width in transitions]
    edges = np.unique(np.clip(np.concatenate(ends), -_END, _END))
    z, weights = (each.ravel() for each in over_panels(edges, nodes=16))
    mass = weights * np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    return float(np.sum(mass * function(z)))


def over_panels(edges: FloatArray, *, nodes: int) -> tuple[FloatArray, FloatArray]:
    """Return the points and weights of a Gauss-Legendre quadrature over panels, shape (p, nodes, ...) each.

    ``edges`` (p + 1, ...) are where the panels end, rising along the first axis; each of the other places has panels
    of its own.
    """
    at, weights = (each.reshape(-1, *[1] * (edges.ndim - 1)) for each in _legendre(nodes))
    half = np.diff(edges, axis=0)[:, np.newaxis] / 2.0
    return edges[:-1, np.newaxis] + half * (1.0 + at), half * weights


@lru_cache(maxsize=2)
def _legendre(count: int) -> tuple[FloatArray, FloatArray]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return frozen(nodes), frozen(weights)
