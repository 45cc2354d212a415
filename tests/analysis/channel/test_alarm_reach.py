"""Alarm reach: simulated channels with known truth, GTC's uncertain numbers, and what may be called demonstrated."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from GTC import type_b, ureal
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from tests.support.analyses.alarm_reach import LEVELS, TURBINE, TWO, band_result, level, line_result, reach
from tests.support.readings.cases import make_case
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.channel.level_on_line import level_on_line
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.display.channel.channel_statements import headline, next_steps
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import parse_unit


def test_a_channel_6_percent_low_alarms_6_4_percent_high():
    """1/0.94 = 1.0638: arithmetic, no source."""
    points = reach(line_result(0.94 * 4.0, levels=[2, 5, 9, 14, 18, 20]))
    for name, set_level in (("alert", 11.0), ("trip", 18.0)):
        point = points["turbine", name]
        assert point.status == "demonstrated"
        assert point.true_level == pytest.approx(set_level / 0.94, rel=1e-9)
        assert 100 * (point.true_level / set_level - 1) == pytest.approx(6.383, abs=5e-4)
        assert point.reading_error_pct == pytest.approx(-6.0, abs=1e-7)
        assert 0.0 < point.expanded.U < 0.015 * set_level
        assert point.reading_error_expanded_pct == pytest.approx(94.0 * point.expanded.U / point.true_level, rel=1e-6)


def test_simulated_readings_find_the_true_alarm_levels_within_u():
    rng = np.random.Generator(np.random.PCG64(6))
    inside = []
    for _ in range(200):
        common = 1.0 + rng.normal(0.0, 0.005) + rng.uniform(-0.002, 0.002) + rng.normal(0.0, 0.001)
        output = 0.94 * 4.0 * LEVELS * common * (1.0 + rng.normal(0.0, 0.002, LEVELS.size))
        case = make_case("linearity", np.full(6, 50.0), output, applied=LEVELS, channel=TURBINE, decimals=4)
        point = reach(analyse_linearity(case))["turbine", "trip"]
        inside.append(abs(point.true_level - 18.0 / 0.94) <= point.expanded.U)
    assert np.mean(inside) >= 0.93  # 95 % less three standard deviations of 200 draws would be 0.90


def test_uncertainty_agrees_with_gtc_uncertain_numbers():
    """GTC carries the common factor and the independent readings through the fit: nothing of ours is used."""
    result = line_result(3.9, scatter=0.001)
    item = result.frequencies[0]
    found = level_on_line(result, item, 72.0)
    y = [ureal(float(v), float(u)) for v, u in zip(item.line.fit.y, result.uncertainty.u_y, strict=True)]
    a, slope = type_b.line_fit_wls([float(v) for v in item.line.fit.x], y).a_b
    level = (72.0 - a) / slope * ureal(1.0, found.common_pct / 100.0)
    assert found.level == pytest.approx(level.x, rel=1e-5)
    assert found.expanded.u == pytest.approx(level.u, rel=2e-3)
    shared = math.hypot(result.uncertainty.u_common_pct(50.0), result.uncertainty.u_frequency_pct(80.0))
    assert found.common_pct == pytest.approx(shared)


def test_a_live_zero_is_read_with_the_readouts_gain():
    """4 mA + 0.64 mA per mm/s: at 11 mm/s the readout sees 11.04 mA, 1.57 times what counts."""
    channel = replace(TURBINE, output_zero=40.0)
    plain = line_result(4.0)
    live = line_result(4.0, channel=channel, zero=40.0)
    without, with_zero = (level_on_line(r, r.frequencies[0], 40.0) for r in (plain, live))
    assert with_zero.level == pytest.approx(without.level, rel=1e-9)
    zero_alone = 0.1 * math.sqrt(2.0**2 - 1.0)  # 0.2 %, k = 2, of twice the output
    assert with_zero.common_pct == pytest.approx(math.hypot(without.common_pct, zero_alone), rel=1e-9)


@pytest.mark.parametrize(
    ("levels", "status"),
    [
        ([2, 5, 9, 14, 18], "demonstrated"),
        ([2, 5, 9, 14, 17.9], "inferred"),  # the output did not come to it
        ([2, 5, 9, 14, 17.2], "inferred"),
        ([2, 5, 9, 12.1], "inferred"),  # two thirds of the trip
        ([2, 5, 9, 11.9], "not verified"),
        ([2, 9], "not verified"),  # no line through two levels
        ([2, 5, 8, 35], "inferred"),  # driven through it, but nothing near it
        ([2, 5, 9.1, 35], "demonstrated"),
        ([19, 25, 40], "inferred"),  # the line comes down to it
        ([28, 40, 60], "not verified"),
    ],
)
def test_what_was_driven_decides_the_status(levels, status):
    point = reach(line_result(levels=levels))["turbine", "trip"]
    assert point.status == status
    assert (point.true_level is None) == (status == "not verified") == (point.reason is not None)
    assert (point.extrapolation_adds is not None) == (status == "inferred")


def test_set_points_far_below_all_readings_are_not_verified():
    """Set at 11 and 18, read from 100 to 2000 mm/s."""
    points = reach(line_result(levels=[100.0, 400.0, 1000.0, 2000.0]))
    assert [p.status for p in points.values()] == ["not verified"] * 2
    assert points["turbine", "trip"].reason == "the readings at 50 Hz begin at 100 mm/s pk, 556 % of it"


def test_driven_to_a_trip_of_72_mv_that_reads_69_979_mv_nothing_is_demonstrated():
    levels = np.array([2.0, 5.0, 9.0, 14.0, 18.0])
    output = np.append(4.0 * levels[:-1], 69.979)
    case = make_case("linearity", np.full(5, 50.0), output, applied=levels, channel=TURBINE, decimals=4)
    assert reach(analyse_linearity(case))["turbine", "trip"].status != "demonstrated"


def test_extrapolation_adds_to_u_the_more_the_farther():
    adds = [
        reach(line_result(levels=[2, 5, 9, top], scatter=0.002))["turbine", "trip"].extrapolation_adds
        for top in (17.0, 15.0, 12.5)
    ]
    assert 0.0 < adds[0] < adds[1] < adds[2]


def test_readings_that_bend_support_no_extrapolation():
    levels = np.array([1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0])
    output = 4.0 * levels * (1.0 - 0.004 * levels)
    case = make_case("linearity", np.full(8, 50.0), output, applied=levels, channel=TURBINE, decimals=4)
    point = reach(analyse_linearity(case))["turbine", "trip"]
    assert point.status == "not verified"
    assert "bend by more than the limit of non-linearity" in point.reason


def test_a_bend_within_the_limit_goes_on_as_the_readings_bend():
    """Readings bent beyond their scatter, where 1 % of span is permitted; the truth by a quadratic's root."""
    levels = np.array([1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0])
    output = 4.0 * levels * (1.0 - 0.0012 * levels)
    case = make_case("linearity", np.full(8, 50.0), output, applied=levels, channel=TURBINE, decimals=4)
    result = analyse_linearity(case)
    assert result.frequencies[0].line.bends
    point = reach(result)["turbine", "trip"]
    true = (1.0 - np.sqrt(1.0 - 4.0 * 0.0012 * 18.0)) / 0.0024
    assert point.status == "inferred"
    assert abs(point.true_level - true) < point.expanded.U


