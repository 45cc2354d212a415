"""The date at which a drifting channel leaves its tolerance, where it is known in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, stats

from vibcal_nb.metrology.over_time.conformity_date import find_conformity_date
from vibcal_nb.metrology.over_time.trend import fit_trend


def trend_of(slope, *, u=0.1, level=0.0, times=(0.0, 1.0, 2.0)):
    t = np.array(times)
    return fit_trend(t, level + slope * t, covariance=u**2 * np.eye(t.size), stretch=[0] * t.size)


def find(trend, *, tolerance=5.0, level=0.95, horizon_years=10.0):
    return find_conformity_date(
        trend, tolerance=tolerance, level=level, horizon_years=horizon_years, rng=np.random.default_rng(1), draws=2000
    )


def test_the_probability_falls_to_the_level_where_the_trend_is_that_many_u_from_the_limit():
    """1.645 u(t) below the limit; u(t)^2 of a line through three points at 0, 1, 2 is u^2 (1/3 + (t - 1)^2/2)."""
    trend = trend_of(1.0)
    found = find(trend)

    def short_of_the_limit(t):
        return (5.0 - t) / (0.1 * math.sqrt(1.0 / 3.0 + (t - 1.0) ** 2 / 2.0)) - stats.norm.ppf(0.95)

    exact = optimize.brentq(short_of_the_limit, 3.0, 5.0)
    assert trend.origin + found.years == pytest.approx(exact, abs=0.005)  # two days: between steps it is interpolated
    assert found.interval_years[0] < found.years < found.interval_years[1]
    assert found.probability[0] == pytest.approx(1.0)
    assert found.t_years[0] == 0.0
    assert found.t_years[-1] == 10.0


def test_a_falling_channel_leaves_at_the_other_limit_at_the_same_date():
    assert find(trend_of(-1.0)).years == pytest.approx(find(trend_of(1.0)).years, rel=1e-9)


def test_a_higher_probability_is_left_sooner():
    dates = [find(trend_of(1.0), level=level).years for level in (0.5, 0.9, 0.99)]
    assert dates == sorted(dates, reverse=True)
    assert trend_of(1.0).origin + dates[0] == pytest.approx(5.0, abs=1e-3)  # at one half the trend is at the limit


def test_a_channel_already_outside_is_past_its_date():
    assert find(trend_of(1.0, level=6.0)).years == 0.0


def test_a_date_beyond_the_horizon_is_none():
    steady = find(trend_of(0.001))
    assert steady.years is None
    assert find(trend_of(1.0), horizon_years=2.0).years is None
    assert find(trend_of(1.0), horizon_years=4.0).years is not None


def test_a_line_through_three_points():
    """Closed forms of ordinary least squares: u(slope)^2 = u^2/2, u^2 (1/3 + (t - 1)^2/2) anywhere on the line."""
    trend = trend_of(2.0, level=1.0)
    assert trend.slope == pytest.approx(2.0)
    assert trend.u_slope == pytest.approx(0.1 / math.sqrt(2.0))
    value, u = trend.predict([0.0, 1.0, 5.0])
    assert value == pytest.approx([1.0, 3.0, 11.0])
    assert u == pytest.approx(0.1 * np.sqrt(1 / 3 + np.array([1.0, 0.0, 16.0]) / 2))
    assert (trend.degrees_of_freedom, trend.steady) == (1, True)
    assert trend.chi_squared_limit == pytest.approx(stats.chi2.ppf(0.95, 1))


def test_the_chi_squared_test_of_a_trend_at_its_limit():
    """One residual pattern (1, -2, 1) c of three points: chi-squared is 6 c^2/u^2."""
    limit = math.sqrt(stats.chi2.ppf(0.95, 1) / 6.0) * 0.1
    for share, steady in ((0.99, True), (1.01, False)):
        y = share * limit * np.array([1.0, -2.0, 1.0])
        trend = fit_trend([0.0, 1.0, 2.0], y, covariance=0.01 * np.eye(3), stretch=[0, 0, 0])
        assert trend.chi_squared == pytest.approx(share**2 * stats.chi2.ppf(0.95, 1))
        assert trend.steady is steady


def test_two_points_leave_nothing_to_test_with():
    trend = fit_trend([0.0, 1.0], [0.0, 1.0], covariance=0.01 * np.eye(2), stretch=[0, 0])
    assert (trend.degrees_of_freedom, trend.steady, trend.chi_squared_limit) == (0, None, None)
