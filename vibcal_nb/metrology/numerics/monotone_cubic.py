"""A cubic through points that neither overshoots nor waves between them, and where it passes a level.

Piecewise cubic Hermite interpolation with the slopes of F. N. Fritsch and J. Butland (SIAM J. Sci. Stat. Comput.
5 (1984) 300): where neighbouring chords rise or fall alike, their weighted harmonic mean, else zero; at an end,
the three-point formula cut back as C. Moler gives it (Numerical Computing with MATLAB, section 3.6; from memory).
Tied to SciPy's ``PchipInterpolator`` by tests/metrology/numerics/test_monotone_cubic.py, whose module takes
longer to import than a notebook may.
"""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.arrays import FloatArray


class MonotoneCubic:
    """The curve through ``y`` (n,) at rising ``x`` (n,), n at least 2."""

    def __init__(self, x: FloatArray, y: FloatArray) -> None:
        self.x, self.y = x, y
        self._steps = np.diff(x)
        self._chords = np.diff(y) / self._steps

    def at(self, x: float) -> float:
        """Return the curve at ``x``; beyond an end the value there."""
        x = min(max(x, float(self.x[0])), float(self.x[-1]))
        left = min(max(int(np.searchsorted(self.x, x, side="right")) - 1, 0), len(self._steps) - 1)
        h, t = float(self._steps[left]), (x - float(self.x[left])) / float(self._steps[left])
        y0, y1, m0, m1 = float(self.y[left]), float(self.y[left + 1]), h * self.slope(left), h * self.slope(left + 1)
        square, cube = 3.0 * (y1 - y0) - 2.0 * m0 - m1, m0 + m1 - 2.0 * (y1 - y0)
        return y0 + t * (m0 + t * (square + t * cube))

    def slope(self, i: int) -> float:
        """Slope of the curve at point ``i``."""
        h, d = self._steps, self._chords
        if len(d) == 1:
            return float(d[0])
        if i == 0:
            return _end_slope(float(h[0]), float(h[1]), float(d[0]), float(d[1]))
        if i == len(d):
            return _end_slope(float(h[-1]), float(h[-2]), float(d[-1]), float(d[-2]))
        if d[i - 1] * d[i] <= 0.0:
            return 0.0
        before, after = float(2.0 * h[i] + h[i - 1]), float(h[i] + 2.0 * h[i - 1])
        return (before + after) / (before / float(d[i - 1]) + after / float(d[i]))

    def crossing(self, level: float, left: int) -> float:
        """Return the x between points ``left`` and ``left + 1``, one on each side of ``level``, where y = level.

        The curve is monotone there, so that there is one; Newton's steps, halving where one leaves the bracket.
        """
        h, y0 = float(self._steps[left]), float(self.y[left]) - level
        y1 = float(self.y[left + 1]) - level
        m0, m1 = h * self.slope(left), h * self.slope(left + 1)
        square, cube = 3.0 * (y1 - y0) - 2.0 * m0 - m1, m0 + m1 - 2.0 * (y1 - y0)
        low, high, t = 0.0, 1.0, y0 / (y0 - y1)
        for _ in range(60):
            value = y0 + t * (m0 + t * (square + t * cube))
            low, high = (t, high) if value * (y1 - y0) < 0.0 else (low, t)
            slope = m0 + t * (2.0 * square + 3.0 * t * cube)
            after = t - value / slope if slope else math.nan
            after = after if low <= after <= high else (low + high) / 2.0
            if abs(after - t) <= 1e-15:
                break
            t = after
        return float(self.x[left]) + h * t


def _end_slope(h: float, next_h: float, chord: float, next_chord: float) -> float:
    slope = ((2.0 * h + next_h) * chord - h * next_chord) / (h + next_h)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord <= 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return slope