def test_a_channel_that_saturates_below_the_trip_does_not_act():
    output = np.minimum(4.0 * LEVELS, 60.0)
    case = make_case("linearity", np.full(6, 50.0), output, applied=LEVELS, channel=TURBINE, decimals=4)
    points = reach(analyse_linearity(case))
    trip, alert = points["turbine", "trip"], points["turbine", "alert"]
    assert (trip.status, trip.true_level, trip.expanded) == ("does not act", None, None)
    assert (trip.highest_level, trip.silent_pct) == (20.0, pytest.approx(100.0 * 60.0 / 72.0))
    assert (alert.status, alert.true_level) == ("demonstrated", pytest.approx(11.0, abs=1e-6))
    assert alert.basis == "readings of the linearity at 50 Hz"


LOOP = replace(
    TURBINE,
    input_unit=parse_unit("mm/s rms"),
    output_unit=parse_unit("mA dc"),
    nominal_sensitivity=0.64,
    output_zero=4.0,
    full_scale=25.0,
    alert=7.1,
    trip=11.0,
    band=None,
    sensor=None,
)


def test_a_loop_that_stops_at_10_10_ma_never_indicates_the_trip_and_its_alert_is_exact():
    """Trip at 11 mm/s is 11.04 mA; driven to 118 % of it. It is a fail, and said first."""
    levels = np.array([1.5, 3.0, 5.0, 7.0, 9.0, 13.0])
    output = np.minimum(4.0 + 0.64 * levels, 10.10)
    result = whole(make_case("linearity", np.full(6, 50.0), output, applied=levels, channel=LOOP, decimals=3))
    alert, trip = result.reach
    assert (alert.status, alert.true_level) == ("demonstrated", pytest.approx(7.1, abs=0.001))
    assert (trip.status, result.verdict) == ("does not act", "fail")
    said = headline(result)
    assert "fail: trip 11 mm/s rms at 50 Hz (turbine) does not act: driven to 13.0 mm/s rms, 118 % of it" in said
    assert "the channel indicated 87 %" in said  # 6.10 of 7.04 mA
    assert word_result(result).findings[1].startswith("Trip 11 mm/s rms at 50 Hz (turbine) does not act")
    assert next_steps(result)[0].startswith("Do not rely on the trip at 50 Hz (turbine)")


