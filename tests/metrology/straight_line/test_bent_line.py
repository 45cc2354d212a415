"""A line with the bends that are permitted: against least squares of the normal equations, and brute-force draws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from vibcal_nb.metrology.straight_line.bent_line import (
    NONLINEARITY_OF_A_POWER,
    fit_bent_line,
    permitted_half_widths,
)
from vibcal_nb.metrology.straight_line.fitted_line import scaled
from vibcal_nb.metrology.straight_line.straight_line import fit_straight_line, forward_evaluate, inverse_evaluate

X = np.array([1.0, 3.0, 5.0, 7.0, 9.0, 11.0])
U = 0.002 * 4.0 * X + 0.003


def fit_of(y=None, u=U):
    return fit_straight_line(X, 4.0 * X if y is None else y, u_y=u)


@pytest.mark.parametrize("power", [2, 3])
@pytest.mark.parametrize("kind", ["independent", "terminal-based", "zero-based", "least-squares"])
def test_the_non_linearity_of_a_power_by_linear_programming(kind, power):
    """Least largest deviation of a line from z^power on a fine grid (HiGHS); the ends' line; least squares."""
    z = np.linspace(0.0, 1.0, 4001)
    y = z**power
    if kind == "terminal-based":
        expected = np.abs(y - z).max()
    elif kind == "least-squares":
        expected = np.abs(y - np.polynomial.Polynomial.fit(z, y, 1)(z)).max()
    else:
        line = [z] if kind == "zero-based" else [np.ones_like(z), z]
        columns, minus = np.stack([*line, np.ones_like(z)], 1), np.stack([*line, -np.ones_like(z)], 1)
        found = optimize.linprog(
            [*[0.0] * len(line), 1.0],
            A_ub=np.vstack([-columns, minus]),
            b_ub=np.concatenate([-y, y]),
            bounds=[(None, None)] * len(line) + [(0.0, None)],
        )
        expected = found.fun
    assert NONLINEARITY_OF_A_POWER[kind][power] == pytest.approx(expected, abs=5e-4)
    assert permitted_half_widths(kind, 0.02)[power] == pytest.approx(0.02 / expected, rel=3e-3)


def test_it_is_least_squares_with_each_bend_observed_as_zero():
    """Normal equations in plain NumPy, in the unit of x itself."""
    y = 4.0 * X - 0.004 * X**2 + np.array([0.01, -0.02, 0.03, -0.02, 0.01, -0.03])
    bent = fit_bent_line(fit_of(y), at=16.0, half_widths={2: 3.0, 3: 2.0})
    design = np.vander(X, 4, increasing=True)
    prior = np.diag([0.0, 0.0, 3.0 / (3.0 / 16.0**2) ** 2, 3.0 / (2.0 / 16.0**3) ** 2])
    normal = design.T @ (design / U[:, None] ** 2) + prior
    coefficients = np.linalg.solve(normal, design.T @ (y / U**2))
    for x in (2.0, 12.0, 16.0):
        powers = x ** np.arange(4)
        height, u = bent.height(x)
        assert height == pytest.approx(powers @ coefficients, rel=1e-9)
        assert u == pytest.approx(np.sqrt(powers @ np.linalg.solve(normal, powers)), rel=1e-7)


def test_without_room_for_bends_it_is_the_straight_line():
    fit = fit_of(4.0 * X + np.array([0.02, -0.02, 0.01, -0.01, 0.03, -0.03]))
    bent = fit_bent_line(fit, at=16.0, half_widths={2: 1e-6, 3: 1e-6})
    straight, back = forward_evaluate(fit, 16.0), inverse_evaluate(fit, 64.0, u_y0=0.0)
    assert bent.height(16.0) == pytest.approx((straight.y0, straight.u_y0), rel=1e-6)
    assert bent.level(64.0, near=16.0) == pytest.approx((back.x0, back.u_x0), rel=1e-6)


def test_a_line_taken_wider_is_wider_bent_too():
    fit = scaled(fit_of(4.0 * X * (1.0 + 0.01 * np.array([1, -1, 1, -1, 1, -1]))))
    assert fit.scale > 2.0
    wide, narrow = (fit_bent_line(each, at=16.0, half_widths={2: 1e3, 3: 1e3}) for each in (fit, fit_of()))
    assert wide.height(16.0)[1] == pytest.approx(fit.scale * narrow.height(16.0)[1], rel=1e-3)


def test_where_it_turns_away_first_there_is_no_level():
    y = 4.0 * X - 0.16 * X**2  # its top lies at 12.5, at 25
    bent = fit_bent_line(fit_of(y), at=16.0, half_widths={2: 100.0, 3: 1e-3})
    assert bent.level(24.0, near=10.0)[0] == pytest.approx(10.0, rel=1e-3)
    assert bent.level(26.0, near=16.0) is None


def test_its_interval_covers_bends_drawn_from_what_is_permitted():
    """2000 curves whose bends are drawn as they are known: 95 % of them lie within 1.96 u at half as far again."""
    rng = np.random.default_rng(20261)
    half, at = {2: 2.0, 3: 1.5}, 16.0
    inside = []
    for _ in range(2000):
        bends = [rng.normal(0.0, half[power] / np.sqrt(3.0)) for power in (2, 3)]
        true = lambda x, b=bends: 4.0 * x + b[0] * (x / at) ** 2 + b[1] * (x / at) ** 3  # noqa: E731
        bent = fit_bent_line(fit_of(true(X) + rng.normal(0.0, U)), at=at, half_widths=half)
        height, u = bent.height(at)
        inside.append(abs(height - true(at)) <= 1.96 * u)
    assert np.mean(inside) == pytest.approx(0.95, abs=0.015)  # three standard deviations of 2000 draws


@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_it_follows_the_units(x_unit, y_unit):
    half = {2: 2.0, 3: 1.5}
    plain = fit_bent_line(fit_of(), at=16.0, half_widths=half).level(64.0, near=16.0)
    fit = fit_straight_line(X * x_unit, 4.0 * X * y_unit, u_y=U * y_unit)
    other = fit_bent_line(fit, at=16.0 * x_unit, half_widths={p: w * y_unit for p, w in half.items()})
    assert other.level(64.0 * y_unit, near=16.0 * x_unit) == pytest.approx([v * x_unit for v in plain], rel=1e-6)


def test_a_bend_without_room_is_refused():
    with pytest.raises(ValueError, match="give a number above 0"):
        fit_bent_line(fit_of(), at=16.0, half_widths={2: 0.0, 3: 1.0})
