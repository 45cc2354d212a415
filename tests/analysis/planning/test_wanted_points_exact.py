"""Exactly which points the tests of a channel want, worked out by hand from the series of ISO 266."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.readings.cases import BAND, CHANNEL, SENSOR
from vibcal_nb.analysis.planning.wanted_points import top_level, want_band, want_linearity, want_sensor
from vibcal_nb.model.asset import ResponseLimit
from vibcal_nb.units import parse_unit

SET = replace(CHANNEL, alert=11.0, trip=18.0)


def levels(*, top, alert=11.0):
    wanted = want_linearity(replace(SET, alert=alert), frequency_hz=50.0, top=top)
    return [point.level for point in wanted]


def test_levels_are_a_tenth_a_quarter_a_half_and_three_quarters_of_the_top():
    assert levels(top=20.0) == [2.0, 5.0, 10.0, 11.0, 15.0, 18.0, 20.0]
    assert levels(top=10.0) == [1.0, 2.5, 5.0, 7.5, 10.0]  # both set points lie above


def test_a_level_within_8_percent_of_a_required_one_adds_nothing():
    """10 lies 7.4 % below 10.8 and 8.3 % below 10.9, 7.5 % above 9.3 and 8.7 % above 9.2."""
    assert levels(top=20.0, alert=10.8) == [2.0, 5.0, 10.8, 15.0, 18.0, 20.0]
    assert levels(top=20.0, alert=10.9) == [2.0, 5.0, 10.0, 10.9, 15.0, 18.0, 20.0]
    assert levels(top=20.0, alert=9.2) == [2.0, 5.0, 9.2, 10.0, 15.0, 18.0, 20.0]
    assert levels(top=20.0, alert=9.3) == [2.0, 5.0, 9.3, 15.0, 18.0, 20.0]


def test_the_top_lies_a_tenth_above_the_trip_and_within_full_scale():
    assert top_level(SET) == pytest.approx(19.8)
    assert top_level(replace(SET, trip=None)) == pytest.approx(12.1)
    assert top_level(replace(SET, full_scale=19.0)) == 19.0
    assert top_level(replace(SET, full_scale=25.0)) == pytest.approx(19.8)


def frequencies(channel=CHANNEL, band=BAND):
    """Those of the band, ascending; the reference frequency comes first and once more last."""
    first, *between, last = [point.frequency_hz for point in want_band(channel, band)]
    assert first == last == band.reference_hz
    return sorted([first, *between])


def test_frequencies_of_a_band():
    """R5 from half the lower corner to 1.6 times the upper, R10 within an octave of each corner, and what limits hang
    on: 20, 40, 50, 80, 149, 200, 400 Hz. 160 Hz lies 7.4 % above 149 Hz and adds nothing."""
    assert frequencies() == [
        10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 149.0, 200.0, 250.0, 315.0, 400.0, 500.0,
        630.0,
    ]  # fmt: skip


def test_a_band_without_corners_runs_over_what_limits_hang_on():
    flat = replace(BAND, corner_low_hz=None, corner_high_hz=None)
    assert frequencies(band=flat) == [40.0, 50.0, 63.0, 80.0, 100.0, 149.0, 200.0]
    limited = replace(flat, limits=(ResponseLimit(frequency_hz=30.0, min_pct=90.0, max_pct=110.0),))
    assert frequencies(band=limited)[0] == 30.0
    slow = replace(
        CHANNEL, rotors=(replace(CHANNEL.rotors[0], speed_hz=5.0), replace(CHANNEL.rotors[1], speed_hz=900.0))
    )
    assert (frequencies(slow)[0], frequencies(slow)[-1]) == (5.0, 900.0)


@pytest.mark.parametrize(
    ("changes", "level"),
    [
        ({"alert": 11.0, "trip": 18.0, "full_scale": 25.0}, 5.5),
        ({"trip": 18.0, "full_scale": 25.0}, 9.0),
        ({"full_scale": 25.0}, 12.5),
        ({}, 0.5),
    ],
    ids=str,
)
def test_a_band_is_read_at_half_the_alert(changes, level):
    channel = replace(CHANNEL, **({"alert": None, "trip": None, "full_scale": None} | changes))
    assert {point.level for point in want_band(channel, BAND)} == {level}


def test_frequencies_of_a_sensor_at_10_m_s2():
    """R5 between 20 and 2000 Hz; the ends and the reference frequency of 80 Hz are required."""
    wanted = want_sensor(SENSOR)
    assert [p.frequency_hz for p in wanted] == [
        80.0, 20.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0, 2000.0, 80.0,
    ]  # fmt: skip
    assert {p.level for p in wanted} == {10.0}
    assert {p.frequency_hz for p in wanted if p.required} == {20.0, 80.0, 2000.0}
    g = want_sensor(replace(SENSOR, input_unit=parse_unit("g rms")))[0].level
    assert g == pytest.approx(10.0 / 9.80665 / 2**0.5)
