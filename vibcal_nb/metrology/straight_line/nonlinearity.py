"""The lines that the kinds of linearity of ANSI/ISA-51.1-1979 (R1993) are counted from.

Non-linearity is the largest deviation of the readings from a line, and the standard names three kinds of
line: independent, zero-based and terminal-based; the least-squares line stands beside them for comparison.
On the same readings they differ by a factor of two or more. (The standard's wording is from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.straight_line.line_equations import TOO_WIDE
from vibcal_nb.metrology.straight_line.line_points import checked_points, require_two_levels
from vibcal_nb.metrology.straight_line.straight_line import fit_straight_line

LinearityKind = Literal["independent", "terminal-based", "zero-based", "least-squares"]
NONLINEARITY_KINDS: tuple[LinearityKind, ...] = get_args(LinearityKind)

_TIE = 1e-12  # widths this near, relatively, are the same number computed in two ways
_TOUCH = 1e-9  # a point this near the largest deviation, relatively, touches it


@dataclass(frozen=True, kw_only=True, eq=False)
class MinimaxLine:
    """A line y = a + b x, and how far the readings lie from it.

    ``intercept`` a and ``max_deviation`` (largest |y - a - b x|) in the unit of y, ``slope`` b in that of y
    over x. ``deviations`` y - a - b x, read-only, shape (n,). ``touches`` are the indices of the readings
    that reach the largest deviation. ``kind`` is the kind of linearity.
    """

    intercept: float
    slope: float
    max_deviation: float
    deviations: FloatArray
    touches: tuple[int, ...]
    kind: LinearityKind


def independent_line(x: ArrayLike, y: ArrayLike) -> MinimaxLine:
    """Line whose largest deviation is as small as possible, the Chebyshev line of the points.

    Exact, no iteration: the narrowest strip around the points (measured along y) has an edge of their convex
    hull on one side. ``x``, ``y``: shape (n,), n >= 2, in any order, repeated x allowed. Where several slopes
    do equally well (which repeated x can cause), the middle one is given.

    Raises ValueError for unlike lengths, values that are not finite, and where every x is the same.
    """
    x, y = checked_points(x, y)
    require_two_levels(x)
    line, intercept, slope = _chebyshev(x, y)
    return _with_deviations(line, intercept=intercept, slope=slope, kind="independent")


def zero_based_line(x: ArrayLike, y: ArrayLike) -> MinimaxLine:
    """Line through x = 0, y = 0 whose largest deviation is as small as possible.

    Exact: it is the independent line of the points together with their mirror images (-x, -y), which by that
    symmetry passes through zero. A live zero must have been taken off y before. One reading is enough.
    Raises ValueError as ``independent_line`` does, and where every x is zero.
    """
    x, y = checked_points(x, y, at_least=1)
    if not x.any():
        raise ValueError(f"All {x.size} points lie at x = 0: a zero-based line needs a reading elsewhere.")
    _, _, slope = _chebyshev(np.concatenate([x, -x]), np.concatenate([y, -y]))
    return _with_deviations(y - slope * x, intercept=0.0, slope=slope, kind="zero-based")


@np.errstate(all="ignore")
def terminal_based_line(x: ArrayLike, y: ArrayLike) -> MinimaxLine:
    """Line through the end points: the readings at the lowest and at the highest x.

    Where several readings share an end (repeats, rising and falling), the line goes through their mean, so
    that an end may then deviate too. Raises ValueError as ``independent_line`` does.
    """
    x, y = checked_points(x, y)
    require_two_levels(x)
    low, high = float(x.min()), float(x.max())
    y_low, y_high = float(y[x == low].mean()), float(y[x == high].mean())
    slope = (y_high - y_low) / (high - low)
    # each reading is counted from the nearer end, so that an end that is one reading deviates by exactly zero
    from_low = (y - y_low) - slope * (x - low)
    from_high = (y - y_high) - slope * (x - high)
    deviations = np.where(x - low <= high - x, from_low, from_high)
    return _with_deviations(deviations, intercept=y_low - slope * low, slope=slope, kind="terminal-based")


def least_squares_line(x: ArrayLike, y: ArrayLike) -> MinimaxLine:
    """Unweighted least-squares line (ISO/TS 28037:2010, clause 6 with equal uncertainties).

    Raises ValueError as ``independent_line`` does.
    """
    fit = fit_straight_line(x, y, u_y=1.0)
    return _with_deviations(fit.residuals, intercept=fit.intercept, slope=fit.slope, kind="least-squares")


def nonlinearity(x: ArrayLike, y: ArrayLike) -> Mapping[LinearityKind, MinimaxLine]:
    """Return the line of every kind for the same readings, by the name of its kind.

    ``max_deviation`` over the span of y is the non-linearity of that kind. Raises ValueError as
    ``independent_line`` does.
    """
    lines = (
        independent_line(x, y),
        terminal_based_line(x, y),
        zero_based_line(x, y),
        least_squares_line(x, y),
    )
    return MappingProxyType({line.kind: line for line in lines})


def _with_deviations(deviations: FloatArray, *, intercept: float, slope: float, kind: LinearityKind) -> MinimaxLine:
    sizes = np.abs(deviations)
    largest = float(sizes.max())
    if not all(map(math.isfinite, (intercept, slope, largest))):
        raise ValueError(TOO_WIDE)
    return MinimaxLine(
        intercept=intercept,
        slope=slope,
        max_deviation=largest,
        deviations=frozen(deviations),
        touches=tuple(int(i) for i in np.flatnonzero(sizes >= largest * (1 - _TOUCH))),
        kind=kind,
    )


@np.errstate(all="ignore")  # what overflows is refused, in one sentence
def _chebyshev(x: FloatArray, y: FloatArray) -> tuple[FloatArray, float, float]:
    """Deviations, intercept and slope of the independent line.

    The points are first counted from a chord, so that deviations far smaller than the readings keep their
    digits.
    """
    first, last = int(np.argmin(x)), int(np.argmax(x))
    chord = float((y[last] - y[first]) / (x[last] - x[first]))
    dx = x - x[first]
    height = (y - y[first]) - chord * dx
    slopes = _hull_slopes(dx, height)
    if not np.isfinite(slopes).all():
        raise ValueError(TOO_WIDE)
    strips = height - slopes[:, np.newaxis] * dx
    widths = strips.max(axis=1) - strips.min(axis=1)
    best = slopes[widths <= widths.min() * (1 + _TIE)]
    tilt = float(best.min() + best.max()) / 2
    level = height - tilt * dx
    middle = float(level.max() + level.min()) / 2
    slope = chord + tilt
    return level - middle, float(y[first]) + middle - slope * float(x[first]), slope


def _hull_slopes(x: FloatArray, y: FloatArray) -> FloatArray:
    """Slopes of the edges of the convex hull that are not vertical (A. M. Andrew, 1979)."""
    lowest: dict[float, float] = {}
    highest: dict[float, float] = {}
    for level, height in zip(x.tolist(), y.tolist(), strict=True):
        lowest[level] = min(height, lowest.get(level, height))
        highest[level] = max(height, highest.get(level, height))
    below = _lower_chain(sorted(lowest.items()))
    above = _lower_chain(sorted((level, -height) for level, height in highest.items()))
    rising = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(below)]
    falling = [-(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(above)]
    return np.array(rising + falling)


def _lower_chain(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Lower side of the convex hull of points in rising order of x."""
    chain: list[tuple[float, float]] = []
    for x, y in points:
        while len(chain) > 1:
            (x1, y1), (x2, y2) = chain[-2:]
            if (y - y1) / (x - x1) > (y2 - y1) / (x2 - x1):  # quotients: products of small numbers vanish
                break
            chain.pop()
        chain.append((x, y))
    return chain


def minimax_deviations(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the least largest deviation from a straight line of many runs ``y`` (t, n) at the same ``x`` (n,).

    It is the largest of the deviations of all triples of points (de la Vallee Poussin; Cheney, Introduction to
    Approximation Theory, from memory); a triple's is half the height of its middle point over the chord.
    """
    order = np.argsort(x, kind="stable")
    x, y = x[order], y[:, order]
    largest = np.zeros(y.shape[0])
    for i, j, k in combinations(range(x.size), 3):
        if x[k] > x[i]:
            share = (x[j] - x[i]) / (x[k] - x[i])
            np.maximum(largest, np.abs(y[:, j] - y[:, i] - share * (y[:, k] - y[:, i])) / 2.0, out=largest)
    return largest
