"""Levels carried over frequency, by parts and beyond the readings: each number of the answer in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.alarm_reach import TURBINE, band_result, level, line_result, reach
from tests.support.analyses.attribution import module_of, sensor_of
from tests.support.readings.cases import BAND, CHANNEL, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response, response_at
from vibcal_nb.analysis.channel.level_on_line import holds_beyond
from vibcal_nb.analysis.channel.reach_by_parts import level_by_parts
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.analysis.channel.sensitivity_at import SensitivityAt, reading_sensitivities, sensitivity_at
from vibcal_nb.metrology.straight_line.bent_line import fit_bent_line, permitted_half_widths
from vibcal_nb.model.asset import Rotor

PINION = replace(CHANNEL, rotors=(Rotor(name="pinion", speed_hz=160.0),), band=BAND, alert=11.0, trip=18.0)


def test_a_level_beyond_the_readings_is_that_of_the_line_with_the_permitted_bends():
    """1 % of span where the channel states no limit, from zero to where the straight line comes to the output."""
    result = line_result(4.2, levels=[2, 5, 9, 14], scatter=0.002)
    line = result.frequencies[0].line
    found, near = level(result, 72.0), (72.0 - line.intercept) / line.sensitivity
    half_widths = permitted_half_widths("independent", 0.01 * line.sensitivity * near)
    expected, u = fit_bent_line(line.fit, at=near, half_widths=half_widths).level(72.0, near=near)
    assert (found.lowest, found.highest) == (2.0, 14.0)
    assert found.level == pytest.approx(expected, rel=1e-12)
    assert found.own == pytest.approx(u, rel=1e-9)
    assert found.u_bend > found.u_line > 0.0
    wider = replace(result, case=result.case.with_channel(nonlinearity_pct=2.0))
    assert level(wider, 72.0).u_bend > found.u_bend
    assert level(result, 40.0).u_bend == 0.0
    assert found.u_misfit == 0.0


def test_readings_that_do_not_follow_their_line_leave_their_farthest_residual_open():
    """As a rectangle: its half-width over sqrt(3), as a level."""
    result = line_result(4.0, scatter=0.02)
    line = result.frequencies[0].line
    assert line.widened
    expected = np.abs(line.fit.residuals).max() / math.sqrt(3.0) / line.sensitivity
    assert level(result, 72.0).u_misfit == pytest.approx(expected, rel=1e-9)


def test_a_line_without_a_stated_limit_goes_on_where_its_readings_keep_to_1_percent_of_span():
    line = line_result(4.0, scatter=0.02).frequencies[0].line
    farthest = float(np.abs(line.fit.residuals).max())
    for share, on in ((0.99, True), (1.01, False)):
        scaled = replace(line, span=100.0 * farthest / share)
        assert holds_beyond(scaled, None) is on
        assert holds_beyond(scaled, 1.0) is on
        assert holds_beyond(replace(line, span=50.0 * farthest / share), 2.0) is on


@pytest.mark.parametrize("ratio", [0.96, 1.25])
def test_a_line_carried_to_another_speed_is_divided_by_the_response_there(ratio):
    result, band = line_result(4.0, channel=PINION), band_result(ratio)
    found = reach(result, PINION, band=band)["pinion", "trip"]
    there, here = response_at(band, 160.0), response_at(band, 50.0)
    base = level(result, 72.0)
    share = there.response_pct / here.response_pct
    assert share == pytest.approx(ratio, rel=1e-6)
    assert found.true_level == pytest.approx(18.0 / ratio, rel=1e-6)
    assert found.highest_level == pytest.approx(20.0 / ratio, rel=1e-6)
    assert found.reached_pct == pytest.approx(100.0 * 80.0 / 72.0, rel=1e-6)
    u = math.hypot(
        base.common_pct / 100.0,
        base.own / base.level,
        there.expanded.u / there.response_pct,
        here.expanded.u / here.response_pct,
    )
    assert found.expanded.u == pytest.approx(found.true_level * u, rel=1e-6)
    assert (found.status, found.reason, found.extrapolation_adds) == ("inferred", None, 0.0)
    assert found.basis == "linearity at 50 Hz and the band response"


def test_a_line_carried_beyond_its_readings_says_what_that_adds():
    result, band = line_result(4.0, levels=[2, 5, 9, 14], channel=PINION, scatter=0.002), band_result(0.8)
    found, base = reach(result, PINION, band=band)["pinion", "trip"], level(result, 72.0)
    assert found.status == "inferred"
    assert found.extrapolation_adds == pytest.approx(base.bend_adds / 0.8, rel=1e-5)
    short = line_result(4.0, levels=[2, 5, 9], channel=PINION)
    far = reach(short, PINION, band=band)["pinion", "trip"]
    assert (far.status, far.true_level, far.expanded, far.extrapolation_adds) == ("not verified", None, None, None)
    assert far.extrapolated_level == pytest.approx(18.0 / 0.8, rel=1e-6)
    assert far.reason == "the readings at 50 Hz end at 9 mm/s pk, 50 % of it"


def test_the_line_nearest_in_ratio_is_carried():
    """160/50 = 3.2 against 550/160 = 3.4."""
    lines = [line_result(4.0, hz=hz, channel=PINION) for hz in (50.0, 550.0, 500.0)]
    for other, basis in ((1, "linearity at 50 Hz"), (2, "linearity at 500 Hz")):
        both = replace(lines[0], frequencies=(*lines[0].frequencies, *lines[other].frequencies))
        assert reach(both, PINION, band=band_result())["pinion", "trip"].basis.startswith(basis)


def test_a_band_that_passes_nothing_carries_no_line():
    dead = analyse_band_response(
        make_case("band-response", [50.0, 80.0, 100.0, 160.0], [40.0, 40.0, 40.0, 0.0], channel=PINION, decimals=4)
    )
    found = reach(line_result(4.0, channel=PINION), PINION, band=dead)["pinion", "trip"]
    assert (found.status, found.reason) == ("not verified", "the band response there is zero")
    falling = reach(line_result(-4.0, channel=PINION), PINION, band=band_result())["pinion", "trip"]
    assert falling.reason == "at 50 Hz it was driven beyond and did not act"


def test_what_was_indicated_at_most_is_said_in_percent_of_the_set_point():
    """Driven to 18.5 mm/s with 3.4 mV/(mm/s): 62.9 of 72 mV."""
    found = reach(line_result(3.4, levels=[2, 5, 9, 14, 18.5]))["turbine", "trip"]
    assert found.reached_pct == pytest.approx(100.0 * 18.5 * 3.4 / 72.0, rel=1e-6)
    assert found.highest_level == 18.5


def test_an_error_of_reading_in_percent_of_the_true_level():
    """Set at 18, reached at 20: 10 % low; its uncertainty is 18/20^2 of that of the level."""
    line = reach(line_result())["turbine", "trip"]
    point = replace(line, true_level=20.0, expanded=replace(line.expanded, U=0.5))
    assert isinstance(point, ReachPoint)
    assert point.reading_error_pct == pytest.approx(-10.0)
    assert point.reading_error_expanded_pct == pytest.approx(100.0 * 18.0 / 400.0 * 0.5)
    unknown = replace(point, true_level=None, expanded=None)
    assert (unknown.reading_error_pct, unknown.reading_error_expanded_pct) == (None, None)


def test_u_of_a_level_by_parts():
    """Reference and injection are independent and the readout reads both outputs, its gain twice in step."""
    sensor, module = sensor_of(1.04), module_of(0.904)
    found = level_by_parts(sensor, module, speed_hz=50.0, output=72.0)
    (result,) = module.results
    base = level(result, 72.0)
    alone = sensitivity_at(reading_sensitivities(sensor), 50.0)
    shared = math.hypot(
        base.common_pct,
        sensor.uncertainty.u_common_pct(50.0),
        sensor.uncertainty.u_frequency_pct(80.0),
        math.sqrt(2.0) * sensor.uncertainty.u_readout_pct,
    )
    u = found.level * math.hypot(shared / 100.0, base.own / base.level, alone.own)
    assert found.expanded.u == pytest.approx(u, rel=1e-9)
    assert found.highest / found.level == pytest.approx(base.highest / base.level, rel=1e-9)


def at(hz, ratio, own=0.002, nu=math.inf):
    return SensitivityAt(frequency_hz=hz, ratio=ratio, own=own, nu=nu, source="sensor-alone")


def test_a_sensitivity_between_two_readings_is_interpolated_over_the_logarithm_of_frequency():
    """80 Hz lies halfway between 40 and 160 Hz; the difference of the two is the width of a rectangle."""
    found = sensitivity_at((at(40.0, 1.00, own=0.003, nu=5.0), at(160.0, 1.04, own=0.004, nu=9.0)), 80.0)
    assert found.ratio == pytest.approx(1.02)
    assert found.own == pytest.approx(math.hypot(0.004, 0.04 / 1.02 / math.sqrt(12.0)))
    assert found.nu == pytest.approx(found.own**4 / (0.004**4 / 5.0))  # Welch-Satterthwaite
    assert found.source == "sensor-alone, between 40 and 160 Hz"
    quarter = sensitivity_at((at(40.0, 1.00), at(160.0, 1.04)), 40.0 * 4.0**0.25)
    assert quarter.ratio == pytest.approx(1.01)
    three = (at(20.0, 9.0), at(40.0, 1.00), at(160.0, 1.04), at(320.0, 9.0))
    assert sensitivity_at(three, 80.0).ratio == pytest.approx(1.02)


def test_a_sensitivity_read_within_1_percent_is_taken_and_none_beyond_the_readings():
    readings = (at(79.3, 1.0), at(80.2, 1.1), at(80.7, 1.2))
    assert sensitivity_at(readings, 80.0).ratio == 1.1
    assert sensitivity_at(readings, 60.0) is None
    assert sensitivity_at(readings, 90.0) is None
    assert sensitivity_at((), 80.0) is None


def test_a_zero_below_nothing_is_read_with_no_more_than_the_readouts_gain():
    """Zero of -20 mV: an output of 52 mV stands for 72; the gain's part of it is within what is counted already."""
    channel = replace(TURBINE, output_zero=-20.0)
    below, plain = line_result(4.0, channel=channel, zero=-20.0), line_result(4.0)
    assert level(below, 72.0).common_pct == pytest.approx(level(plain, 72.0).common_pct, rel=1e-9)
    assert level(below, 72.0).level == pytest.approx(18.0, rel=1e-9)
