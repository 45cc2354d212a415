"""Reliability of like channels: statsmodels as a second way, and the coverage of the limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.proportion import proportion_confint

from vibcal_nb.analysis.drift.interval import (
    IntervalSteps,
    propose_control_chart,
    propose_reliability,
    propose_staircase,
)
from vibcal_nb.metrology.over_time.reliability import estimate_reliability

STEPS = IntervalSteps(
    current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=3.0, longest_months=24.0
)


def test_rate_against_a_complementary_log_log_model():
    """R(t) = exp(-rate t) is the binomial model with link cloglog and offset ln t: its intercept is ln rate."""
    rng = np.random.default_rng(3)
    t = rng.uniform(0.5, 3.0, 80)
    out = rng.random(80) < -np.expm1(-0.3 * t)
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    other = sm.GLM(out.astype(float), np.ones((80, 1)), family=family, offset=np.log(t)).fit(tol=1e-12)
    assert estimate_reliability(t, out).rate == pytest.approx(math.exp(other.params[0]), rel=1e-7)


@pytest.mark.parametrize(("out", "n"), [(0, 12), (1, 12), (3, 12), (11, 12)])
def test_with_equal_times_the_limits_are_those_of_clopper_and_pearson(out, n):
    found = estimate_reliability([1.5] * n, [True] * out + [False] * (n - out))
    low, high = proportion_confint(out, n, method="beta")
    assert found.lower_rate == pytest.approx(0.0 if out == 0 else -math.log1p(-low) / 1.5, rel=1e-9)
    assert found.upper_rate == pytest.approx(-math.log1p(-high) / 1.5, rel=1e-9)


def test_all_found_out_sets_no_upper_limit():
    found = estimate_reliability([1.0, 2.0], [True, True])
    assert (found.rate, found.upper_rate) == (None, None)
    assert found.interval_limits(0.9)[0] == 0.0


def test_limits_cover_the_true_rate():
    """The limits depend on the number found out alone, so that their coverage is a sum over its exact distribution."""
    t, rate, covered = np.linspace(0.5, 2.5, 30), 0.15, 0.0
    probability = np.ones(1)  # of the number found out: a product of (1 - p) + p z over the channels
    for p in -np.expm1(-rate * t):
        probability = np.convolve(probability, [1.0 - p, p])
    for out, chance in enumerate(probability):
        found = estimate_reliability(t, np.arange(30) < out)
        if found.lower_rate <= rate <= (math.inf if found.upper_rate is None else found.upper_rate):
            covered += chance
    assert 0.95 <= covered < 0.99  # exact limits cover at least what they promise, and not everything


def test_none_to_learn_from_is_refused():
    with pytest.raises(ValueError, match="at least one channel"):
        estimate_reliability([], [])


@pytest.mark.parametrize(("deviation", "months"), [(3.9, 18.0), (-4.0, 18.0), (4.1, 12.0), (-5.0, 12.0), (5.1, 8.0)])
def test_staircase_with_the_80_percent_of_the_guide(deviation, months):
    """ILAC-G24:2022 / OIML D 10:2022 (from memory): extend within 80 % of the tolerance, shorten outside it."""
    found = propose_staircase(deviation, tolerance_pct=5.0, inner_pct=80.0, steps=STEPS)
    assert found.months == months


def test_intervals_keep_to_their_bounds():
    assert STEPS.bounded(40.0) == 24.0
    assert STEPS.bounded(-3.0) == 3.0
    with pytest.raises(ValueError, match="give the shortest"):
        IntervalSteps(
            current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=9.0, longest_months=6.0
        )


def test_a_chart_shortens_on_a_signal_and_does_not_extend_on_little():
    few, _ = propose_control_chart([0.0, 0.1, -0.1], s_pct=0.3, weight=0.3, k=3.0, steps=STEPS)
    assert (few.months, few.caution is None) == (12.0, False)
    many, _ = propose_control_chart([0.0, 0.1, -0.1, 0.0, 0.1, 0.0], s_pct=0.3, weight=0.3, k=3.0, steps=STEPS)
    assert (many.months, many.caution) == (18.0, None)
    rising, chart = propose_control_chart([0.0, 0.5, 1.0, 1.5, 2.0, 2.5], s_pct=0.3, weight=0.3, k=3.0, steps=STEPS)
    assert rising.months == 8.0
    assert chart.out
    alone, chart = propose_control_chart([0.4], s_pct=0.3, weight=0.3, k=3.0, steps=STEPS)
    assert (alone.months, chart) == (None, None)


def test_reliability_proposes_the_time_to_the_target():
    found = estimate_reliability([1.0] * 40, [True] * 4 + [False] * 36)
    proposal = propose_reliability(found, target=0.95, steps=STEPS)
    assert proposal.months == pytest.approx(12.0 * math.log(0.95) / math.log(0.9), rel=1e-9)
    assert proposal.caution is None
    assert propose_reliability(None, target=0.95, steps=STEPS).months is None
    never = propose_reliability(estimate_reliability([1.0] * 5, [False] * 5), target=0.95, steps=STEPS)
    assert "no bound" in never.reason
    assert "few" in never.caution
