"""The chain's small effects one at a time, in closed form, and the families of faults as what they are named for."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.chain_model import points, row
from tests.support.readings.cases import BAND, CHANNEL, SENSOR, make_case
from vibcal_nb.analysis.faults.chain_model import added_ratio, limited_fundamental, limited_rms, predict_ratio
from vibcal_nb.analysis.faults.fault_families import ChannelKind, fault_families, healthy_expectation
from vibcal_nb.analysis.faults.fault_readings import gather_readings, sharing_a_frequency, tolerance_of
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import parse_unit

LEVELS = np.array([0.1, 0.5, 1.0])
FLAT = (None, None)


def predicted(at, **values):
    return predict_ratio(row(**values), at)[0]


def test_a_loose_joint_changes_with_the_level_and_hysteresis_with_the_direction():
    at = replace(points([50.0] * 3, level=LEVELS, test="linearity", corners=FLAT), falling=np.array([0.0, 1.0, 1.0]))
    assert predicted(at, looseness=-0.2) == pytest.approx([0.98, 0.9, 0.8], rel=1e-12)
    assert predicted(at, hysteresis=0.03) == pytest.approx([1.0, 1.03, 1.03], rel=1e-12)
    assert predicted(at, looseness=-0.2, hysteresis=0.03) == pytest.approx([0.98, 0.927, 0.824], rel=1e-12)


def test_a_sensor_falls_by_its_slope_each_decade():
    at = points([8.0, 80.0, 800.0, 8000.0], test="sensor-alone")
    assert predicted(at, decade_slope=-0.02) == pytest.approx([1.02, 1.0, 0.98, 0.96], rel=1e-9)


def test_gains_multiply_and_a_sensor_alone_knows_nothing_of_the_module():
    gains = {"sensor_gain": math.log(0.9), "module_gain": math.log(1.1)}
    assert predicted(points([80.0], corners=FLAT), **gains) == pytest.approx([0.99], rel=1e-12)
    assert predicted(points([80.0], test="sensor-alone"), **gains) == pytest.approx([0.9], rel=1e-12)


@pytest.mark.parametrize(("test", "factor"), [("linearity", 2.0), ("band-response", 3.0), ("sensor-alone", 5.0)])
def test_a_mix_up_has_its_factor_in_its_own_test(test, factor):
    factors = {"factor_linearity": math.log(2.0), "factor_band": math.log(3.0), "factor_sensor": math.log(5.0)}
    assert predicted(points([80.0], test=test, corners=FLAT), **factors) == pytest.approx([factor], rel=1e-12)


@pytest.mark.parametrize(("kind", "form"), [(0.0, limited_fundamental), (1.0, limited_rms), (2.0, limited_fundamental)])
def test_what_is_clipped_where(kind, form):
    """Limit 0.5 of full scale; in front of an integrator it is reached at levels that fall as 1/f."""
    at = points([40.0, 80.0, 160.0], level=0.8, corners=FLAT)
    scale = np.array([2.0, 1.0, 0.5]) if kind == 2.0 else np.ones(3)
    assert predicted(at, clip=math.log(0.5), clip_kind=kind) == pytest.approx(form(0.5 * scale / 0.8), rel=1e-12)


def test_a_sine_limited_at_half_its_amplitude():
    """Half an amplitude: asin(1/2) = pi/6, so that 1/3 + sqrt(3)/(2 pi), and a mean square of 2/3 - sqrt(3)/(2 pi)."""
    half = np.array([0.5])
    assert limited_fundamental(half) == pytest.approx(1 / 3 + math.sqrt(3.0) / (2 * math.pi), rel=1e-12)
    assert limited_rms(half) == pytest.approx(math.sqrt(1 / 3 - math.sqrt(3.0) / (2 * math.pi) + 1 / 3), rel=1e-12)
    assert limited_fundamental(np.array([1.0, 7.0])) == pytest.approx([1.0, 1.0])
    assert limited_rms(np.array([1.0, 7.0])) == pytest.approx([1.0, 1.0])


def test_pickup_is_seen_near_mains_and_its_harmonics_through_the_detectors_width():
    """exp(-(off/width)^2) of it, harmonics by their share; a detector without a filter sees all of it."""
    at = points([50.0, 53.0, 100.0, 150.0, 200.0], level=1.0, corners=FLAT)
    pickup = {"pickup": math.log(0.3), "pickup_width": math.log(3.0), "harmonics": 0.2}
    expected = 0.3 * np.array([1.0, math.exp(-1.0), 0.2, 0.2, 0.0])
    assert added_ratio(row(**pickup), at)[0] == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert predicted(at, **pickup) == pytest.approx(np.hypot(1.0, expected), rel=1e-12)
    assert added_ratio(row(**pickup, pickup_everywhere=1.0), at)[0] == pytest.approx([0.3] * 5, rel=1e-9)
    sixty = added_ratio(row(**pickup, mains=60.0), points([60.0, 120.0], level=0.5, corners=FLAT))[0]
    assert sixty == pytest.approx([0.6, 0.12], rel=1e-9)


def families(corners=(20.0, 400.0), *, is_velocity=True):
    return {
        family.name: family
        for family in fault_families(points([80.0], corners=corners), ChannelKind(is_velocity=is_velocity))
    }


def test_the_variants_of_a_family_share_its_weight():
    for family in families().values():
        assert math.fsum(variant.share for variant in family.variants) == pytest.approx(1.0), family.name


def test_a_filter_can_be_wrong_where_a_corner_is_stated():
    assert "wrong filter" in families()
    assert "wrong filter" not in families(FLAT)
    sides = {name for corners in ((20.0, None),) for v in families(corners)["wrong filter"].variants for name in
             (*v.expected, *v.fixed)}  # fmt: skip
    assert sides == {"corner_low", "damping_low"}
    missing = [v.fixed for v in families()["wrong filter"].variants if v.fixed]
    assert missing == [{"corner_low": -5.0}, {"corner_high": 5.0}]  # nothing of either is left within the band


def factors(name):
    return {
        tuple(round(math.exp(v.fixed[f"factor_{test}"]), 6) for test in ("linearity", "band", "sensor"))
        for v in families()[name].variants
    }


def test_mix_ups_are_the_factors_between_detectors_and_between_units():
    """rms to pk sqrt(2), pk to pkpk 2, rms to pkpk sqrt(8); g to m/s2 9.80665, in/s to mm/s 25.4; either way."""
    everywhere = {once for once, band, sensor in factors("detector mix-up") if once == band == sensor}
    assert everywhere == {round(f, 6) for r in (2**0.5, 2.0, 8**0.5) for f in (r, 1 / r)}
    units = factors("unit mix-up")
    assert {once for once, band, sensor in units if once == band == sensor} == {
        round(f, 6) for r in (9.80665, 25.4) for f in (r, 1 / r)
    }
    for target in ((25.4, 25.4, 1.0), (25.4, 1.0, 1.0), (1.0, 25.4, 1.0), (1.0, 1.0, 25.4)):
        assert target in units


def test_an_open_leg_halves_the_signal_before_or_behind_the_sensor_test():
    centres = [v.expected for v in families()["open leg"].variants]
    assert [{name: math.exp(centre) for name, (centre, _) in e.items()} for e in centres] == [
        {"sensor_gain": pytest.approx(0.5)},
        {"module_gain": pytest.approx(0.5)},
    ]


@pytest.mark.parametrize(("is_velocity", "exponent"), [(True, 1.0), (False, -1.0)])
def test_an_integration_left_out_tilts_a_velocity_channel_up_and_one_too_many_an_acceleration_channel_down(
    is_velocity, exponent
):
    (variant,) = families(is_velocity=is_velocity)["wrong integration"].variants
    assert variant.fixed == {"slope_exponent": exponent}


def test_a_healthy_channel_has_a_corner_to_differ_by_where_one_is_stated():
    both = healthy_expectation(points([80.0]), tolerance=0.05)
    none = healthy_expectation(points([80.0], corners=FLAT), tolerance=0.05)
    assert set(both) - set(none) == {"corner_low", "corner_high", "order_low", "order_high"}
    for name in ("sensor_gain", "module_gain"):  # in proportion to the tolerance, and within it
        assert both[name][1] == pytest.approx(5.0 * healthy_expectation(points([80.0]), tolerance=0.01)[name][1])
        assert 0.0 < both[name][1] < 0.05


HZ = np.array([40.0, 80.0, 160.0])


def gathered(*tests, channel=CHANNEL, **changes):
    cases = [make_case(test, HZ, np.full(3, 40.0), channel=channel) for test in tests]
    return gather_readings([replace(case, **changes) for case in cases])


def test_full_scale_is_stated_or_the_highest_of_set_points_and_levels():
    bare = replace(CHANNEL, full_scale=None, alert=None, trip=None)
    assert gathered("band-response", channel=replace(bare, full_scale=25.0)).full_scale == 25.0
    assert gathered("band-response", channel=replace(bare, trip=18.0, alert=11.0)).full_scale == 18.0
    assert gathered("band-response", channel=replace(bare, alert=11.0)).full_scale == 11.0
    found = gathered("band-response", channel=bare)
    assert found.full_scale == 10.0
    assert list(found.points.level) == [1.0] * 3
    assert list(found.applied) == [10.0] * 3
    assert gathered("sensor-alone", channel=bare).full_scale == 1.0  # its levels are in another unit


def test_ends_and_reference_of_the_band_come_from_what_is_stated():
    assert gathered("band-response").points.band_end_hz == (20.0, 400.0)
    assert gathered("band-response").points.reference_hz == BAND.reference_hz
    flat = replace(BAND, corner_low_hz=None, corner_high_hz=None)
    assert gathered("band-response", channel=replace(CHANNEL, band=flat)).points.band_end_hz == (40.0, 200.0)
    no_band = replace(CHANNEL, band=None, sensor=replace(SENSOR, reference_hz=100.0))
    assert gathered("linearity", channel=no_band).points.band_end_hz == (20.0, 2000.0)
    assert gathered("linearity", channel=no_band).points.reference_hz == 100.0
    bare = replace(CHANNEL, band=None, sensor=None)
    assert gathered("linearity", channel=bare).points.band_end_hz == (40.0, 160.0)
    assert gathered("linearity", channel=bare).points.reference_hz == pytest.approx(80.0)  # geometric mean


def test_a_sensor_alone_is_mounted_anew_and_shares_nothing_with_the_channels_tests():
    same = sharing_a_frequency(gathered("linearity", "band-response", "sensor-alone").points)
    one = np.eye(3)
    np.testing.assert_array_equal(same, np.block([[one, one, 0 * one], [one, one, 0 * one], [0 * one, 0 * one, one]]))


def test_what_cannot_be_explained():
    with pytest.raises(NothingToAnalyse, match="give the cases of one channel"):
        gather_readings([])
    cases = [make_case("linearity", HZ, HZ), replace(make_case("linearity", HZ, HZ), condition="as-left")]
    with pytest.raises(NothingToAnalyse, match="explain one at a time"):
        gather_readings(cases)
    excluded = make_case("linearity", HZ, HZ, exclude=dict.fromkeys(range(3), "loose cable"))
    with pytest.raises(NothingToAnalyse, match="all are excluded or at no level"):
        gather_readings([excluded])
    with pytest.raises(NothingToAnalyse, match="all are excluded or at no level"):
        gather_readings([make_case("linearity", HZ, HZ, applied=0.0)])


def test_a_tolerance_is_relative_and_never_quite_zero():
    assert tolerance_of(CHANNEL) == 0.05
    assert (
        tolerance_of(replace(CHANNEL, tolerance=Tolerance(reading_pct=0.5)))
        == tolerance_of(replace(CHANNEL, tolerance=Tolerance(reading_pct=0.1)))
        == 0.005
    )


def test_the_readings_keep_what_is_theirs():
    found = gathered("band-response")
    assert found.ratio == pytest.approx([1.0] * 3)  # 40 mV of 4 mV/(mm/s) at 10 mm/s
    assert parse_unit(found.channel.input_unit.text) == parse_unit("mm/s pk")
    assert np.allclose(found.covariance, found.covariance.T)
    assert (np.diag(found.covariance) > found.u_ratio**2).all()  # the visit's common part comes on top


def test_mains_are_50_or_60_hz():
    assert {v.fixed.get("mains") for v in families()["mains pick-up"].variants} == {50.0, 60.0, None}
    assert [v.fixed for v in families()["mains pick-up"].variants if "mains" not in v.fixed] == [
        {"pickup_everywhere": 1.0},
        {"pickup_everywhere": 1.0},
    ]


def test_without_set_points_the_highest_level_is_full_scale_however_small():
    bare = replace(CHANNEL, full_scale=None, alert=None, trip=None)
    case = make_case("band-response", HZ, np.full(3, 0.4), applied=np.array([0.1, 0.2, 0.1]), channel=bare)
    found = gather_readings([case])
    assert found.full_scale == 0.2
    assert list(found.points.level) == [0.5, 1.0, 0.5]
