"""The monotone cubic against SciPy's PchipInterpolator."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from vibcal_nb.metrology.numerics.monotone_cubic import MonotoneCubic

STEPS = st.floats(0.01, 2.0)
RISES = st.one_of(st.just(0.0), st.floats(-3.0, 3.0).filter(lambda rise: abs(rise) > 1e-6))
CURVES = st.lists(st.tuples(STEPS, RISES), min_size=1, max_size=12)


def points(curve):
    steps, rises = np.array(curve).T
    return np.concatenate([[1.0], 1.0 + np.cumsum(steps)]), np.concatenate([[0.5], 0.5 + np.cumsum(rises)])


@given(CURVES)
def test_slopes_are_scipys(curve):
    x, y = points(curve)
    ours = [MonotoneCubic(x, y).slope(i) for i in range(len(x))]
    assert ours == pytest.approx(PchipInterpolator(x, y).derivative()(x), rel=1e-9, abs=1e-9)


@given(CURVES, st.integers(0, 11), st.floats(0.0, 1.0))
def test_a_crossing_is_where_scipys_curve_passes_the_level(curve, at, share):
    x, y = points(curve)
    left = at % len(curve)
    if y[left] == y[left + 1]:
        return
    level = float(y[left] + share * (y[left + 1] - y[left]))
    found = MonotoneCubic(x, y).crossing(level, left)
    assert x[left] - 1e-12 <= found <= x[left + 1] + 1e-12
    assert float(PchipInterpolator(x, y)(found)) == pytest.approx(level, abs=1e-12 * max(1.0, np.abs(y).max()))


@pytest.mark.parametrize("level", [2.0, 1.0])
def test_a_level_at_a_reading_is_crossed_there(level):
    x, y = np.array([0.0, 1.0, 2.0, 4.0]), np.array([3.0, 2.0, 1.0, 0.0])
    assert MonotoneCubic(x, y).crossing(level, 1) == pytest.approx(3.0 - level, abs=1e-15)


CURVE_X = np.array([0.0, 1.0, 1.5, 3.0, 3.2, 5.0, 6.0])
WAVES = [
    [0.0, 1.0, 0.5, 0.5, 2.0, 2.1, 9.0],
    [5.0, 1.0, 0.9, 0.1, 0.0, -4.0, -4.1],
    [0.0, 0.1, 9.0, 9.5, 9.6, 1.0, 0.9],
    [0.0, 5.0, 5.1, 0.0, -9.0, -9.1, 3.0],
    [0.0, -5.0, 0.0, 1.0, 0.0, 1.0, 0.0],
]


@pytest.mark.parametrize("y", WAVES, ids=str)
@pytest.mark.parametrize("scale", [1e-6, 1.0, 1e6])
def test_a_curve_of_any_height_and_length_has_scipys_slopes_and_crossings(y, scale):
    x, y = CURVE_X * scale**0.5, np.array(y) * scale
    ours, other = MonotoneCubic(x, y), PchipInterpolator(x, y)
    assert [ours.slope(i) for i in range(7)] == pytest.approx(list(other.derivative()(x)), rel=1e-9, abs=1e-15)
    for left in range(6):
        for share in (0.03, 0.5, 0.97):
            level = y[left] + share * (y[left + 1] - y[left])
            if y[left] != y[left + 1]:
                found = ours.crossing(level, left)
                assert x[left] <= found <= x[left + 1]
                assert float(other(found)) == pytest.approx(level, abs=1e-12 * np.abs(y).max())
