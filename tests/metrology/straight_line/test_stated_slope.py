"""Deviation from a line of stated slope, against linear programming and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from vibcal_nb.metrology.straight_line.stated_slope import LEAST_SQUARES, MINIMAX, line_of_stated_slope

NUMBERS = st.floats(-10.0, 10.0, allow_nan=False)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=12), st.sampled_from([-7.87, 2.0]))
def test_minimax_is_what_linear_programming_finds(points, slope):
    """Least t with |y/slope - x - c| <= t, by scipy's linprog."""
    x, y = np.array(points).T
    beside = y / slope - x
    ones = np.ones(x.size)
    bounds = [(None, None), (0.0, None)]
    a = np.column_stack([np.concatenate([-ones, ones]), np.concatenate([-ones, -ones])])
    best = linprog([0.0, 1.0], A_ub=a, b_ub=np.concatenate([-beside, beside]), bounds=bounds)
    found = line_of_stated_slope(x, y, slope=slope)
    assert found.max_deviation == pytest.approx(best.fun, abs=1e-7)
    assert np.abs(found.deviations).max() == found.max_deviation


@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=12), st.sampled_from([MINIMAX, LEAST_SQUARES]))
def test_the_weights_carry_the_deviation(points, kind):
    x, y = np.array(points).T
    line = line_of_stated_slope(x, y, slope=-7.87, kind=kind)
    assert float(line.weights @ (y / -7.87 - x)) == pytest.approx(line.max_deviation, abs=1e-9)


def test_least_squares_is_the_mean():
    """numpy.polyfit of degree 0 through y/slope - x."""
    x, y = np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.1, 2.3, 3.8, 6.4])
    line = line_of_stated_slope(x, y, slope=2.0, kind=LEAST_SQUARES)
    assert line.offset == pytest.approx(np.polyfit(x, y / 2.0 - x, 0)[0])


@pytest.mark.parametrize("wrong", [{"slope": 0.0}, {"slope": float("nan")}, {"slope": 1.0, "kind": "best"}])
def test_what_is_no_line_is_refused(wrong):
    with pytest.raises(ValueError, match="give"):
        line_of_stated_slope([0.0, 1.0], [0.0, 1.0], **wrong)