def whole(case):
    same = ("asset_tag", "asset_name", "visit_name", "channel", "condition", "references", "readouts", "visit")
    kept = {name: getattr(case, name) for name in same}
    return analyse_channel(ChannelCase(**kept, tests={case.test: case}, other={}, table_file=case.table_file))


@pytest.mark.parametrize("sag_pct", [1.0, 2.0, 4.0])
def test_a_soft_saturation_within_what_is_permitted_lies_within_u(sag_pct):
    """y = 4 x (1 - s (x/18)^2), read up to 70 % of the trip without errors; where it comes to 72 mV by Brent."""
    levels = np.array([1.3, 3.2, 6.3, 9.5, 12.6])
    sag = sag_pct / 100.0
    output = 4.0 * levels * (1.0 - sag * (levels / 18.0) ** 2)
    case = make_case("linearity", np.full(5, 50.0), output, applied=levels, channel=TURBINE, decimals=4)
    point = reach(analyse_linearity(case))["turbine", "trip"]
    true = optimize.brentq(lambda x: x * (1.0 - sag * (x / 18.0) ** 2) - 18.0, 17.0, 22.0)
    assert point.status in ("inferred", "not verified")  # without errors 4 % are seen as a bend
    assert point.true_level is None or abs(point.true_level - true) <= point.expanded.U
    assert (point.true_level is None) == (sag_pct == 4.0)


def test_a_line_that_meets_its_set_point_absurdly_far_off_is_not_shown():
    """A dying channel of 0.05 mV/(mm/s): its line would come to the trip at 1440 mm/s."""
    point = reach(line_result(0.05, levels=[2, 5, 9, 12]))["turbine", "trip"]
    assert (point.status, point.extrapolated_level) == ("not verified", None)
    near = reach(line_result(2.5, levels=[2, 5, 9, 12]))["turbine", "trip"]
    assert near.extrapolated_level == pytest.approx(18.0 * 4.0 / 2.5, rel=1e-3)


def test_between_tested_frequencies_the_band_response_carries_the_line_and_adds_its_uncertainty():
    points = reach(line_result(channel=TWO), TWO, band=band_result(0.96))
    here, there = points["turbine", "alert"], points["pinion", "alert"]
    assert there.status == "inferred"
    assert there.true_level == pytest.approx(11.0 / 0.96, rel=1e-6)
    assert there.expanded.u / there.true_level > here.expanded.u / here.true_level
    assert "band response" in there.basis


def test_a_speed_outside_the_tested_band_is_not_verified():
    channel = replace(TWO, rotors=(Rotor(name="pinion", speed_hz=500.0),))
    point = reach(line_result(channel=channel), channel, band=band_result())["pinion", "alert"]
    assert point.status == "not verified"
    assert "outside the readings" in point.reason
    without = reach(line_result(channel=channel), channel)["pinion", "alert"]
    assert without.status == "not verified"
    assert "no band response" in without.reason


def test_without_linearity_nothing_is_verified():
    points = assess_reach(TURBINE, ChannelTests())
    assert [p.status for p in points] == ["not verified"] * 2
    assert "linearity was not tested" in points[0].reason


@settings(max_examples=25, deadline=None)
@given(gain=st.floats(0.05, 50.0), scale=st.floats(0.01, 100.0))
def test_levels_follow_the_unit_they_are_counted_in(gain, scale):
    """Counting the vibration in a unit 1/scale as large scales set points and true levels alike."""
    base = reach(line_result(gain, scatter=0.001))["turbine", "trip"]
    channel = replace(TURBINE, nominal_sensitivity=4.0 / scale, alert=11.0 * scale, trip=18.0 * scale)
    levels = LEVELS * scale
    noise = 1.0 + 0.001 * np.resize([1.0, -1.0, -1.0, 1.0], 6)
    case = make_case("linearity", np.full(6, 50.0), gain * LEVELS * noise, applied=levels, channel=channel)
    scaled = reach(analyse_linearity(case), channel)["turbine", "trip"]
    assert scaled.status == base.status
    if base.true_level is not None:
        assert scaled.true_level == pytest.approx(scale * base.true_level, rel=1e-6)


