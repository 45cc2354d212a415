"""Simulated readings of a plan: errors as the budget states them, faults as they are named."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.power import planned
from tests.support.readings.cases import BAND, CHANNEL, SENSOR, butterworth, make_case
from tests.support.readings.simulated_errors import INSTRUMENTS
from vibcal_nb.analysis.faults.chain_model import limited_fundamental
from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.analysis.planning.planned_case import planned_case, with_outputs
from vibcal_nb.analysis.planning.power import (
    PowerFigure,
    find_power,
    prepare_tests,
    simulate_outputs,
    smallest_gain_error_pct,
)
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, ChannelFault, faulty_output, usual_faults
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.tolerance import Tolerance


def test_errors_are_shared_as_the_budget_says():
    """Covariance of relative errors: the visit's everywhere, a frequency's at its levels, the own on the diagonal."""
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V21")
    tests = prepare_tests(plan, instruments)
    trials = 40_000
    outputs = simulate_outputs(tests, NO_FAULT, rng=np.random.default_rng(5), trials=trials)
    errors = []
    for test, y in zip(tests, outputs, strict=True):
        nominal = faulty_output(test.case.channel, test.scaled, NO_FAULT, test=test.case.test)
        errors.append(100.0 * (y / nominal - 1.0))
    linearity, band = tests[0], tests[1]
    hz = linearity.scaled.frequency_hz
    common = linearity.uncertainty.u_common_pct(float(hz[0]))
    certificate = linearity.uncertainty.reference_error(float(hz[0])).own_pct  # what the speeds of two rotors differ in
    by_frequency = linearity.uncertainty.u_frequency_pct(80.0)
    own = math.sqrt(sum(line.standard_uncertainty**2 for line in linearity.uncertainty.independent))
    found = np.cov(errors[0].T)
    for i in range(0, hz.size, 2):
        for j in range(0, hz.size, 3):
            expected = common**2 + by_frequency**2 * (hz[i] == hz[j]) + own**2 * (i == j)
            expected -= certificate**2 * (hz[i] != hz[j])
            expected += (i == j) * (100.0 * linearity.scaled.resolution_y[i] / linearity.scaled.y[i]) ** 2 / 12.0
            assert found[i, j] == pytest.approx(expected, rel=0.04, abs=0.005)
    band_hz = band.scaled.frequency_hz
    at_speed = int(np.flatnonzero(band_hz == hz[0])[0])
    across = np.cov(errors[0][:, 0], errors[1].T)[0, 1:]  # two tests of a visit share its certificates alone
    assert across[at_speed] == pytest.approx(common**2, rel=0.06)
    here, there = (band.uncertainty.reference_error(float(f)).level.standard_uncertainty for f in (hz[0], band_hz[0]))
    assert band_hz[0] != hz[0]
    assert across[0] == pytest.approx(common**2 - here**2 + 0.5 * here * there, rel=0.06)
    for test_errors in errors:
        assert np.abs(test_errors.mean(axis=0)).max() < 0.03


def test_outputs_are_rounded_as_the_readout_shows_them():
    plan, instruments = planned("FDF-3/2026-05-05", "FDF-3-V11", tests=["linearity"])
    (test,) = prepare_tests(plan, instruments)
    (y,) = simulate_outputs([test], NO_FAULT, rng=np.random.default_rng(5), trials=20)
    steps = (y + test.case.output_zero) / test.scaled.resolution_y
    assert np.abs(steps - np.round(steps)).max() < 1e-6
    assert len(np.unique(y[:, 0])) > 1


SHAKER = Shaker(id="S", force_n=45.0, armature_kg=0.5)


def plan_of(levels, outputs, *, test="linearity", hz=50.0, zero=0.0):
    channel = replace(CHANNEL, output_zero=zero)
    points = tuple(
        PlannedPoint(
            channel=channel.tag, test=test, frequency_hz=hz, level=level, applied_unit=channel.input_unit,
            output=ExpectedOutput(expected=output, lowest=0.0, highest=2.0 * output), output_unit=channel.output_unit,
            purpose="range", direction="rising", repeat=2,
        )
        for level, output in zip(levels, outputs, strict=True)
    )  # fmt: skip
    return ChannelPlan(channel=channel, shaker=SHAKER, moving_mass_kg=0.1, points=points, out_of_reach=(), cautions=())


@pytest.mark.parametrize(
    ("level", "decimals"), [(2.0, 2), (9.99, 2), (10.0, 1), (0.5, 3), (0.099, 4), (150.0, 0), (1000.0, -1)]
)
def test_the_smallest_number_is_read_to_three_digits(level, decimals):
    case = planned_case(plan_of([level, 4.0 * level], [level, 4.0 * level]), test="linearity", instruments=INSTRUMENTS)
    assert {r.applied_decimals for r in case.readings} == {r.output_decimals for r in case.readings} == {decimals}
    assert scale_readings(case).resolution_x == pytest.approx([10.0**-decimals] * 2)


def test_a_planned_case_holds_the_plans_points_row_by_row():
    case = planned_case(plan_of([2.0, 5.0], [8.0, 0.0]), test="linearity", instruments=INSTRUMENTS)
    assert [(r.row, r.applied, r.output, r.direction, r.repeat) for r in case.readings] == [
        (2, 2.0, 8.0, "rising", 2), (3, 5.0, 0.0, "rising", 2),
    ]  # fmt: skip
    assert case.readings[0].output_decimals == 3  # of an output of nothing, three digits behind the point
    assert [r.output for r in with_outputs(case, np.array([1.0, 2.0])).readings] == [1.0, 2.0]
    with pytest.raises(ValueError, match="holds no point of sensor-alone; plan that test as well"):
        planned_case(plan_of([2.0], [8.0]), test="sensor-alone", instruments=INSTRUMENTS)


@pytest.mark.parametrize(("probability", "p"), [(0.5, 0.5), (0.2, 0.2), (0.0, 0.001), (1.0, 0.999)])
def test_the_standard_error_is_binomial_and_at_least_that_of_one_trial(probability, p):
    figure = PowerFigure(fault=NO_FAULT, probability=probability, by_test={}, trials=1000)
    assert figure.standard_error == pytest.approx(math.sqrt(p * (1.0 - p) / 1000))


def test_the_smallest_gain_error_is_found_19_times_in_20_and_a_smaller_one_is_not():
    plan = plan_of([5.0, 10.0, 15.0, 20.0], [20.0, 40.0, 60.0, 80.0])
    smallest = smallest_gain_error_pct(plan, instruments=INSTRUMENTS, rng=np.random.default_rng(3), trials=2000)
    power = [
        find_power(
            plan, [ChannelFault(name="gain", gain=1.0 - size / 100.0)], instruments=INSTRUMENTS,
            rng=np.random.default_rng(3), trials=2000,
        )[0].probability
        for size in (smallest - 0.05, smallest)
    ]  # fmt: skip
    assert power[0] < 0.95 <= power[1]
    assert 4.0 < smallest < 6.0  # some reading or the slope beyond 5 %
    wild = replace(CHANNEL, tolerance=Tolerance(reading_pct=60.0))
    hopeless = replace(plan, channel=wild)
    assert smallest_gain_error_pct(hopeless, instruments=INSTRUMENTS, rng=np.random.default_rng(3), trials=200) is None


def test_power_of_each_test_and_of_any_test():
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V21")
    low = ChannelFault(name="low", gain=0.954)
    (figure,) = find_power(plan, [low], instruments=instruments, rng=np.random.default_rng(3), trials=500)
    assert set(figure.by_test) == {"linearity", "band-response", "sensor-alone"}
    assert max(figure.by_test.values()) <= figure.probability <= sum(figure.by_test.values())
    assert figure.by_test["linearity"] > 0.2 > figure.by_test["sensor-alone"]
    assert figure.trials == 500


def test_usual_faults_are_of_the_size_that_their_name_says():
    channel = replace(CHANNEL, trip=18.0)
    faults = {f.name: f for f in usual_faults(channel)}
    assert faults == {
        "gain 5 % low": ChannelFault(name="gain 5 % low", gain=0.95),
        "upper corner 20 % low": ChannelFault(name="upper corner 20 % low", high_corner=0.8),
        "lower corner 25 % high": ChannelFault(name="lower corner 25 % high", low_corner=1.25),
        "clipped at the trip level": ChannelFault(name="clipped at the trip level", clip=18.0),
        "leak, f1 = 10 Hz": ChannelFault(name="leak, f1 = 10 Hz", leak_hz=10.0),  # half of the lowest flat frequency
    }
    bare = replace(channel, trip=None, sensor=None, band=None)
    assert [f.name for f in usual_faults(bare)] == ["gain 5 % low"]
    only_low = replace(bare, band=replace(BAND, corner_high_hz=None))
    assert [f.name for f in usual_faults(only_low)] == ["gain 5 % low", "lower corner 25 % high", "leak, f1 = 20 Hz"]
    only_high = replace(bare, band=replace(BAND, corner_low_hz=None, flat_hz=None))
    assert [f.name for f in usual_faults(only_high)] == ["gain 5 % low", "upper corner 20 % low"]


HZ = np.array([10.0, 20.0, 80.0, 400.0, 800.0])


def output_of(fault, *, test="band-response", hz=HZ, level=10.0):
    case = make_case(test, hz, np.full(len(hz), 40.0), applied=level)
    return faulty_output(case.channel, scale_readings(case), fault, test=test)


def test_faulty_outputs_in_closed_form():
    shape = butterworth(HZ, low=(20.0, 2), high=(400.0, 2))
    shape = shape / butterworth([80.0], low=(20.0, 2), high=(400.0, 2))
    assert output_of(NO_FAULT) == pytest.approx(40.0 * shape)
    assert output_of(ChannelFault(name="", gain=0.9)) == pytest.approx(36.0 * shape)
    leak = ChannelFault(name="", leak_hz=20.0)
    droop = 1.0 / np.sqrt(1.0 + (20.0 / HZ) ** 2)
    assert output_of(leak) == pytest.approx(40.0 * shape * droop)
    assert output_of(leak, test="sensor-alone") == pytest.approx(50.0 * droop)
    assert output_of(ChannelFault(name="", gain=0.5, clip=1.0), test="sensor-alone") == pytest.approx([50.0] * 5)
    moved = butterworth(HZ, low=(25.0, 2), high=(320.0, 2)) / butterworth([80.0], low=(20.0, 2), high=(400.0, 2))
    assert output_of(ChannelFault(name="", low_corner=1.25, high_corner=0.8)) == pytest.approx(40.0 * moved)
    clipped = output_of(ChannelFault(name="", clip=5.0))
    assert clipped == pytest.approx(40.0 * shape * limited_fundamental(5.0 / (10.0 * shape)))
    assert output_of(ChannelFault(name="", clip=5.0), level=0.0) == pytest.approx([0.0] * 5)
    assert SENSOR.nominal_sensitivity == 5.0
