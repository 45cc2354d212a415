"""A trend in several stretches between adjustments, in closed form, and what is said where there is none."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from tests.support.analyses.drift import analyse, yearly
from tests.support.published.kcdb_v_k1 import observation
from vibcal_nb.analysis.drift.drift import DriftSettings
from vibcal_nb.analysis.drift.interval import IntervalSteps, propose_reliability
from vibcal_nb.metrology.over_time.reliability import estimate_reliability
from vibcal_nb.metrology.over_time.trend import fit_trend
from vibcal_nb.records.perform.history import USUAL

STRETCH = np.array([0, 0, 1, 1, 2, 2])
T = np.array([-5.0, -4.0, -3.0, -2.0, -1.0, 1.0])


@pytest.mark.parametrize("stretch", [0, 1, 2, -1, -3])
def test_u_of_a_trend_in_any_stretch_is_that_of_its_row_of_the_design(stretch):
    """Gauss-Markov: the variance of a prediction is g' C g of its row g."""
    V = np.diag([0.04, 0.09, 0.01, 0.16, 0.04, 0.25]) + 0.02
    trend = fit_trend(T, np.array([0.0, 1.0, -1.0, 0.5, 2.0, 4.0]), covariance=V, stretch=STRETCH)
    design = np.column_stack([s == STRETCH for s in range(3)] + [T - 1.0]).astype(float)
    C = np.linalg.inv(design.T @ np.linalg.solve(V, design))
    parameters = C @ design.T @ np.linalg.solve(V, np.array([0.0, 1.0, -1.0, 0.5, 2.0, 4.0]))
    for at in (-6.0, 0.0, 1.0, 3.0):
        row = np.array([*(np.arange(3) == stretch % 3), at - 1.0], dtype=float)
        value, u = trend.predict(at, stretch=stretch)
        assert value[0] == pytest.approx(row @ parameters, rel=1e-9)
        assert u[0] == pytest.approx(math.sqrt(row @ C @ row), rel=1e-9)
    assert trend.origin == 1.0
    assert trend.degrees_of_freedom == 2
    assert trend.u_slope == pytest.approx(math.sqrt(C[3, 3]))


def test_two_visits_with_an_adjustment_between_them_have_no_slope():
    rows = [
        *yearly([0.0]),
        replace(observation(0.1, day=date(2020, 5, 1)), condition="as-left"),
        replace(observation(0.2, day=date(2021, 5, 1)), condition="as-left"),
    ]
    (item,) = analyse(rows).quantities
    assert item.undetermined["trend"].startswith("No stretch between adjustments holds two visits")
    assert item.undetermined["trend"] == item.undetermined["conformity date"]
    (alone,) = analyse(yearly([0.0])).quantities
    assert alone.undetermined["trend"] == "one visit shows no drift"
    assert (item.visits, alone.visits) == (2, 1)


def test_time_is_in_years_before_the_last_observation():
    rows = [observation(v, day=date(2024, 1, 1) + timedelta(days=d)) for v, d in ((0.0, 0), (1.0, 365), (2.0, 1461))]
    (item,) = analyse(rows).quantities
    assert list(item.trend.t) == pytest.approx([-4.0, -1096 / 365.25, 0.0])


def test_a_quantity_without_tolerance_has_no_date_and_no_verdict():
    rows = [replace(o, tolerance_pct=None) for o in yearly([0.0, 0.1, 0.2])]
    result = analyse(rows)
    (item,) = result.quantities
    assert item.undetermined == {"conformity date": "the quantity has no tolerance of its own"}
    assert (item.date, item.chart, item.proposals, item.tolerance_pct) == (None, None, (), None)
    assert (item.verdict, result.verdict) == ("not verified", "not verified")  # of no quantity with a tolerance
    assert result.undetermined == {f"conformity date, {item.quantity}": item.undetermined["conformity date"]}


def with_interval(months):
    return replace(USUAL, steps=replace(USUAL.steps, current_months=months))


def test_a_channel_passes_that_holds_until_the_end_of_its_interval():
    rows = yearly([0.0, 1.2, 2.4, 3.6], u_own=0.2)
    (item,) = analyse(rows).quantities
    months = 12.0 * item.date.years
    verdicts = [analyse(rows, settings=with_interval(m)).verdict for m in (months * 0.999, months * 1.001)]
    assert verdicts == ["pass", "fail"]


def test_the_charts_limits_rest_on_the_uncertainty_of_a_change_from_the_first():
    """Two observations of 0.3 % each, what they share cancels: 3 sqrt(0.3/1.7) sqrt(2) 0.3."""
    rows = yearly([0.5, 0.0, 0.1], u_own=0.3, reference=0.4)
    (item,) = analyse(rows).quantities
    s = math.sqrt(2.0) * 0.3
    assert item.chart.s == pytest.approx(s, rel=1e-9)
    assert item.chart.upper_limit == pytest.approx(0.5 + 3.0 * s * math.sqrt(0.3 / 1.7), rel=1e-9)
    assert item.chart.start == 0.5


