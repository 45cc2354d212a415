"""The unit that levels, outputs and samples are counted in changes no result: every number a thousandth as large."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.attribution import MODULE
from tests.support.readings.cases import BAND, CHANNEL, REFERENCE, butterworth, make_case
from tests.support.readings.waveform_reading import FS, signals
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.as_found_as_left import compare_conditions
from vibcal_nb.analysis.channel.attribution import attribute
from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.analysis.planning.limits_broken import broken
from vibcal_nb.analysis.readings.judged_point import conformity_of_all
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.readings.waveform_reading import read_waveform
from vibcal_nb.metrology.sine.distortion import assess_distortion
from vibcal_nb.metrology.straight_line.nonlinearity import NONLINEARITY_KINDS
from vibcal_nb.units import parse_unit

SMALL = 1e-3
LEVELS = np.array([2.0, 5.0, 10.0, 14.0, 18.0, 20.0, 14.0, 10.0, 5.0, 2.0])
WAYS = ["rising"] * 6 + ["falling"] * 4
ERRORS = 1.0 + 0.004 * np.array([1.0, -1.0, 0.5, -0.5, -1.0, 0.5, 1.0, -0.5, 0.5, 1.0])
BAND_HZ = np.array([8.0, 12.0, 16.0, 20.0, 25.0, 40.0, 50.0, 80.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0])
SENSOR_HZ = np.array([20.0, 40.0, 50.0, 80.0, 149.0, 200.0, 500.0, 1000.0, 2000.0])
LARGE_CHANNEL = replace(
    CHANNEL, alert=11.0, trip=25.0, full_scale=30.0, nonlinearity_pct=2.0, module=MODULE, output_zero=20.0
)
SMALL_CHANNEL = replace(  # mV/(mm/s) are V/(m/s), mV/pC are V/nC, and pC/(m/s2) are 1000 nC/(m/s2)
    LARGE_CHANNEL,
    input_unit=parse_unit("m/s pk"),
    output_unit=parse_unit("V pk"),
    alert=0.011,
    trip=0.025,
    full_scale=0.030,
    output_zero=0.020,
    sensor=replace(CHANNEL.sensor, output_unit=parse_unit("nC pk"), nominal_sensitivity=0.005),
    module=replace(MODULE, input_unit=parse_unit("nC pk"), output_unit=parse_unit("V pk")),
)


def cases_of(channel, scale, *, gain=0.98):
    decimals = 3 if scale == 1.0 else 6
    line = make_case(
        "linearity",
        np.full(10, 50.0),
        scale * (4.0 * gain * LEVELS * ERRORS - 0.01 * LEVELS**2 + 20.3),
        applied=scale * LEVELS,
        channel=channel,
        decimals=decimals,
    )
    readings = tuple(replace(r, direction=way) for r, way in zip(line.readings, WAYS, strict=True))
    response = butterworth(BAND_HZ, low=(20.0, 2), high=(400.0, 2))
    band = make_case(
        "band-response",
        BAND_HZ,
        scale * (40.0 * gain * response + 20.0),
        applied=scale * 10.0,
        channel=channel,
        decimals=decimals,
    )
    sensor = make_case(
        "sensor-alone",
        SENSOR_HZ,
        scale * 50.0 * 1.02 / (1.0 - (SENSOR_HZ / 12e3) ** 2),
        applied=10.0,
        channel=channel,
        decimals=decimals,
    )
    sensor = replace(sensor, readings=tuple(replace(r, applied_decimals=3) for r in sensor.readings))
    charge = 5.0 * 2.0 * np.pi * 50.0 / 1000.0 * np.array([2.0, 8.0, 16.0, 40.0])
    module = make_case(
        "module-alone",
        np.full(4, 50.0),
        scale * (0.97 * 4.0 * np.array([2.0, 8.0, 16.0, 40.0]) + 20.0),
        applied=scale * charge,
        channel=channel,
        decimals=decimals,
    )
    return {
        "linearity": replace(line, readings=readings),
        "band-response": band,
        "sensor-alone": sensor,
        "module-alone": module,
    }


@pytest.fixture
def both():
    found = []
    for channel, scale in ((LARGE_CHANNEL, 1.0), (SMALL_CHANNEL, SMALL)):
        cases = cases_of(channel, scale)
        found.append((channel, cases, analyse_tests(channel, cases)))
    return found


def same(values, others, *, rel=1e-6, scale=1.0):
    assert len(values) == len(others)
    for value, other in zip(values, others, strict=True):
        assert (value is None) == (other is None)
        if value is not None:
            assert other == pytest.approx(scale * value, rel=rel, abs=scale * 1e-9)


def pair(both, name):
    return [getattr(tests, name) for _, _, tests in both]


def test_linearity(both):
    large, small = (result.frequencies[0] for result in pair(both, "linearity"))
    a, b = large.line, small.line
    shares = ("deviation_pct", "intercept_p_value", "hysteresis_pct", "repeatability_pct", "nu")
    same([getattr(a, name) for name in shares], [getattr(b, name) for name in shares])
    same([a.nonlinearity_pct[k] for k in NONLINEARITY_KINDS], [b.nonlinearity_pct[k] for k in NONLINEARITY_KINDS])
    same(
        [a.deviation_expanded.U, a.nonlinearity_expanded.U, a.bow.bow_pct, a.bow.p_value, a.chi_squared.chi_squared],
        [b.deviation_expanded.U, b.nonlinearity_expanded.U, b.bow.bow_pct, b.bow.p_value, b.chi_squared.chi_squared],
    )
    same([a.intercept, a.u_intercept, a.span], [b.intercept, b.u_intercept, b.span], scale=SMALL)
    assert (a.widened, a.bends, a.intercept_significant) == (b.widened, b.bends, b.intercept_significant)
    for one, other in zip(large.points, small.points, strict=True):
        same([one.value_pct, one.expanded.U, one.common_u_pct], [other.value_pct, other.expanded.U, other.common_u_pct])
        assert one.verdict == other.verdict
    one, other = conformity_of_all(large.points), conformity_of_all(small.points)
    same([one.joint, one.lower_bound, one.independent], [other.joint, other.lower_bound, other.independent])
    assert large.levels == small.levels == 6


def test_band_response(both):
    a, b = pair(both, "band")
    for side in ("low", "high"):
        ours, theirs = a.corners[side], b.corners[side]
        same([ours.hz, ours.interpolated_hz], [theirs.hz, theirs.interpolated_hz])
    same([*a.fit.low.interval_hz, a.fit.plateau], [*b.fit.low.interval_hz, b.fit.plateau], rel=1e-5)
    assert (a.fit.low.order, a.fit.high.order, a.verdict) == (b.fit.low.order, b.fit.high.order, b.verdict)
    same([p.expanded.U for p in a.points], [p.expanded.U for p in b.points], rel=1e-5)
    same([r.response.response_pct for r in a.rotors], [r.response.response_pct for r in b.rotors])
    same([r.response.expanded.U for r in a.rotors], [r.response.expanded.U for r in b.rotors], rel=1e-4)


def test_sensor_alone(both):
    a, b = pair(both, "sensor")
    same([a.reference.deviation_pct, a.worst_point.value_pct], [b.reference.deviation_pct, b.worst_point.value_pct])
    assert a.fit.terms == b.fit.terms == ("rise",)
    same(
        [a.fit.physics.resonance.value, *a.fit.physics.resonance.interval, a.fit.fitness.chi_squared],
        [b.fit.physics.resonance.value, *b.fit.physics.resonance.interval, b.fit.fitness.chi_squared],
        rel=1e-4,
    )
    same(
        [a.reference.sensitivity, a.reference.expanded.U],
        [b.reference.sensitivity, b.reference.expanded.U],
        scale=SMALL,
        rel=1e-5,
    )
    same([p.value_pct for p in a.points], [p.value_pct for p in b.points])


def test_reach(both):
    far = 1.3  # a slight bend goes on, so that a trip farther out is what is not verified
    large, small = (assess_reach(replace(channel, trip=far * channel.trip), tests) for channel, _, tests in both)
    assert [p.status for p in large] == [p.status for p in small]
    assert {p.status for p in large} == {"demonstrated", "inferred", "not verified"}
    for a, b in zip(large, small, strict=True):
        same(
            [a.true_level, a.highest_level, a.extrapolated_level],
            [b.true_level, b.highest_level, b.extrapolated_level],
            scale=SMALL,
        )
        same(
            [a.reached_pct, a.reading_error_pct, a.reading_error_expanded_pct],
            [b.reached_pct, b.reading_error_pct, b.reading_error_expanded_pct],
            rel=1e-5,
        )


def test_attribution_and_changes(both):
    large, small = (attribute(t.linearity, t.band, t.sensor, t.module) for _, _, t in both)
    assert [p.frequency_hz for p in large.points] == [p.frequency_hz for p in small.points]
    for a, b in zip(large.points, small.points, strict=True):
        same(
            [a.channel_pct, a.sensor_pct, a.rest_pct, a.channel.U, a.sensor.U, a.rest.U],
            [b.channel_pct, b.sensor_pct, b.rest_pct, b.channel.U, b.sensor.U, b.rest.U],
            rel=1e-5,
        )
    changes = []
    for (channel, _, tests), scale in zip(both, (1.0, SMALL), strict=True):
        changes.append(compare_conditions(tests, analyse_tests(channel, cases_of(channel, scale, gain=1.02))))
    assert [c.quantity for c in changes[0]] == [c.quantity for c in changes[1]]
    for a, b in zip(*changes, strict=True):
        same([a.change_pct, a.expanded.U], [b.change_pct, b.expanded.U], rel=1e-4)


def test_explanations(both):
    large, small = (explain_channel(tuple(cases.values())) for _, cases, _ in both)
    for item in large.explanations:
        assert small.of(item.name).weight == pytest.approx(item.weight, rel=1e-3, abs=1e-6)
        assert small.of(item.name).support == pytest.approx(item.support, rel=1e-3, abs=1e-3)


def test_runs_against_limits(both):
    runs = np.array([1.0, 1.03, 0.9, 1.2])[:, None]
    for name in ("linearity", "band-response", "sensor-alone"):
        found = []
        for _, cases, tests in both:
            scaled = scale_readings(cases[name])
            result = {"linearity": tests.linearity, "band-response": tests.band, "sensor-alone": tests.sensor}[name]
            found.append(list(broken(cases[name], scaled, runs * scaled.y, u_y=result.uncertainty.u_y)))
        assert found[0] == found[1]


@pytest.mark.parametrize("scale", [1e-6, 1e6])
def test_waveforms(scale):
    """A signal of microvolts is a sine as much as one of megavolts."""
    x, y = signals(np.random.default_rng(1), seconds=2.0)
    large, small = read_waveform(x, y, sampling_hz=FS), read_waveform(scale * x, scale * y, sampling_hz=FS)
    same(
        [large.frequency_hz, large.u_pct, large.u_noise_pct, large.phase_deg],
        [small.frequency_hz, small.u_pct, small.u_noise_pct, small.phase_deg],
        rel=1e-5,
    )
    same([large.applied, large.read], [small.applied, small.read], scale=scale)
    assert (large.settled_blocks, large.findings) == (small.settled_blocks, small.findings)
    t = np.arange(4000) / FS
    wave = np.clip(np.cos(2.0 * np.pi * 80.0 * t), -0.97, 1.0) + 0.01 * np.cos(2.0 * np.pi * 50.0 * t)
    large, small = (assess_distortion(s * wave, sampling_hz=FS, frequency_hz=80.0) for s in (1.0, scale))
    same(
        [large.thd_f, large.thd_r, large.top_curvature, large.bottom_curvature, large.pick_up[0].relative],
        [small.thd_f, small.thd_r, small.top_curvature, small.bottom_curvature, small.pick_up[0].relative],
    )
    assert large.flattened == small.flattened == ("bottom",)
    assert math.isclose(small.noise, scale * large.noise, rel_tol=1e-3)


def test_frequencies():
    """A machine that turns at a hundredth of the speed, with everything at a hundredth of the frequency."""
    slow = replace(
        CHANNEL,
        rotors=(),
        sensor=None,
        band=replace(BAND, reference_hz=0.8, flat_hz=(0.4, 2.0), corner_low_hz=0.2, corner_high_hz=4.0),
    )
    output = 40.0 * butterworth(BAND_HZ, low=(20.0, 2), high=(400.0, 2))
    wide = replace(REFERENCE, uncertainty=tuple(replace(band, from_hz=0.01) for band in REFERENCE.uncertainty))
    found = []
    for channel, hz in ((replace(CHANNEL, rotors=(), sensor=None), BAND_HZ), (slow, BAND_HZ / 100.0)):
        case = replace(make_case("band-response", hz, output, channel=channel, decimals=4), references=(wide,))
        found.append(analyse_tests(channel, {"band-response": case}).band)
    fast, slow_one = (result.corners for result in found)
    for side in ("low", "high"):
        assert slow_one[side].hz == pytest.approx(fast[side].hz / 100.0, rel=1e-6)
        assert slow_one[side].interpolated_hz == pytest.approx(fast[side].interpolated_hz / 100.0, rel=1e-6)
        assert slow_one[side].order == fast[side].order
    assert [p.verdict for p in found[0].points] == [p.verdict for p in found[1].points]
