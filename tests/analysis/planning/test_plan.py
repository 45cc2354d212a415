"""The plan of a visit: ISO 266 frequencies, what the tests need, clipped to what the shaker reaches."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.analyses.plan import SHAKERS, SITE
from tests.support.places import DEMO
from vibcal_nb.analysis.planning.asset_plan import plan_asset
from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.expected_output import nominal_response
from vibcal_nb.analysis.planning.preferred_frequencies import preferred_frequencies
from vibcal_nb.inputs.load_asset import find_asset_folders
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.problems import InputRefused, NothingToPlan

CHANNELS = [(f, channel) for f in SITE.values() for channel in f.asset.channels.values() if channel.band]


def plan_of(tag, **how):
    folder = SITE[tag.rsplit("-", 1)[0]]
    return plan_channel(folder.asset.channels[tag], shaker=SHAKERS[0], others=SHAKERS, **how)


def test_preferred_frequencies_of_iso_266():
    """R10 of ISO 3 / ISO 266, nominal values; they lie within 1 % of 10^(n/10) (31.5 for 31.623 and so on)."""
    assert preferred_frequencies(1.0, 8.0) == (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
    assert preferred_frequencies(16.0, 1000.0)[:6] == (16.0, 20.0, 25.0, 31.5, 40.0, 50.0)
    exact = {16: 15.849, 31.5: 31.623, 40: 39.811, 80: 79.433, 160: 158.489, 315: 316.228, 1000: 1000.0}
    for nominal, true in exact.items():
        assert preferred_frequencies(nominal, nominal) == (nominal,)
        assert nominal == pytest.approx(true, rel=0.0125)
    assert preferred_frequencies(0.1, 1.0, every=2) == (0.1, 0.16, 0.25, 0.4, 0.63, 1.0)
    with pytest.raises(ValueError, match="above 0 Hz"):
        preferred_frequencies(0.0, 10.0)


@given(st.floats(0.01, 1e4), st.floats(1.0, 1e3))
def test_preferred_frequencies_climb_by_a_tenth_of_a_decade(low, span):
    found = preferred_frequencies(low, low * span)
    assert list(found) == sorted(set(found))
    assert all(b / a == pytest.approx(10**0.1, rel=0.02) for a, b in pairwise(found))
    assert all(low * (1 - 1e-8) <= f <= low * span * (1 + 1e-8) for f in found)


@pytest.mark.parametrize(("folder", "channel"), CHANNELS, ids=lambda item: getattr(item, "tag", ""))
def test_every_planned_point_is_reached_and_lies_within_its_own_limits(folder, channel):
    from vibcal_nb.analysis.planning.shaker import find_reach

    plan = plan_channel(channel, shaker=SHAKERS[0], others=SHAKERS)
    assert {p.test for p in plan.points} == {"linearity", "band-response"} | (
        {"sensor-alone"} if channel.sensor else set()
    )
    for p in plan.points:
        reach = find_reach(SHAKERS[0], frequency_hz=p.frequency_hz, moving_mass_kg=channel.moving_mass_kg)
        assert p.level <= reach.level(p.applied_unit)[0]
        assert p.output.lowest < p.output.expected < p.output.highest


@pytest.mark.parametrize(("folder", "channel"), CHANNELS, ids=lambda item: getattr(item, "tag", ""))
def test_what_a_limit_hangs_on_is_planned_or_said_to_be_out_of_reach(folder, channel):
    plan = plan_channel(channel, shaker=SHAKERS[0], others=SHAKERS)
    missed = {(gap.test, round(gap.frequency_hz, 3)) for gap in plan.out_of_reach}
    band = {round(p.frequency_hz, 3) for p in plan.of_test("band-response")}
    needs = [channel.band.reference_hz, channel.band.corner_low_hz, channel.band.corner_high_hz, *channel.band.flat_hz]
    needs += [limit.frequency_hz for limit in channel.band.limits]
    for frequency in needs:
        assert frequency in band or ("band-response", frequency) in missed
    for rotor in channel.rotors:
        levels = [p.level for p in plan.of_test("linearity") if p.frequency_hz == rotor.speed_hz]
        assert len(levels) >= 3
        for set_point in (channel.alert, channel.trip):
            assert set_point in levels or ("linearity", round(rotor.speed_hz, 3)) in missed


def test_the_pinions_trip_is_out_of_reach_and_what_covers_it_is_named():
    """Force over mass: 45 N on 0.2 + 4.7 kg gives 9.81 mm/s pk at 149 Hz; 18 mm/s pk there are 16.85 m/s2 pk."""
    alert, trip = plan_of("STG-1-V31").out_of_reach
    assert (alert.what, trip.what) == ("alert at 149 Hz (pinion)", "trip at 149 Hz (pinion)")
    assert trip.reached == pytest.approx(45.0 / 4.9 / (2 * 3.141592653589793 * 149.0) * 1000.0)
    shaker, injection = trip.covers
    assert "82.6 N pk or more" in shaker  # 16.85 x 4.9
    assert "87.63 pC pk" in injection  # 16.85 m/s2 at 5.2 pC/(m/s2), which the sensor of that day has
    light = plan_of("STG-1-V31", moving_mass_kg=1.0)
    assert light.out_of_reach == ()


def test_another_shaker_is_named_where_it_reaches_a_corner():
    (gap,) = plan_of("BFP-2-A11").out_of_reach
    assert gap.what == "lower corner at 2 Hz"
    assert gap.covers[0] == "shaker SHK-2, which reaches 3.16 m/s2 pk"  # (2 pi 2)^2 x 40 mm / 2


def test_limits_are_those_of_the_specification():
    plan = plan_of("STG-1-V11")
    trip = next(p for p in plan.points if p.purpose == "trip")
    limits = (trip.output.lowest, trip.output.expected, trip.output.highest)
    assert limits == pytest.approx((68.4, 72.0, 75.6))  # 18 mm/s at 4 mV/(mm/s), 5 %
    corner = next(p for p in plan.points if p.purpose == "upper corner")
    nominal = 4.0 * corner.level
    assert corner.output.lowest == pytest.approx(0.95 * 10 ** (-4 / 20) * nominal)
    assert corner.output.highest == pytest.approx(1.05 * 10 ** (-2 / 20) * nominal)


def test_a_live_zero_stands_in_the_expected_output():
    """4-20 mA for 0-25 mm/s rms: 11 mm/s rms are 4 + 0.64 x 11 = 11.04 mA."""
    trip = next(p for p in plan_of("FDF-3-V11").points if p.purpose == "trip")
    assert trip.output.expected == pytest.approx(11.04)
    assert trip.output.lowest == pytest.approx(4.0 + 0.95 * 7.04)


def test_nominal_response_is_half_power_at_its_corners():
    """Butterworth: 1/sqrt(2) of the plateau at either corner, to the reference's own 0.2 % below it."""
    band = SITE["STG-1"].asset.channels["STG-1-V11"].band
    at = nominal_response(band, [20.0, 400.0, 80.0])
    assert at == pytest.approx([0.70711, 0.70711, 1.0], rel=0.004)
    assert nominal_response(None, 10.0)[0] == 1.0