def test_the_staircase_looks_at_the_last_as_found():
    mended = [*yearly([0.0, 6.0]), replace(observation(0.0, day=date(2021, 5, 1)), condition="as-left")]
    (item,) = analyse(mended).quantities
    assert item.proposals[0].months == 6.0  # found outside its tolerance of 5 %
    only_left = [replace(o, condition="as-left") for o in yearly([0.0, 6.0])]
    assert analyse(only_left).quantities[0].proposals == ()


def reliability_of(*channels):
    return analyse(yearly([0.0, 1.0]), like=channels).reliability


def test_a_channel_on_its_limit_is_in_tolerance():
    on, beyond = yearly([5.0, -5.0]), yearly([-5.0, 5.01])
    assert (reliability_of(on).out, reliability_of(beyond).out) == (0, 1)
    assert reliability_of(yearly([5.01, 0.0])) is None  # not good before
    assert reliability_of(yearly([0.0])) is None


def test_reliability_counts_years_from_what_a_visit_left():
    rows = [
        observation(9.0, day=date(2020, 5, 1)),
        replace(observation(0.0, day=date(2020, 5, 1)), condition="as-left"),
        observation(9.0, day=date(2022, 5, 1)),
        replace(observation(9.0, day=date(2022, 5, 1)), condition="as-left"),
        observation(9.0, day=date(2023, 5, 1)),
    ]
    found = reliability_of(rows)
    assert (list(found.years), found.out) == ([pytest.approx(730 / 365.25)], 1)
    without = [replace(o, tolerance_pct=None) for o in rows]
    assert reliability_of(without) is None
    other = [replace(o, quantity="sensitivity at 149 Hz") for o in yearly([0.0, 1.0, 1.0])]
    assert reliability_of([*rows, *other]).years.size == 3


STEPS = IntervalSteps(
    current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=3.0, longest_months=240.0
)


def test_twenty_observations_are_enough_for_reliability():
    few, enough = (
        propose_reliability(estimate_reliability([1.0] * n, [True] + [False] * (n - 1)), target=0.9, steps=STEPS)
        for n in (19, 20)
    )
    assert few.caution == "19 observations are few: the interval's own limits are the answer"
    assert enough.caution is None


def test_reliability_says_its_limits_in_months():
    found = estimate_reliability([1.0] * 40, [True] * 4 + [False] * 36)
    rates = [-math.log1p(-p) for p in proportion_confint(4, 40, method="beta")]  # of equal times: Clopper and Pearson
    low, high = (-math.log(0.95) / rate for rate in rates[::-1])
    assert found.interval_limits(0.95) == pytest.approx((low, high), rel=1e-9)
    said = propose_reliability(found, target=0.95, steps=STEPS)
    months = 12.0 * math.log(0.95) / math.log(0.9)
    assert said.reason == (
        f"4 of 40 found out of tolerance; 95 % are in tolerance for {months:.1f} months "
        f"(95 %: {12.0 * low:.1f} to {12.0 * high:.1f} months)"
    )
    never = estimate_reliability([1.0] * 40, [False] * 40)
    said = propose_reliability(never, target=0.95, steps=STEPS)
    low = -math.log(0.95) / (-math.log(0.025) / 40.0)  # (1 - p)^40 = 2.5 %
    assert said.months == pytest.approx(12.0 * low, rel=1e-6)
    assert said.reason == (
        f"0 of 40 found out of tolerance; 95 % are in tolerance for {12.0 * low:.1f} to no bound months (95 %)"
    )


def test_usual_settings_of_a_drift():
    """As the guide's example has them (80 %) and as control charts commonly are: weight 0.3, three sigma."""
    usual = DriftSettings(steps=STEPS)
    assert (usual.inner_pct, usual.ewma_weight, usual.ewma_k) == (80.0, 0.3, 3.0)
    assert (usual.conformity_level, usual.target_reliability, usual.horizon_years) == (0.95, 0.95, 10.0)


def test_a_state_left_at_a_later_visit_without_one_found_says_nothing_of_reliability():
    rows = [
        observation(0.0, day=date(2020, 5, 1)),
        replace(observation(9.0, day=date(2022, 5, 1)), condition="as-left"),
    ]
    assert reliability_of(rows) is None


def test_where_none_was_found_out_the_rate_is_nothing():
    found = estimate_reliability([1.0, 2.0], [False, False])
    assert (found.rate, found.lower_rate, found.interval_for(0.9)) == (0.0, 0.0, None)
    assert found.interval_limits(0.9)[1] is None
