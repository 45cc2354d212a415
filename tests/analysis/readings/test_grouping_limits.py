"""What is the same level, frequency or speed ends at its stated percentage; a limit belongs to its interval."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import BAND, CHANNEL, SENSOR, make_case
from tests.support.readings.crossings import half_power_crossings
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.planning.limits_broken import broken
from vibcal_nb.analysis.readings.flat_part import flat_part_gaps
from vibcal_nb.analysis.readings.grouping import group_close, lies_within, same_frequency, same_speed
from vibcal_nb.analysis.readings.point_limits import in_flat_part, point_limits
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.relative_response import relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.model.band_requirements import Requirement, requirements_of


@pytest.mark.parametrize(("same", "reference", "off"), [(same_frequency, 1024.0, 10.24), (same_speed, 1024.0, 20.48)])
def test_one_percent_is_one_frequency_and_two_percent_one_speed(same, reference, off):
    for sign in (1.0, -1.0):
        assert same(reference + 0.999 * sign * off, reference)
        assert not same(reference + 1.001 * sign * off, reference)


def test_where_nothing_vibrates_is_a_frequency_of_its_own():
    assert same_frequency(0.0, 0.0)
    assert not same_frequency(0.0, 50.0)
    assert not same_frequency(50.0, 0.0)


def test_an_interval_holds_its_ends():
    np.testing.assert_array_equal(
        lies_within([39.9999, 40.0, 120.0, 200.0, 200.001], 40.0, 200.0), [False, True, True, True, False]
    )


def test_groups_reach_from_their_lowest_value():
    """103 is within 3 % of 100, 104 is not and begins a group, to which 107 belongs: 1.03 x 104 = 107.12."""
    values = np.array([107.0, 100.0, 104.0, 103.0, 200.0])
    assert [list(group) for group in group_close(values, within_pct=3.0)] == [[1, 3], [0, 2], [4]]
    assert group_close(np.array([]), within_pct=3.0) == []


def test_the_tightest_limits_of_a_frequency_apply():
    required = (
        Requirement(name="at 40 Hz", key="limits", frequency_hz=40.0, min_pct=96.0, max_pct=110.0),
        Requirement(name="corner", key="corner_low_hz", frequency_hz=20.0, min_pct=63.0, max_pct=79.0),
    )
    assert point_limits(40.0, BAND, required) == (96.0, 105.0)
    assert point_limits(39.61, BAND, required) == (96.0, 110.0)  # within 1 % of the requirement, outside the flat part
    assert point_limits(20.0, BAND, required) == (63.0, 79.0)
    assert point_limits(30.0, BAND, required) == (None, None)
    assert point_limits(200.0, BAND, ()) == (95.0, 105.0)


def test_a_flat_part_without_ends_is_everywhere_and_without_a_limit_nowhere():
    assert in_flat_part(1.0, replace(SENSOR, flat_hz=None))
    assert not in_flat_part(1.0, SENSOR)
    assert not in_flat_part(80.0, replace(SENSOR, flat_pct=None))


def gaps(hz, flat_hz=(40.0, 200.0)):
    case = make_case("band-response", hz, np.full(len(hz), 40.0))
    scaled = scale_readings(case)
    return list(flat_part_gaps(relative_readings(scaled, assess_readings(case, scaled), reference_hz=80.0), flat_hz))


def test_a_flat_part_is_read_at_three_frequencies_to_a_third_octave_of_its_ends():
    """A third octave is a factor 1.25992: from 40 Hz up to 50.397 Hz, from 200 Hz down to 158.74 Hz."""
    assert gaps([50.3, 80.0, 159.0]) == []
    assert gaps([50.5, 80.0, 159.0]) == [
        "the flat part runs from 40 to 200 Hz and the readings only from 50.5 to 159 Hz"
    ]
    assert gaps([50.3, 80.0, 158.0])[0].endswith("only from 50.3 to 158 Hz")
    assert gaps([50.3, 80.0, 80.5, 300.0]) == [
        "readings at 2 frequencies within 40 to 200 Hz, where 3 are needed to call it flat"
    ]
    assert gaps([20.0, 80.0]) == ["readings at 1 frequency within 40 to 200 Hz, where 3 are needed to call it flat"]
    assert gaps([80.0], None) == ["readings at 1 frequency, where 3 are needed to call it flat"]
    assert gaps([79.0, 82.0, 85.0], None) == []


def test_a_corner_read_exactly_at_half_power_is_where_it_was_read():
    hz = np.array([10.0, 20.0, 40.0, 80.0, 160.0, 320.0, 640.0])
    s = np.array([0.3, math.sqrt(0.5), 1.0, 1.0, 1.0, math.sqrt(0.5), 0.3])
    (low, why_low), (high, why_high) = half_power_crossings(hz, s, reference_hz=80.0)
    assert (low, high) == pytest.approx((20.0, 320.0), rel=1e-9)
    assert (why_low, why_high) == (None, None)


def test_a_corner_needs_a_reading_at_the_reference_frequency_and_one_that_falls():
    hz, s = np.array([20.0, 80.0, 320.0]), np.ones(3)
    (low, why), (high, _) = half_power_crossings(hz, s, reference_hz=80.0)
    assert (low, high) == (None, None)
    assert why == "no reading on the low-frequency side falls to half power (70.7 %) of the reference reading"
    (low, why), _ = half_power_crossings(hz, s, reference_hz=100.0)
    assert why == "no reading at the reference frequency 100 Hz to relate the response to"


def runs(test, hz, ratios, *, applied=10.0, channel=CHANNEL):
    """Whether runs of outputs in the given ratios to nominal, shape (t, n), break a limit."""
    ratios = np.atleast_2d(ratios)
    part = channel.sensor if test == "sensor-alone" else channel
    case = make_case(test, hz, part.nominal_sensitivity * applied * ratios[0], applied=applied, channel=channel)
    scaled = scale_readings(case)
    y = part.nominal_sensitivity * scaled.x * ratios
    return list(broken(case, scaled, y, u_y=np.full(len(scaled), 0.1)))


LEVELS = np.array([4.0, 8.0, 12.0, 16.0])


def test_a_run_breaks_the_tolerance_of_its_readings_just_beyond_it():
    on, off = np.full(4, 1.05), np.array([1.0, 1.0, 1.051, 1.0])
    assert runs("linearity", np.full(4, 50.0), [np.ones(4), on, 2.0 - on, off, 2.0 - off], applied=LEVELS) == [
        False, False, False, True, True,
    ]  # fmt: skip


def test_a_run_breaks_the_tolerance_of_its_slope_alone():
    """Outputs 1.05 x at the lowest level and 0.952 x at the highest: the slope is off by more than any reading."""
    ratios = np.array([1.049, 1.0, 0.97, 0.951])
    slope = np.polyfit(LEVELS, LEVELS * ratios, 1)[0]
    assert slope < 0.95
    assert runs("linearity", np.full(4, 50.0), ratios, applied=LEVELS) == [True]
    assert runs("linearity", np.full(2, 50.0), ratios[[0, 3]], applied=LEVELS[[0, 3]]) == [False]  # no line of two


@pytest.mark.parametrize("kind", ["independent", "terminal-based", "zero-based"])
def test_a_run_breaks_the_limit_of_non_linearity_as_the_full_analysis_says(kind):
    ratios = np.array([1.0, 1.02, 1.01, 1.0])
    case = make_case("linearity", np.full(4, 50.0), 4.0 * LEVELS * ratios, applied=LEVELS)
    found = analyse_linearity(case).frequencies[0].line.nonlinearity_pct[kind]
    for share, expected in ((0.99, True), (1.01, False)):
        channel = replace(CHANNEL, nonlinearity_kind=kind, nonlinearity_pct=share * found)
        assert runs("linearity", np.full(4, 50.0), ratios, applied=LEVELS, channel=channel) == [expected]


def test_a_run_breaks_the_limits_of_its_band_just_beyond_them():
    """Flat within 5 % from 40 to 200 Hz, relative to the reading at 80 Hz: a gain error alone breaks nothing."""
    hz = np.array([40.0, 80.0, 200.0, 300.0])
    flat = np.array([1.0, 1.0, 1.0, 0.9])
    low, high = flat.copy(), flat.copy()
    low[0], high[2] = 0.95, 1.05
    assert requirements_of(BAND)
    assert runs("band-response", hz, [flat, 1.2 * flat, low, high, 0.9 * low]) == [False] * 5
    low[0], high[2] = 0.949, 1.051
    assert runs("band-response", hz, [low, high]) == [True, True]


def test_a_run_breaks_the_limits_of_its_sensor_just_beyond_them():
    hz = np.array([10.0, 80.0, 200.0, 2000.0])
    flat = np.ones(4)
    outside, edge, off = flat.copy(), flat.copy(), flat.copy()
    outside[0], edge[3], off[3] = 0.5, 1.05, 1.051  # 10 Hz lies outside the flat part, 2000 Hz is its end
    assert runs("sensor-alone", hz, [flat, outside, edge, off]) == [False, False, False, True]
    assert runs("sensor-alone", hz, [1.05 * flat, 0.95 * flat, 1.051 * flat, 0.949 * flat]) == [
        False, False, True, True,
    ]  # fmt: skip
    tolerant = replace(CHANNEL, sensor=replace(SENSOR, flat_pct=None))
    assert runs("sensor-alone", hz, off, channel=tolerant) == [False]
    everywhere = replace(CHANNEL, sensor=replace(SENSOR, flat_hz=None))
    assert runs("sensor-alone", hz, outside, channel=everywhere) == [True]


def test_without_a_reading_at_the_reference_frequency_a_run_is_held_against_nothing():
    assert runs("band-response", np.array([40.0, 200.0]), np.array([0.5, 1.5])) == [False]
    assert runs("sensor-alone", np.array([40.0, 200.0]), np.array([0.5, 1.5])) == [False]