def test_u_is_stated_for_the_coverage_probability_of_the_visit():
    plain = line_result(0.94 * 4.0)
    decision = replace(plain.case.visit.decision, coverage_probability=0.9545)
    wide = analyse_linearity(replace(plain.case, visit=replace(plain.case.visit, decision=decision)))
    narrow, wider = (reach(result)["turbine", "trip"].expanded for result in (plain, wide))
    assert (narrow.u, narrow.probability, wider.probability) == (wider.u, 0.95, 0.9545)
    assert wider.k == pytest.approx(2.0, abs=0.001)


def test_a_line_that_falls_or_lies_above_the_set_point_has_no_level():
    assert level(line_result(-4.0), 44.0) is None
    above = replace(line_result(4.0), frequencies=line_result(4.0, zero=50.0).frequencies)
    assert level(above, 44.0) is None
    point = reach(above)["turbine", "alert"]
    assert (point.status, point.reason) == ("not verified", "the fitted line does not come to the set point")


def test_without_a_line_there_is_no_level_and_the_reach_says_why():
    two = line_result(levels=[2, 9])
    with pytest.raises(ValueError, match=r"There is no line at 50 Hz: 2 distinct levels where 3 are needed"):
        level(two, 44.0)
    assert reach(two)["turbine", "trip"].reason == "2 distinct levels where 3 are needed for a line"
    elsewhere = reach(line_result(levels=[2, 9], hz=120.0))["turbine", "trip"]
    assert elsewhere.reason == "no line could be fitted at any frequency"


def test_u_of_a_level_is_made_of_line_misfit_and_bend_and_what_is_common():
    """Root of the sum of squares; the common part in % of the level."""
    found = replace(level(line_result(), 44.0), level=11.0, u_line=0.03, u_misfit=0.04, u_bend=0.12, common_pct=2.0)
    assert found.own == pytest.approx(0.13)
    assert found.expanded.u == pytest.approx(math.hypot(0.13, 0.22))
    k = found.expanded.U / found.expanded.u
    assert found.bend_adds == pytest.approx(k * (math.hypot(0.13, 0.22) - math.hypot(0.05, 0.22)), rel=0.02)


def test_readings_that_scatter_too_far_from_their_line_end_it():
    """Scattered by 4 % of themselves where the channel allows 1 % of span: the line goes not beyond the readings."""
    wide = replace(TURBINE, tolerance=Tolerance(reading_pct=60.0))
    far = line_result(levels=[2, 5, 9, 14], scatter=0.04, channel=replace(wide, nonlinearity_pct=1.0))
    assert reach(far)["turbine", "trip"].status == "not verified"
    allowed = line_result(levels=[2, 5, 9, 14], scatter=0.04, channel=replace(wide, nonlinearity_pct=10.0))
    assert reach(allowed)["turbine", "trip"].status == "inferred"


def test_a_bend_that_leaves_more_open_than_the_tolerance_infers_nothing():
    """The same readings judged by 5 %: 17 % of the level are open."""
    point = reach(line_result(levels=[2, 5, 9, 14], scatter=0.04, channel=replace(TURBINE, nonlinearity_pct=10.0)))
    trip = point["turbine", "trip"]
    assert trip.status == "not verified"
    assert re.search(r"and the bend that they may have leaves \d+ % of it open", trip.reason)


@pytest.mark.parametrize(("missing", "changes"), [("reference", {"references": ()}), ("readout", {"readouts": ()})])
def test_without_a_reference_or_a_readout_no_true_level_is_stated(missing, changes):
    """Driven to it and indicated, the level is known to nobody: neither it nor its U is stated."""
    levels = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 20.0])
    case = make_case("linearity", np.full(6, 50.0), 4.0 * levels, applied=levels, channel=TURBINE, decimals=4)
    assert reach(analyse_linearity(case))["turbine", "trip"].status == "demonstrated"
    point = reach(analyse_linearity(replace(case, **changes)))["turbine", "trip"]
    assert (point.status, point.true_level, point.expanded) == ("not verified", None, None)
    assert point.highest_level == 20.0
    assert point.reason == f"the visit names no {missing}, so that no true level is known"
