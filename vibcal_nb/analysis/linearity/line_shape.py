"""How the readings at one frequency depart from a straight line: kinds of non-linearity, bow, hysteresis.

Non-linearity in % of span and its kinds: ANSI/ISA-51.1-1979 (R1993). The span runs from the output zero to
the output at the highest level, because the lower range-value of a vibration channel is zero.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from vibcal_nb.analysis.readings.grouping import group_close
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.straight_line.nonlinearity import (
    NONLINEARITY_KINDS,
    MinimaxLine,
    independent_line,
    least_squares_line,
    terminal_based_line,
    zero_based_line,
)

SIGNIFICANCE = 0.01  # one false remark in a hundred good channels
_FLOOR = 1e-6  # chi-squared per degree of freedom below which scatter is the arithmetic's


@dataclass(frozen=True, kw_only=True)
class Bow:
    """Curvature of the readings: the quadratic term and its significance.

    ``bow_pct`` is the greatest departure of the fitted parabola from its own best straight line over zero to
    the highest level, in % of span; negative where the top reads low. ``p_value`` is two-sided (Student's t).
    """

    bow_pct: float
    p_value: float
    degrees_of_freedom: int

    @property
    def significant(self) -> bool:
        """Whether the readings are curved beyond their scatter."""
        return self.p_value < SIGNIFICANCE


def span_of(y: FloatArray) -> float:
    """Return the output span, from the output zero to the largest output, in output units."""
    return float(np.abs(y).max())


def nonlinearity_lines(x: FloatArray, y: FloatArray) -> Mapping[str, MinimaxLine]:
    """Return the line of each kind through the readings."""
    makers = (independent_line, terminal_based_line, zero_based_line, least_squares_line)
    return {kind: make(x, y) for kind, make in zip(NONLINEARITY_KINDS, makers, strict=True)}


def assess_bow(x: FloatArray, y: FloatArray, *, u: FloatArray, span: float) -> Bow | None:
    """Test for curvature by a weighted parabola; None with fewer than four readings or three levels.

    The quadratic term is the part of x^2 that no straight line can follow (a weighted regression), tested
    with the readings' own scatter about the parabola.
    """
    if x.size < 4:
        return None
    scaled = x / float(x.max())
    design = np.vander(scaled, 3, increasing=True) / u[:, None]
    orthogonal, triangle = np.linalg.qr(design)
    if abs(triangle[2, 2]) <= 1e-9 * float(np.abs(triangle).max()):
        return None
    weighted = orthogonal.T @ (y / u)
    residuals = y / u - orthogonal @ weighted
    nu = x.size - 3
    scatter = max(float(residuals @ residuals) / nu, _FLOOR)
    t = abs(float(weighted[2])) / math.sqrt(scatter)
    # The best line of c x^2 over a range of length L misses it by c L^2 / 8 (Chebyshev).
    bow_pct = 100.0 * float(weighted[2] / triangle[2, 2]) / 8.0 / span
    return Bow(bow_pct=bow_pct, p_value=2.0 * float(stdtr(nu, -t)), degrees_of_freedom=nu)


def hysteresis_pct(
    scaled: ScaledReadings, residuals: FloatArray, *, span: float, same_level_pct: float
) -> float | None:
    """Return the greatest rising-to-falling difference at one level, in % of span; None without such pairs.

    Residuals of the line are compared, so that a shaker that settles a little differently does not count.
    """
    direction = np.array([r.direction for r in scaled.readings], dtype=object)
    gaps = []
    for level in group_close(scaled.x, within_pct=same_level_pct):
        rising, falling = (
            residuals[level[direction[level] == "rising"]],
            residuals[level[direction[level] == "falling"]],
        )
        if rising.size and falling.size:
            gaps.append(abs(float(rising.mean() - falling.mean())))
    return 100.0 * max(gaps) / span if gaps else None


def repeatability_pct(
    scaled: ScaledReadings, residuals: FloatArray, *, span: float, same_level_pct: float
) -> float | None:
    """Return the greatest spread of repeats (same level, same direction), in % of span; None without repeats."""
    direction = np.array([r.direction or "" for r in scaled.readings], dtype=object)
    spreads = []
    for level in group_close(scaled.x, within_pct=same_level_pct):
        for way in set(direction[level]):
            same = residuals[level[direction[level] == way]]
            if same.size > 1:
                spreads.append(float(np.ptp(same)))
    return 100.0 * max(spreads) / span if spreads else None
