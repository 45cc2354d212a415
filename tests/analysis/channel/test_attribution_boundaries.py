"""Contradictions along the chain are said where they matter, and not before."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.attribution import LEVELS, SENSOR_HZ, band_of, line_at, module_of, sensor_of
from tests.support.readings.cases import CHANNEL, SENSOR, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.channel.attribution import attribute
from vibcal_nb.analysis.channel.sensitivity_at import line_sensitivities, reading_sensitivities
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.model.visit import Contribution

K_1_PERCENT = 2.575829  # standard normal, 0.5 % in each tail, from printed tables


def two_lines(*at_hz):
    hz = np.repeat(at_hz, 5)
    output = 4.0 * np.tile(LEVELS, len(at_hz))
    return analyse_linearity(make_case("linearity", hz, output, applied=np.tile(LEVELS, len(at_hz)), decimals=4))


@pytest.mark.parametrize(("first", "second", "main"), [(50.0, 120.0, 120.0), (50.0, 129.0, 50.0), (70.0, 200.0, 70.0)])
def test_the_line_nearest_to_the_sensors_reference_frequency_is_the_main_one(first, second, main):
    """Nearest as a ratio: 80/50 = 1.6 lies between 120/80 = 1.5 and 129/80 = 1.61."""
    found = attribute(two_lines(first, second), band_of(1.0), sensor_of(1.0))
    assert (found.main.frequency_hz, found.main.test) == (main, "linearity")
    assert [p.frequency_hz for p in found.points] == sorted(p.frequency_hz for p in found.points)


def test_without_a_line_the_band_response_at_the_reference_frequency_is_the_main_one():
    assert attribute(None, band_of(1.0), sensor_of(1.0)).main.frequency_hz == 80.0


def test_uncertainties_of_the_parts_make_up_the_rests():
    """In the ratio of two tests the visit's common part cancels; each was mounted anew: sqrt(2) of mounting's u."""
    sensor, line = sensor_of(1.0), line_at(0.9)
    (whole,) = line_sensitivities(line)
    part = next(s for s in reading_sensitivities(sensor) if s.frequency_hz == 50.0)
    found = attribute(line, None, sensor).main
    mounting = sensor.uncertainty.u_frequency_pct(80.0)
    common = math.hypot(sensor.uncertainty.u_common_pct(50.0), mounting)
    assert found.rest.u == pytest.approx(90.0 * math.hypot(2**0.5 * mounting / 100.0, whole.own, part.own), rel=1e-6)
    assert found.channel.u == pytest.approx(90.0 * math.hypot(common / 100.0, whole.own), rel=1e-6)
    assert found.sensor.u == pytest.approx(100.0 * math.hypot(common / 100.0, part.own), rel=1e-6)


@pytest.mark.parametrize("gain", [1.009, 0.991])
def test_tests_of_the_channel_may_differ_by_one_percent(gain):
    assert attribute(line_at(1.0), band_of(gain), sensor_of(1.0)).contradictions == ()


def test_tests_of_the_channel_may_differ_by_what_their_own_uncertainty_explains():
    u = sensor_of(1.0).uncertainty.u_frequency_pct(80.0)
    (line,), readings = line_sensitivities(line_at(1.0)), reading_sensitivities(band_of(1.0))
    reading = next(r for r in readings if r.frequency_hz == 50.0)
    bound = K_1_PERCENT * 100.0 * math.hypot(line.own, reading.own, 2**0.5 * u / 100.0)
    assert bound > 1.0
    for share, said in ((0.97, 0), (1.03, 1)):
        found = attribute(line_at(1.0), band_of(1.0 - share * bound / 100.0), sensor_of(1.0))
        assert len(found.contradictions) == said


def test_a_sensor_within_its_tolerance_makes_up_for_nothing():
    """Off by more than the tolerance of 5 % in a channel within its own: said; on either side of both limits not."""
    said = [attribute(line_at(c), None, sensor_of(s)).contradictions for s, c in
            ((0.951, 1.0), (0.949, 1.0), (1.051, 1.0), (0.9, 0.951), (0.9, 0.949), (1.1, 1.051))]  # fmt: skip
    assert [len(texts) for texts in said] == [0, 1, 1, 1, 0, 0]


def test_a_rest_may_rise_by_the_flatness_that_the_sensor_is_allowed():
    for rise, said in ((1.049, False), (1.052, True)):
        gain = np.where(SENSOR_HZ == 200.0, rise, 1.0)
        found = attribute(None, band_of(gain), sensor_of(1.0)).contradictions
        assert any("which no band filter does" in text for text in found) == said
    falling = attribute(None, band_of(np.where(SENSOR_HZ >= 200.0, 0.5, 1.0)), sensor_of(1.0))
    assert falling.contradictions == ()


def test_sensor_and_module_may_leave_what_their_uncertainty_explains():
    module, line = module_of(1.0), attribute(line_at(1.0), None, sensor_of(1.0)).main
    u = math.hypot(line.rest.u, module.frequencies[0].line.deviation_expanded.u)
    bound = max(K_1_PERCENT * u, 1.0)
    for share, said in ((0.95, 0), (1.05, 1)):
        found = attribute(line_at(1.0 - share * bound / 100.0), None, sensor_of(1.0), module)
        assert len(found.contradictions) == said
    elsewhere = attribute(line_at(0.9), None, sensor_of(1.0), module_of(1.0, hz=149.0))
    assert elsewhere.contradictions == ()


def test_lines_and_readings_that_do_not_rise_are_no_sensitivities():
    assert line_sensitivities(line_at(-1.0)) == ()
    gains = np.where(SENSOR_HZ == 20.0, 0.0, np.where(SENSOR_HZ == 30.0, -0.5, 0.5))
    assert [s.frequency_hz for s in reading_sensitivities(sensor_of(gains))] == [50.0, 80.0, 100.0, 200.0, 400.0]
    assert [s.ratio for s in reading_sensitivities(sensor_of(gains))] == pytest.approx([0.5] * 5)


def test_repeats_at_one_frequency_are_averaged_with_their_uncertainty():
    """Mean of two; u of a mean of two equally uncertain readings is 1/sqrt(2) of one."""
    case = make_case("sensor-alone", [80.0, 80.4, 160.0], [49.0, 51.0, 50.0], decimals=4)
    same, other = reading_sensitivities(analyse_sensor_alone(case))
    assert (same.frequency_hz, same.ratio) == pytest.approx((80.2, 1.0))
    assert same.own == pytest.approx(other.own / math.sqrt(2.0), rel=1e-3)
    assert replace(SENSOR, reference_hz=80.0) == SENSOR


def test_a_sensor_exactly_on_its_tolerance_makes_up_for_nothing():
    """5.3125 pC of 5 pC is 6.25 % high, and every number of it is exact in binary."""
    exact = replace(CHANNEL, sensor=replace(SENSOR, tolerance_pct=6.25))
    output = np.full(SENSOR_HZ.size, 53.125)
    on, beyond = (
        analyse_sensor_alone(make_case("sensor-alone", SENSOR_HZ, y, channel=exact, decimals=4))
        for y in (output, output * 1.001)
    )
    assert attribute(line_at(1.0), None, on).main.sensor_pct == 6.25
    assert [len(attribute(line_at(1.0), None, sensor).contradictions) for sensor in (on, beyond)] == [0, 1]


@pytest.mark.parametrize("gain", [1.0, 1.3])
def test_the_least_disagreement_that_is_said_is_1_percent(gain):
    """Where the readings are sure: repeated ten times at each frequency and level, certificates as they are."""
    levels, hz = np.tile(LEVELS, 10), np.repeat(SENSOR_HZ, 10)
    line = analyse_linearity(make_case("linearity", np.full(50, 50.0), 4.0 * gain * levels, applied=levels, decimals=6))
    for off, said in ((0.991, 0), (0.985, 1), (1.009, 0), (1.015, 1)):
        band = analyse_band_response(make_case("band-response", hz, 40.0 * gain * off * np.ones(70), decimals=6))
        texts = attribute(line, band, sensor_of(gain)).contradictions
        assert sum("reads" in text for text in texts) == said


@pytest.mark.parametrize(("flat_pct", "limit"), [(8.0, 8.0), (3.0, 3.0), (None, 5.0)])
def test_a_rest_may_rise_by_the_sensors_flatness_or_without_one_by_its_tolerance(flat_pct, limit):
    channel = replace(CHANNEL, sensor=replace(SENSOR, flat_pct=flat_pct))
    sensor = analyse_sensor_alone(
        make_case("sensor-alone", SENSOR_HZ, np.full(SENSOR_HZ.size, 50.0), channel=channel, decimals=4)
    )
    for off, said in ((-0.1, False), (0.1, True)):
        gain = np.where(SENSOR_HZ == 200.0, 1.0 + (limit + off) / 100.0, 1.0)
        found = attribute(None, band_of(gain), sensor).contradictions
        assert any("which no band filter does" in text for text in found) == said


def test_a_readings_own_uncertainty_is_a_share_of_its_sensitivity():
    """Settling of 0.2 % and cable strain of 0.1 % as a rectangle; a mean of two has 1/sqrt(2) of it."""
    own = math.hypot(0.2, 0.1 / math.sqrt(3.0)) / 100.0
    case = make_case("sensor-alone", [80.0, 80.4, 160.0], [49.0, 51.0, 40.0])
    same, other = reading_sensitivities(analyse_sensor_alone(case))
    assert (same.own, other.own) == pytest.approx((own / math.sqrt(2.0), own), rel=1e-3)
    assert (other.ratio, other.source, other.nu) == (pytest.approx(0.8), "sensor-alone", math.inf)


def test_mounting_anew_counts_twice_between_the_channels_tests():
    """Mounting of 2 % in each: sqrt(2) of it between line and band response, and what else each has of its own."""
    mounted = Contribution(name="mounting", value_pct=2.0, distribution="normal", kind="common")

    def visited(case):
        return replace(case, visit=replace(case.visit, contributions=(mounted,)))

    line = analyse_linearity(
        visited(make_case("linearity", np.full(5, 50.0), 4.0 * LEVELS, applied=LEVELS, decimals=4))
    )
    sensor = analyse_sensor_alone(
        visited(make_case("sensor-alone", SENSOR_HZ, np.full(SENSOR_HZ.size, 50.0), decimals=4))
    )
    u = sensor.uncertainty.u_frequency_pct(80.0)
    assert u == pytest.approx(math.sqrt(4.0 + (0.3**2 + 0.1**2) / 3.0))
    (own,) = line_sensitivities(line)
    for share, said in ((0.98, False), (1.02, True)):
        gain = 1.0
        for _ in range(20):  # the reading's own uncertainty is a share of itself
            band = analyse_band_response(
                visited(make_case("band-response", SENSOR_HZ, np.full(SENSOR_HZ.size, 40.0 * gain), decimals=6))
            )
            reading = next(r for r in reading_sensitivities(band) if r.frequency_hz == 50.0)
            gain = 1.0 + share * K_1_PERCENT * math.hypot(own.own, reading.own, 2**0.5 * u / 100.0)
        texts = attribute(line, band, sensor).contradictions
        assert any("reads" in text for text in texts) is said
