"""Along the chain: the deviation attributed to sensor and rest, and tests that contradict each other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.attribution import MODULE, SENSOR_HZ, WITH_MODULE, band_of, line_at, module_of, sensor_of
from tests.support.readings.cases import SENSOR
from vibcal_nb.analysis.channel.attribution import attribute
from vibcal_nb.analysis.channel.module_alone import nominal_at
from vibcal_nb.analysis.channel.reach_by_parts import level_by_parts


def test_a_sensor_4_percent_high_and_a_module_9_6_percent_low_make_a_channel_6_percent_low():
    """1.04 x 0.904 = 0.94016: arithmetic, no source."""
    found = attribute(line_at(1.04 * 0.904), None, sensor_of(1.04)).main
    assert found.channel_pct == pytest.approx(-5.984, abs=1e-6)
    assert found.sensor_pct == pytest.approx(4.0, abs=1e-6)
    assert found.rest_pct == pytest.approx(-9.6, abs=1e-6)


def test_the_common_reference_cancels_in_the_rest_and_not_in_the_sensor():
    plain = attribute(line_at(0.9), None, sensor_of(1.0)).main
    shifted = attribute(line_at(0.9, common=1.01), None, sensor_of(1.0, common=1.01)).main
    assert shifted.rest_pct == pytest.approx(plain.rest_pct, abs=1e-6)
    assert shifted.sensor_pct == pytest.approx(plain.sensor_pct + 1.0, abs=1e-6)
    assert plain.rest.U < plain.sensor.U


def test_every_frequency_where_both_were_read_is_attributed():
    found = attribute(line_at(1.0), band_of(1.0), sensor_of(1.0))
    assert {point.frequency_hz for point in found.points} == set(SENSOR_HZ)
    assert found.main.test == "linearity"
    assert found.contradictions == ()


def test_the_sensor_is_interpolated_between_its_readings_and_never_beyond():
    gain = np.where(SENSOR_HZ == 200.0, 1.02, 1.0)
    inside = attribute(line_at(1.0, hz=150.0), None, sensor_of(gain)).main
    assert 1.0 < inside.sensor_pct < 2.0
    assert inside.sensor.U > attribute(line_at(1.0, hz=100.0), None, sensor_of(gain)).main.sensor.U
    assert attribute(line_at(1.0, hz=600.0), None, sensor_of(gain)) is None


def test_a_sensor_off_in_a_channel_that_is_right_is_said():
    (text,) = attribute(line_at(1.0), None, sensor_of(0.8)).contradictions
    assert "-20.0 % off" in text
    assert "make up for it" in text


def test_two_tests_of_the_channel_that_disagree_are_said():
    (text,) = attribute(line_at(1.0), band_of(1.04), sensor_of(1.0)).contradictions
    assert "at 50 Hz the band response reads +4.0 % from the linearity test" in text


def test_a_rest_that_rises_over_frequency_is_said():
    """A module set to acceleration shows a response proportional to frequency (common practice, no source)."""
    found = attribute(None, band_of(SENSOR_HZ / 80.0), sensor_of(1.0))
    assert any("which no band filter does" in text for text in found.contradictions)


def test_sensor_and_module_that_do_not_make_the_channel_are_said():
    closed = attribute(line_at(1.04 * 0.95), None, sensor_of(1.04), module_of(0.95))
    assert closed.contradictions == ()
    open_chain = attribute(line_at(1.04 * 0.95 * 0.9), None, sensor_of(1.04), module_of(0.95))
    assert any("leave -10.0 % unexplained" in text for text in open_chain.contradictions)


def test_an_integrating_modules_nominal_sensitivity_falls_with_frequency():
    """v = a / (2 pi f) of a sine: a charge of one acceleration is half the velocity at twice the frequency."""
    assert nominal_at(WITH_MODULE, 160.0) == pytest.approx(nominal_at(WITH_MODULE, 80.0) / 2.0, rel=1e-12)
    flat = replace(WITH_MODULE, module=replace(MODULE, reference_hz=None))
    assert nominal_at(flat, 160.0) == nominal_at(flat, 80.0)


def test_module_alone_is_judged_against_its_own_tolerance_at_each_frequency():
    assert [item.line.deviation_pct for item in module_of(0.97, hz=149.0).frequencies] == [
        pytest.approx(-3.0, abs=1e-3)
    ]
    assert (module_of(0.97).verdict, module_of(0.9).verdict) == ("pass", "fail")
    names = {line.name for line in module_of(1.0).results[0].uncertainty.at_frequency(80.0)}
    assert not names & {"mounting", "transverse motion", "distortion"}


def test_sensor_times_module_gives_the_level():
    found = level_by_parts(sensor_of(1.04), module_of(0.904), speed_hz=50.0, output=72.0)
    assert found.level == pytest.approx(18.0 / (1.04 * 0.904), rel=1e-6)
    assert found.highest == pytest.approx(25.0 / 1.04, rel=1e-6)
    assert level_by_parts(sensor_of(1.0), module_of(1.0), speed_hz=149.0, output=72.0) is None
    assert SENSOR.nominal_sensitivity == 5.0