def test_the_shaker_that_leaves_least_out_of_reach_is_taken():
    weak = Shaker(id="WEAK", force_n=1.0, armature_kg=0.2, from_hz=7.0, to_hz=10_000.0)
    channel = SITE["STG-1"].asset.channels["STG-1-V11"]
    (plan,) = plan_asset([channel], shakers=(weak, SHAKERS[0]))
    assert plan.shaker.id == "SHK-1"
    small = replace(SHAKERS[0], id="SMALL", payload_kg=1.0)
    (plan,) = plan_asset([channel], shakers=(small, SHAKERS[0]))
    assert plan.shaker.id == "SHK-1"
    (plan,) = plan_asset([channel], shakers=(small,))
    assert "do not mount it" in plan.cautions[0]


def test_what_cannot_be_planned_says_why():
    channel = SITE["STG-1"].asset.channels["STG-1-V11"]
    with pytest.raises(NothingToPlan, match="give moving_mass_kg in asset"):
        plan_channel(replace(channel, moving_mass_kg=None), shaker=SHAKERS[0])
    nowhere = Shaker(id="S", velocity_mm_s_pk=1.0, from_hz=9000.0)
    with pytest.raises(NothingToPlan, match="reaches no point"):
        plan_channel(channel, shaker=nowhere)
    with pytest.raises(NothingToPlan, match="no shaker"):
        plan_asset([channel], shakers=())


def test_folders_without_an_asset_are_refused(tmp_path):
    assert [p.name for p in find_asset_folders(DEMO / "STG-1" / "2026-05-19")] == ["STG-1"]
    assert [p.name for p in find_asset_folders(DEMO / "STG-1")] == ["STG-1"]
    for path in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(InputRefused, match=r"no asset\.toml"):
            find_asset_folders(path)
