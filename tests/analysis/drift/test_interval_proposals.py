"""When to come again: each method's decisions at their boundaries, and the control chart's limits in closed form."""

from __future__ import annotations

import math

import pytest

from vibcal_nb.analysis.drift.interval import IntervalSteps, propose_control_chart, propose_staircase
from vibcal_nb.metrology.over_time.ewma import chart_ewma
from vibcal_nb.metrology.sine.distortion import total_harmonic_distortion

STEPS = IntervalSteps(
    current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=3.0, longest_months=36.0
)


@pytest.mark.parametrize(
    ("deviation_pct", "months", "said"),
    [
        (4.0, 18.0, "found 80 % of the tolerance from nominal, within 80 %: longer"),
        (-4.0, 18.0, "found 80 % of the tolerance from nominal, within 80 %: longer"),
        (4.01, 12.0, "found 80 % of the tolerance from nominal, between 80 and 100 %: as it is"),
        (-5.0, 12.0, "found 100 % of the tolerance from nominal, between 80 and 100 %: as it is"),
        (5.1, 8.0, "found 102 % of the tolerance from nominal, outside it: shorter"),
        (-5.1, 8.0, "found 102 % of the tolerance from nominal, outside it: shorter"),
    ],
)
def test_the_staircase_steps_at_80_and_100_percent(deviation_pct, months, said):
    found = propose_staircase(deviation_pct, tolerance_pct=5.0, inner_pct=80.0, steps=STEPS)
    assert (found.months, found.reason) == (months, said)


def test_an_interval_stays_within_its_bounds():
    assert [STEPS.bounded(months) for months in (-1.0, 3.0, 10.0, 36.0, 50.0)] == [3.0, 3.0, 10.0, 36.0, 36.0]


@pytest.mark.parametrize(("shortest", "longest"), [(0.0, 12.0), (-1.0, 12.0), (13.0, 12.0)])
def test_bounds_that_are_none(shortest, longest):
    with pytest.raises(ValueError, match="give the shortest above 0 and no longer than the longest"):
        IntervalSteps(
            current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=shortest, longest_months=longest
        )


def test_equal_bounds_fix_the_interval():
    fixed = IntervalSteps(
        current_months=12.0, extend_months=6.0, shorten_months=4.0, shortest_months=12.0, longest_months=12.0
    )
    assert propose_staircase(0.0, tolerance_pct=5.0, inner_pct=80.0, steps=fixed).months == 12.0


def propose(levels):
    return propose_control_chart(levels, s_pct=1.0, weight=0.2, k=3.0, steps=STEPS)


def test_a_chart_extends_from_six_visits_on():
    proposal, chart = propose([0.5])
    assert (proposal.months, proposal.reason, chart) == (None, "one visit makes no chart", None)
    few, _ = propose([0.0] * 5)
    assert few.months == 12.0
    assert few.caution == "5 visits are little for a chart, which wants 6 or more"
    assert few.reason.endswith("within, and too few visits to extend on: as it is")
    enough, _ = propose([0.0] * 6)
    assert (enough.months, enough.caution) == (18.0, None)
    assert enough.reason == "the average stands at 0.00 %, limits -1.00 to 1.00 %; within: longer"


def test_a_chart_that_left_its_limits_shortens():
    proposal, chart = propose([0.0, 6.0])
    assert chart.out == (1,)
    assert proposal.months == 8.0
    assert proposal.reason == "the average stands at 1.20 %, limits -1.00 to 1.00 %; it stands outside them: shorter"
    back, chart = propose([0.0, 6.0, 0.0, 0.0])
    assert chart.out == (1,) and abs(chart.z[-1]) < chart.upper_limit
    assert back.reason == (
        "the average stands at 0.77 %, limits -1.00 to 1.00 %; it stood outside them after visit 2 of 4 and is back "
        "within: shorter"
    )


def test_limits_and_averages_of_a_chart():
    """Limits 3 s sqrt(w/(2 - w)) = s for w = 0.2; z = 0.2 x + 0.8 z; from 2.0 a step of 5 s is just at the limit."""
    chart = chart_ewma([7.0, 2.0, -4.0], start=2.0, s=1.0, weight=0.2)
    assert (chart.lower_limit, chart.upper_limit) == pytest.approx((1.0, 3.0))
    assert list(chart.z) == pytest.approx([2.0, 3.0, 2.8, 1.44])
    assert chart_ewma([7.01], start=2.0, s=1.0, weight=0.2).out == (1,)
    assert chart_ewma([6.99], start=2.0, s=1.0, weight=0.2).out == ()
    assert chart_ewma([-3.01], start=2.0, s=1.0, weight=0.2).out == (1,)


def test_a_weight_of_one_charts_the_observations_themselves():
    chart = chart_ewma([1.0, 3.5], start=0.0, s=1.0, weight=1.0)
    assert (list(chart.z), chart.upper_limit, chart.out) == ([0.0, 1.0, 3.5], 3.0, (2,))


def test_limits_of_half_a_sigma_and_of_a_small_scatter():
    assert chart_ewma([0.51, 0.0], start=0.0, s=1.0, weight=1.0, k=0.5).out == (1,)
    assert chart_ewma([0.029, 0.031], start=0.0, s=0.01, weight=1.0).out == (2,)


@pytest.mark.parametrize("wrong", [{"weight": 0.0}, {"weight": 1.1}, {"s": 0.0}, {"k": 0.0}, {"s": -1.0}], ids=str)
def test_a_chart_of_nothing_is_refused(wrong):
    with pytest.raises(ValueError, match="give a weight above 0 and up to 1, and s and k above 0"):
        chart_ewma([1.0], start=0.0, **({"s": 1.0, "weight": 0.2, "k": 3.0} | wrong))


def test_distortion_of_three_four_and_five():
    """A fundamental of 12 with harmonics of 3 and 4: 5/12 of the fundamental, 5/13 of the whole."""
    assert total_harmonic_distortion([12.0, 3.0, 4.0]) == pytest.approx((5.0 / 12.0, 5.0 / 13.0))
    assert total_harmonic_distortion([12.0]) == (0.0, 0.0)


@pytest.mark.parametrize("amplitudes", [[], [0.0, 1.0], [-1.0, 1.0], [math.nan, 1.0]], ids=str)
def test_distortion_of_no_fundamental_is_refused(amplitudes):
    with pytest.raises(ValueError, match="not above 0"):
        total_harmonic_distortion(amplitudes)
