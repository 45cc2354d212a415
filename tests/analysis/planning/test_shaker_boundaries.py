"""A shaker's limits, cautions and the points that tests need, at the bounds where they begin."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.support.readings.cases import BAND, CHANNEL, SENSOR
from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.expected_output import expect_band, expect_linearity, nominal_response
from vibcal_nb.analysis.planning.shaker import ShakerError, find_reach, force_for, static_sag_mm
from vibcal_nb.analysis.planning.wanted_points import want_band, want_linearity, want_sensor
from vibcal_nb.model.asset import ResponseLimit
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.units import parse_unit

SHAKER = Shaker(id="S", force_n=45.0, armature_kg=0.5, payload_kg=2.0, from_hz=10.0, to_hz=1000.0)
M_S2 = parse_unit("m/s2 pk")


def test_the_frequency_range_holds_its_ends():
    found = find_reach(SHAKER, frequency_hz=[9.99, 10.0, 1000.0, 1000.1], moving_mass_kg=1.0)
    assert list(found.acceleration) == pytest.approx([0.0, 30.0, 30.0, 0.0])  # 45 N on 1.5 kg
    assert found.limited_by == ("frequency range", "force", "force", "frequency range")


def test_stroke_velocity_and_force_each_rule_in_turn():
    """Stroke of 10 mm pk-pk: w^2 x 5 mm; velocity of 1 m/s: w; force: 45 N on 0.5 kg, 90 m/s2."""
    shaker = Shaker(id="S", stroke_mm_pkpk=10.0, velocity_mm_s_pk=1000.0, force_n=45.0, armature_kg=0.5)
    hz = [5.0, 14.0, 100.0]
    found = find_reach(shaker, frequency_hz=hz, moving_mass_kg=0.0)
    assert found.acceleration[0] == pytest.approx((2 * math.pi * 5.0) ** 2 * 0.005)
    assert found.acceleration[2] == pytest.approx(90.0)
    assert found.limited_by == ("stroke", "stroke", "force")
    slower = find_reach(replace(shaker, velocity_mm_s_pk=300.0), frequency_hz=hz, moving_mass_kg=0.0)
    assert slower.limited_by == ("stroke", "velocity", "force")
    assert slower.acceleration[1] == pytest.approx(2 * math.pi * 14.0 * 0.3)


def test_what_a_force_limit_moves():
    loaded = find_reach(Shaker(id="S", force_n=10.0), frequency_hz=80.0, moving_mass_kg=2.0)
    assert loaded.acceleration[0] == pytest.approx(5.0)
    with pytest.raises(ShakerError, match="no mass to move; give armature_kg"):
        find_reach(Shaker(id="S", force_n=10.0, armature_kg=0.0), frequency_hz=80.0, moving_mass_kg=0.0)
    assert force_for(20.0, M_S2, frequency_hz=80.0, shaker=SHAKER, moving_mass_kg=1.0) == pytest.approx(30.0)
    bare = replace(SHAKER, armature_kg=None)
    assert force_for(20.0, M_S2, frequency_hz=80.0, shaker=bare, moving_mass_kg=1.0) == pytest.approx(20.0)


def cautions(mass, **how):
    return find_reach(SHAKER, frequency_hz=80.0, moving_mass_kg=mass, **how).cautions


def test_cautions_begin_above_the_payload_and_above_the_armature():
    assert cautions(0.5) == ()
    (heavy,) = cautions(0.51)
    assert heavy.startswith("The payload is 1.0 times as heavy as the armature")
    assert len(cautions(2.0)) == 1
    assert cautions(2.01)[0].endswith("above the 2 kg that shaker S may carry: do not mount it")
    (tilts,) = cautions(2.0, overhang_mm=15.0)  # 2 kg x 15 mm
    assert "overhangs the axis by 15 mm, so that each m/s² tilts the table with 0.03 N m" in tilts
    assert cautions(0.0, overhang_mm=15.0) == ()


@pytest.mark.parametrize("mass", [-0.1, math.nan, math.inf])
def test_a_mass_is_a_number_of_zero_or_more(mass):
    with pytest.raises(ShakerError, match="give 0 or more"):
        find_reach(SHAKER, frequency_hz=80.0, moving_mass_kg=mass)


@pytest.mark.parametrize("hz", [0.0, -1.0, math.nan, math.inf])
def test_a_frequency_is_a_number_above_zero(hz):
    with pytest.raises(ShakerError, match="above 0 Hz"):
        find_reach(SHAKER, frequency_hz=[80.0, hz], moving_mass_kg=1.0)


def test_linearity_wants_the_set_points_below_the_top_and_levels_between():
    channel = replace(CHANNEL, alert=11.0, trip=18.0)
    wanted = want_linearity(channel, frequency_hz=50.0, top=20.0)
    purposes = {point.level: point.purpose for point in wanted}
    assert [purposes[level] for level in (11.0, 18.0, 20.0)] == ["alert", "trip", "top of the range"]
    assert [p.level for p in wanted] == sorted(p.level for p in wanted)
    assert {p.purpose for p in wanted if not p.required} == {"range"}
    assert {p.level for p in wanted if p.required} == {11.0, 18.0, 20.0}
    assert {p.level for p in want_linearity(channel, frequency_hz=50.0, top=11.0) if p.required} == {11.0}
    assert {p.purpose for p in want_linearity(channel, frequency_hz=50.0, top=11.0) if p.required} == {"alert"}


def test_the_band_wants_corners_edges_speeds_and_the_reference_frequency():
    *points, last = want_band(CHANNEL, BAND)
    assert (last.frequency_hz, last.purpose, last.repeat) == (80.0, "reference frequency, again", 2)
    wanted = {point.frequency_hz: point for point in points}
    purposes = {hz: point.purpose for hz, point in wanted.items() if point.required}
    assert purposes == {
        20.0: "lower corner", 40.0: "edge of the flat part", 50.0: "speed of the turbine", 80.0: "reference frequency",
        149.0: "speed of the pinion", 200.0: "edge of the flat part", 400.0: "upper corner",
    }  # fmt: skip
    assert list(wanted) == [80.0, *sorted(hz for hz in wanted if hz != 80.0)]
    assert min(wanted) < 20.0
    assert max(wanted) > 400.0
    assert len({point.level for point in wanted.values()}) == 1


def test_a_sensor_without_stated_ends_is_wanted_two_octaves_to_either_side():
    first, *wanted, last = want_sensor(replace(SENSOR, flat_hz=None))
    assert (wanted[0].frequency_hz, wanted[-1].frequency_hz) == (20.0, 320.0)
    assert (first.frequency_hz, first.repeat, last.frequency_hz, last.repeat) == (80.0, 1, 80.0, 2)
    first, *ends, last = want_sensor(SENSOR)
    assert (ends[0].frequency_hz, ends[-1].frequency_hz) == (20.0, 2000.0)
    assert [p.purpose for p in ends if p.required] == ["edge of the flat part", "edge of the flat part"]
    assert (first.purpose, first.required) == ("reference frequency", True)
    assert (last.purpose, last.required) == ("reference frequency, again", False)


def test_a_linear_channel_is_expected_within_its_tolerance_about_its_zero():
    """4 mV/(mm/s) at 10 mm/s on a zero of 2 mV: 42 mV; 5 % of the 40 to either side."""
    found = expect_linearity(replace(CHANNEL, output_zero=2.0)).at(10.0)
    assert (found.expected, found.lowest, found.highest) == pytest.approx((42.0, 40.0, 44.0))


def test_a_band_is_expected_within_its_limits_and_the_tolerance():
    """In the flat part of 5 %: 0.95 x 0.95 and 1.05 x 1.05 of 40 mV."""
    found = expect_band(CHANNEL, BAND, frequency_hz=80.0).at(10.0)
    assert (found.lowest, found.highest) == pytest.approx((36.1, 44.1))
    assert found.expected == pytest.approx(40.0)


def test_a_band_without_limits_is_expected_between_what_filters_of_one_to_four_orders_give():
    """Far beyond the corner a Butterworth filter falls by its order: the fourth gives least and the first most."""
    found = expect_band(CHANNEL, BAND, frequency_hz=1600.0).at(10.0)
    first, fourth = (
        math.sqrt((1.0 + 0.2 ** (2 * n)) * (1.0 + 0.25 ** (2 * n)) / (1.0 + 4.0 ** (2 * n))) for n in (1, 4)
    )  # re the response at 80 Hz, between corners at 20 and 400 Hz
    assert found.highest == pytest.approx(1.05 * 40.0 * first, rel=1e-3)
    assert found.lowest == pytest.approx(0.95 * 40.0 * fourth, rel=1e-3)
    assert found.lowest < found.expected < found.highest


@pytest.mark.parametrize("order", [1, 2, 3])
def test_a_corner_moved_by_a_factor_has_half_power_there(order):
    """Butterworth at its corner: 1/sqrt(2), re the specified response at the reference frequency."""
    only_high = replace(BAND, corner_low_hz=None)
    reference = 1.0 / math.sqrt(1.0 + (80.0 / 400.0) ** (2 * order))
    moved = nominal_response(only_high, 500.0, order=order, high_factor=1.25)[0]
    assert moved == pytest.approx(math.sqrt(0.5) / reference, rel=1e-9)
    only_low = replace(BAND, corner_high_hz=None)
    reference = 1.0 / math.sqrt(1.0 + (20.0 / 80.0) ** (2 * order))
    moved = nominal_response(only_low, 15.0, order=order, low_factor=0.75)[0]
    assert moved == pytest.approx(math.sqrt(0.5) / reference, rel=1e-9)


def test_a_limit_below_the_nominal_response_holds_the_expected_output():
    """At most 90 %, at least 60 % where a good channel would give 100 %: 90 % of 40 mV are expected."""
    limited = replace(
        BAND, flat_hz=None, flat_pct=None, limits=(ResponseLimit(frequency_hz=80.0, min_pct=60.0, max_pct=90.0),)
    )
    found = expect_band(replace(CHANNEL, band=limited), limited, frequency_hz=80.0).at(10.0)
    assert (found.expected, found.lowest, found.highest) == pytest.approx((36.0, 22.8, 37.8))
    raised = replace(limited, limits=(ResponseLimit(frequency_hz=80.0, min_pct=110.0, max_pct=120.0),))
    assert expect_band(CHANNEL, raised, frequency_hz=80.0).at(10.0).expected == pytest.approx(44.0)


def test_a_payload_lets_the_armature_sag_which_takes_twice_that_from_the_stroke():
    """2 kg on 40 N/mm: 2 x 9.80665 / 40 = 0.49 mm; of 4 mm of stroke 3.02 mm are left, at 5 Hz 1.490 m/s2 pk."""
    shaker = Shaker(id="S", stroke_mm_pkpk=4.0, suspension_n_per_mm=40.0)
    found = find_reach(shaker, frequency_hz=5.0, moving_mass_kg=2.0)
    assert static_sag_mm(shaker, 2.0) == pytest.approx(0.4903, abs=1e-4)
    assert found.acceleration[0] == pytest.approx((2 * math.pi * 5.0) ** 2 * (0.004 - 2 * 0.000490333) / 2, rel=1e-5)
    (said,) = found.cautions
    assert "sag by 0.49 mm, which leaves 3 of its 4 mm of stroke" in said
    resting = find_reach(shaker, frequency_hz=5.0, moving_mass_kg=9.0)
    assert resting.acceleration[0] == 0.0 and "which leaves nothing of its stroke of 4 mm" in resting.cautions[0]


def test_what_is_not_known_of_the_sag_of_a_heavy_payload_is_said():
    known = replace(SHAKER, stroke_mm_pkpk=2.5)
    heavy = find_reach(known, frequency_hz=80.0, moving_mass_kg=1.9).cautions
    assert heavy[0].startswith("How far 1.9 kg let the armature of shaker S sag is not stated")
    assert find_reach(known, frequency_hz=80.0, moving_mass_kg=0.4).cautions == ()
    stiff = replace(known, suspension_n_per_mm=1000.0)
    assert len(find_reach(stiff, frequency_hz=80.0, moving_mass_kg=1.9).cautions) == 1  # the overhang alone


def test_a_payload_beside_the_axis_is_limited_by_the_tilting_moment():
    """1 kg 20 mm beside the axis on 0.5 N m: 25 m/s2 in all, of which its weight takes 9.81."""
    shaker = Shaker(id="S", force_n=100.0, moment_nm=0.5)
    found = find_reach(shaker, frequency_hz=80.0, moving_mass_kg=1.0, overhang_mm=20.0)
    assert (found.limited_by, found.acceleration[0]) == (("tilting moment",), pytest.approx(25.0 - 9.80665))
    assert "its weight with 0.2 N m, where it bears 0.5 N m" in found.cautions[0]
    assert find_reach(shaker, frequency_hz=80.0, moving_mass_kg=1.0).limited_by == ("force",)
    far = find_reach(shaker, frequency_hz=80.0, moving_mass_kg=1.0, overhang_mm=60.0)
    assert far.acceleration[0] == 0.0


def test_a_plan_takes_the_payload_as_it_hangs():
    channel = replace(CHANNEL, trip=18.0, alert=11.0, moving_mass_kg=1.0, overhang_mm=20.0)
    shaker = Shaker(id="S", force_n=100.0, moment_nm=0.3, stroke_mm_pkpk=10.0)
    plan = plan_channel(channel, shaker=shaker, tests=("linearity",))
    assert "bears 0.3 N m" in " ".join(plan.cautions)
    (gap,) = [gap for gap in plan.out_of_reach if gap.what.startswith("trip") and gap.frequency_hz > 100.0]
    assert gap.limited_by == "tilting moment"
    assert gap.covers[0] == "this shaker with the payload's centre of gravity on its axis"
    centred = plan_channel(replace(channel, overhang_mm=None), shaker=shaker, tests=("linearity",))
    assert not centred.out_of_reach
