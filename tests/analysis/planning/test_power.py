"""Power of a plan against a brute-force simulation through the full analyses, closed forms, and laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from tests.support.analyses.power import DEMO_PLANS, found_by_full_analysis, planned
from vibcal_nb.analysis.faults.chain_model import limited_fundamental
from vibcal_nb.analysis.planning.limits_broken import broken
from vibcal_nb.analysis.planning.more_readings import suggest_more_readings
from vibcal_nb.analysis.planning.planned_case import planned_case
from vibcal_nb.analysis.planning.power import find_power, prepare_tests, simulate_outputs, smallest_gain_error_pct
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, ChannelFault, usual_faults
from vibcal_nb.metrology.straight_line.nonlinearity import independent_line, minimax_deviations
from vibcal_nb.model.visit import Contribution


@pytest.mark.parametrize(("visit", "channel"), DEMO_PLANS, ids=lambda text: text.split("/")[0])
def test_power_agrees_with_the_full_analysis_on_other_draws(visit, channel):
    """Other random numbers: the shares agree within four standard errors (the benchmark runs many more trials)."""
    plan, instruments = planned(visit, channel)
    faults = (NO_FAULT, *usual_faults(plan.channel))
    figures = find_power(plan, faults, instruments=instruments, rng=np.random.default_rng(11))
    tests = prepare_tests(plan, instruments)
    for number, figure in enumerate(figures):
        trials = 24
        share = found_by_full_analysis(tests, figure.fault, seed=1000 + number, trials=trials).mean()
        p = min(max(figure.probability, 0.5 / trials), 1.0 - 0.5 / trials)
        assert abs(share - figure.probability) < 4.0 * math.sqrt(p * (1.0 - p) / trials), figure.fault.name


@pytest.mark.parametrize("fault", [ChannelFault(name="gain", gain=0.953), ChannelFault(name="clip", clip=17.6)])
def test_each_run_is_judged_as_the_full_analysis_judges_it(fault):
    """The same draws, near the limits on purpose: run by run the same finding."""
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V21", tests=["linearity"])
    (test,) = prepare_tests(plan, instruments)
    (runs,) = simulate_outputs([test], fault, rng=np.random.default_rng(3), trials=60)
    quick = broken(test.case, test.scaled, runs, u_y=test.uncertainty.u_y)
    full = found_by_full_analysis([test], fault, seed=3, trials=60)
    assert 0 < quick.sum() < 60
    assert (quick != full).sum() <= 1  # the slope's weights come from the plan here and from the readings there


def test_power_of_one_test_in_closed_form():
    """Sensor alone, one reading: power = 1 - [Phi((high - d)/u) - Phi((low - d)/u)], d the deviation in %.

    45.5 pC are expected and shown in steps of 0.1: of the limits 43.225 and 47.775 the first is missed below 43.25, the
    second from 47.75.
    """
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V21", tests=["sensor-alone"])
    only = replace(plan, points=tuple(p for p in plan.points if p.purpose == "reference frequency"))
    leak = ChannelFault(name="leak", leak_hz=25.0)
    (figure,) = find_power(only, [leak], instruments=instruments, rng=np.random.default_rng(2), trials=40_000)
    (test,) = prepare_tests(only, instruments)
    droop = 1.0 / math.hypot(1.0, 25.0 / 80.0)
    own = math.hypot(0.2, 0.1 / math.sqrt(3.0))  # settling and cable strain, judgement of the defaults
    u = droop * math.hypot(test.uncertainty.u_common_pct(80.0), test.uncertainty.u_frequency_pct(80.0), own)
    d = 100.0 * (droop - 1.0)
    low, high = (100.0 * (edge / 45.5 - 1.0) for edge in (43.25, 47.75))
    expected = 1.0 - (stats.norm.cdf((high - d) / u) - stats.norm.cdf((low - d) / u))
    assert test.scaled.resolution_y[0] == pytest.approx(0.1)
    assert 0.2 < expected < 0.8
    assert figure.probability == pytest.approx(expected, abs=4.0 * figure.standard_error)


def test_minimax_deviation_of_many_runs_is_that_of_each():
    rng = np.random.default_rng(6)
    x = np.array([1.0, 2.0, 2.0, 5.0, 9.0, 9.0, 14.0])
    y = 4.0 * x + rng.standard_normal((50, x.size))
    expected = [independent_line(x, run).max_deviation for run in y]
    np.testing.assert_allclose(minimax_deviations(x, y), expected, rtol=1e-9)


def test_a_clipped_sine_keeps_its_fundamental():
    """(2/pi)(asin u + u sqrt(1 - u^2)), checked by the Fourier integral of the clipped sine."""
    phase = (np.arange(100_000) + 0.5) * 2.0 * np.pi / 100_000
    for u in (0.3, 0.9, 1.0, 1.7):
        integral = 2.0 * np.mean(np.clip(np.sin(phase), -u, u) * np.sin(phase))
        assert 2.0 * limited_fundamental(np.array([u]))[0] == pytest.approx(2.0 * integral, abs=1e-8)


def test_a_larger_fault_is_found_more_often_and_none_hardly_ever():
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V21")
    sizes = [ChannelFault(name=str(g), gain=1.0 - g / 100.0) for g in (3.0, 4.0, 4.5, 5.0, 6.0, 8.0)]
    figures = find_power(plan, [NO_FAULT, *sizes], instruments=instruments, rng=np.random.default_rng(1))
    chances = [figure.probability for figure in figures]
    assert chances == sorted(chances)
    assert chances[0] < 0.01 and chances[-1] == 1.0
    smallest = smallest_gain_error_pct(plan, instruments=instruments, rng=np.random.default_rng(1))
    (there,) = find_power(
        plan,
        [ChannelFault(name="there", gain=1.0 - smallest / 100.0)],
        instruments=instruments,
        rng=np.random.default_rng(1),
    )
    assert there.probability == pytest.approx(0.95, abs=0.02)


def test_what_is_not_read_is_not_found():
    """Linearity alone sees no corner; a clip at the trip is missed by a run that ends near it."""
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V11", tests=["linearity"])
    corner = ChannelFault(name="corner", high_corner=0.8)
    (figure,) = find_power(plan, [corner], instruments=instruments, rng=np.random.default_rng(1))
    assert figure.probability < 0.01
    with pytest.raises(ValueError, match="no point of band-response"):
        planned_case(plan, test="band-response", instruments=instruments)


def test_suggestions_raise_the_power_for_few_readings():
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V11", tests=["linearity", "sensor-alone"])
    clip = next(f for f in usual_faults(plan.channel) if f.clip is not None)
    corner = ChannelFault(name="corner", high_corner=0.8)
    found = suggest_more_readings(plan, [clip, corner], instruments=instruments, rng=np.random.default_rng(1))
    level = next(s for s in found if s.before.fault is clip)
    assert level.what == "one more level, 22.5 mm/s pk at 50 Hz"
    assert level.before.probability < 0.1 < 0.9 < level.after.probability
    test = next(s for s in found if s.before.fault is corner)
    assert test.what.startswith("the test band-response as well")
    for item in found:
        assert len(item.plan.points) == len(plan.points) + len(item.extra)
        again = find_power(item.plan, [item.before.fault], instruments=instruments, rng=np.random.default_rng(99))
        assert again[0].probability == pytest.approx(item.after.probability, abs=0.05)
    sure = ChannelFault(name="half", gain=0.5)
    assert suggest_more_readings(plan, [sure], instruments=instruments, rng=np.random.default_rng(1)) == ()


def test_more_uncertainty_hides_more():
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V11", tests=["linearity"])
    worse = Contribution(name="mounting", value_pct=3.0, distribution="normal", kind="common", source="test")
    shaky = replace(instruments, visit=replace(instruments.visit, contributions=(worse,)))
    low = ChannelFault(name="low", gain=0.93)
    chances = [
        find_power(plan, [low], instruments=item, rng=np.random.default_rng(1))[0].probability
        for item in (instruments, shaky)
    ]
    assert chances[0] > 0.99 > 0.9 > chances[1]
