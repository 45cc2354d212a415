"""As found against as left in closed form: each change in % of what was found, with the uncertainty of their ratio."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.attribution import line_at, sensor_of
from tests.support.readings.cases import butterworth, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.channel.as_found_as_left import compare_conditions
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.sensitivity_at import line_sensitivities, reading_sensitivities

BAND_HZ = np.array([8.0, 12.0, 16.0, 20.0, 25.0, 40.0, 80.0, 160.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0])


def band_with(corner_hz):
    response = butterworth(BAND_HZ, low=(20.0, 2), high=(corner_hz, 2))
    return analyse_band_response(make_case("band-response", BAND_HZ, 40.0 * response, decimals=6))


def compared(name, found, left):
    (change,) = compare_conditions(ChannelTests(**{name: found}), ChannelTests(**{name: left}))
    return change


def test_a_line_found_10_percent_low_and_left_1_percent_low_rose_by_10_percent():
    """0.99/0.9 = 1.1; each was mounted anew, so that what a frequency shares counts twice: sqrt(2) of it."""
    found, left = line_at(0.9), line_at(0.99)
    change = compared("linearity", found, left)
    assert (change.quantity, change.unit, change.tolerance_pct) == ("sensitivity at 50 Hz", "%", 5.0)
    assert (change.as_found, change.as_left, change.change_pct) == pytest.approx((-10.0, -1.0, 10.0), abs=1e-6)
    (before,), (after,) = line_sensitivities(found), line_sensitivities(left)
    u = 110.0 * math.hypot(2**0.5 * found.uncertainty.u_frequency_pct(80.0) / 100.0, before.own, after.own)
    assert change.expanded.u == pytest.approx(u, rel=1e-6)
    assert pytest.approx(1.959964 * u, rel=1e-6) == change.expanded.U  # infinitely many degrees of freedom


def test_a_sensor_is_compared_at_its_reference_frequency():
    found, left = sensor_of(1.04), sensor_of(0.988)
    change = compared("sensor", found, left)
    assert change.quantity == "sensor alone at 80 Hz"
    assert (change.as_found, change.as_left, change.change_pct) == pytest.approx((4.0, -1.2, -5.0), abs=1e-9)
    own = next(s.own for s in reading_sensitivities(found) if s.frequency_hz == 80.0)
    u = 95.0 * math.sqrt(2.0) * math.hypot(found.uncertainty.u_frequency_pct(80.0) / 100.0, own)
    assert change.expanded.u == pytest.approx(u, rel=1e-4)


def test_corners_are_compared_in_percent_of_that_found():
    found, left = band_with(400.0), band_with(440.0)
    low, high = compare_conditions(ChannelTests(band=found), ChannelTests(band=left))
    assert [(c.quantity, c.unit, c.tolerance_pct) for c in (low, high)] == [
        ("lower corner", "Hz", None),
        ("upper corner", "Hz", None),
    ]
    assert (high.as_found, high.as_left, high.change_pct) == pytest.approx((400.0, 440.0, 10.0), rel=1e-4)
    assert low.change_pct == pytest.approx(0.0, abs=1e-3)
    u = 110.0 * math.hypot(found.fit.high.expanded.u, left.fit.high.expanded.u)
    assert high.expanded.u == pytest.approx(u, rel=1e-4)


def test_what_was_not_determined_in_both_conditions_is_not_compared():
    assert compare_conditions(ChannelTests(linearity=line_at(1.0)), ChannelTests(sensor=sensor_of(1.0))) == ()
    assert (
        compare_conditions(ChannelTests(linearity=line_at(1.0)), ChannelTests(linearity=line_at(1.0, hz=149.0))) == ()
    )
    flat = analyse_band_response(make_case("band-response", BAND_HZ, np.full(BAND_HZ.size, 40.0), decimals=6))
    assert compare_conditions(ChannelTests(band=band_with(400.0)), ChannelTests(band=flat)) == ()


def test_a_change_is_significant_beyond_its_expanded_uncertainty():
    change = compared("linearity", line_at(0.9), line_at(0.99))
    for value, significant in ((2.0, False), (-2.0, False), (2.001, True), (-2.001, True)):
        moved = replace(change, change_pct=value, expanded=replace(change.expanded, U=2.0))
        assert moved.significant is significant
