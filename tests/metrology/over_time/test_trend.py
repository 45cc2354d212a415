"""The trend over visits: ISO/TS 28037:2010 clause 9, statsmodels' GLS, and laws; the conformity date's honesty."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits, probability_of_conformity
from vibcal_nb.metrology.over_time.conformity_date import find_conformity_date
from vibcal_nb.metrology.over_time.trend import fit_trend

# ISO/TS 28037:2010, clause 9: two blocks of five with correlated y; as GTC's own test prints them, and recomputed.
TS_9_Y = [1.3, 4.1, 6.9, 7.5, 10.2, 12.0, 14.5, 17.1, 19.5, 21.0]
TS_9_V = np.zeros((10, 10))
TS_9_V[:5, :5], TS_9_V[5:, 5:] = np.eye(5) + 1.0, np.eye(5) + 4.0


def test_iso_ts_28037_clause_9():
    t = np.arange(1.0, 11.0)
    trend = fit_trend(t, TS_9_Y, covariance=TS_9_V, stretch=[0] * 10)
    intercept = trend.levels[0] - trend.origin * trend.slope
    at_zero = trend.predict(0.0)
    assert f"{trend.slope:.2f}" == "2.20"
    assert f"{trend.u_slope:.4f}" == "0.2015"
    assert f"{at_zero[1][0]:.4f}" == "1.2726"
    assert (trend.slope, trend.u_slope) == pytest.approx((2.20135338, 0.20149815), abs=5e-9)
    assert (intercept, at_zero[1][0]) == pytest.approx((-0.64556391, 1.27261497), abs=5e-9)
    assert (trend.chi_squared, trend.degrees_of_freedom) == pytest.approx((2.07395489, 8), abs=5e-9)
    assert trend.chi_squared_limit == pytest.approx(15.50731305546545)
    assert trend.steady is True


def covariance_of(rng, n):
    root = rng.normal(0.0, 0.3, (n, n))
    return root @ root.T + np.diag(rng.uniform(0.05, 0.5, n))


def test_several_stretches_against_statsmodels():
    rng = np.random.default_rng(7)
    for _ in range(20):
        stretch = np.array([0, 0, 0, 1, 1, 2, 2, 2])
        t, y, V = np.sort(rng.uniform(-6, 0, 8)), rng.normal(0, 1, 8), covariance_of(rng, 8)
        trend = fit_trend(t, y, covariance=V, stretch=stretch)
        design = np.column_stack([stretch == s for s in range(3)] + [t - t.max()]).astype(float)
        other = sm.GLS(y, design, sigma=V).fit(cov_type="fixed scale")
        assert [*trend.levels, trend.slope] == pytest.approx(list(other.params), rel=1e-8, abs=1e-10)
        assert trend.covariance == pytest.approx(other.normalized_cov_params, rel=1e-7, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), step=st.floats(-20.0, 20.0), slope=st.floats(-3.0, 3.0))
def test_laws(seed, step, slope):
    """An adjustment's size moves a level and no slope; a shared error widens the levels and no slope; order is free."""
    rng = np.random.default_rng(seed)
    t, V, stretch = np.array([-3.0, -2.0, -1.0, -1.0, 0.0]), covariance_of(rng, 5), np.array([0, 0, 0, 1, 1])
    y = slope * t + rng.normal(0.0, 0.3, 5)
    plain = fit_trend(t, y, covariance=V, stretch=stretch)
    moved = fit_trend(t, y + step * (stretch == 1), covariance=V, stretch=stretch)
    assert moved.slope == pytest.approx(plain.slope, rel=1e-7, abs=1e-8)
    assert moved.levels[1] - plain.levels[1] == pytest.approx(step, rel=1e-7, abs=1e-8)
    shared = fit_trend(t, y, covariance=V + 4.0, stretch=stretch)
    assert (shared.slope, shared.u_slope) == pytest.approx((plain.slope, plain.u_slope), rel=1e-5, abs=1e-7)
    assert shared.covariance[1, 1] == pytest.approx(plain.covariance[1, 1] + 4.0, rel=1e-6)
    order = rng.permutation(5)
    mixed = fit_trend(t[order], y[order], covariance=V[np.ix_(order, order)], stretch=stretch[order])
    assert mixed.slope == pytest.approx(plain.slope, rel=1e-8, abs=1e-9)


def test_where_there_is_no_slope_it_says_so():
    with pytest.raises(ValueError, match="no slope to be fitted"):
        fit_trend([0.0, 0.0], [1.0, 2.0], covariance=np.eye(2), stretch=[0, 1])
    with pytest.raises(ValueError, match="not positive definite"):
        fit_trend([0.0, 1.0], [1.0, 2.0], covariance=np.ones((2, 2)), stretch=[0, 0])


def test_two_visits_leave_nothing_to_test_with():
    trend = fit_trend([-1.0, 0.0], [1.0, 2.0], covariance=np.eye(2), stretch=[0, 0])
    assert (trend.degrees_of_freedom, trend.steady, trend.chi_squared_limit) == (0, None, None)


@given(st.tuples(*[st.floats(-9.0, 9.0)] * 2), st.floats(0.5, 3.0))
def test_a_line_through_two_visits_leaves_nothing(y, years):
    """Not what rounding leaves either, which is another number in each process and would stand in the record."""
    assert fit_trend([-years, 0.0], y, covariance=np.diag([0.3, 0.7]), stretch=[0, 0]).chi_squared == 0.0


def date_of(y, V, t, *, seed=1, level=0.95, horizon=10.0):
    trend = fit_trend(t, y, covariance=V, stretch=[0] * len(t))
    rng = np.random.default_rng(seed)
    return trend, find_conformity_date(trend, tolerance=5.0, level=level, horizon_years=horizon, rng=rng, draws=800)


def test_the_date_is_where_the_probability_passes_the_level():
    t = np.array([-4.0, -3.0, -2.0, -1.0, 0.0])
    trend, found = date_of(0.6 * (t + 4.0), np.diag([0.04] * 5) + 0.01, t)
    value, u = trend.predict(found.years)
    p = float(probability_of_conformity(value, u, ToleranceLimits(lower=-5.0, upper=5.0))[0])
    assert p == pytest.approx(0.95, abs=2e-3)
    assert found.interval_years[0] < found.years < found.interval_years[1]
    assert found.years < (5.0 - 2.4) / 0.6  # before the trend itself gets there


def test_a_channel_already_out_has_date_zero_and_a_stable_one_none():
    t = np.array([-2.0, -1.0, 0.0])
    assert date_of([6.0, 6.0, 6.0], np.eye(3) * 0.01, t)[1].years == 0.0
    stable = date_of([0.0, 0.0, 0.0], np.eye(3) * 1e-4, t)[1]
    assert (stable.years, stable.interval_years) == (None, (None, None))


def test_the_interval_covers_the_date_of_the_true_trend():
    """300 simulated histories of five visits: the 95 % interval holds the date worked out from the true trend."""
    rng = np.random.default_rng(11)
    t, slope = np.array([-4.0, -3.0, -2.0, -1.0, 0.0]), 0.5
    V = np.diag([0.06] * 5) + 0.02
    true = date_of(2.0 + slope * t, V, t)[1].years
    root, inside = np.linalg.cholesky(V), 0
    for seed in range(300):
        found = date_of(2.0 + slope * t + root @ rng.normal(size=5), V, t, seed=seed)[1]
        low, high = found.interval_years
        inside += (0.0 if low is None else low) <= true <= (np.inf if high is None else high)
    assert 0.92 <= inside / 300 <= 0.985
