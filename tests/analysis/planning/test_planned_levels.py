"""Levels of a plan where the shaker does not reach what is wanted, and what more readings are proposed: by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.power import planned
from tests.support.readings.cases import BAND, CHANNEL, SENSOR
from tests.support.readings.simulated_errors import INSTRUMENTS
from vibcal_nb.analysis.planning.asset_plan import plan_asset
from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.more_readings import suggest_more_readings
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, ChannelFault
from vibcal_nb.model.equipment import Shaker

TURBINE = replace(CHANNEL, alert=11.0, trip=18.0, moving_mass_kg=0.5, rotors=CHANNEL.rotors[:1])


def planned_on(tests=("linearity",), *, channel=TURBINE, **limits):
    return plan_channel(channel, shaker=Shaker(id="S", **limits), tests=tests)


def levels(plan, test="linearity"):
    return [p.level for p in plan.of_test(test)]


def test_a_shaker_that_reaches_the_top_gives_all_levels_as_wanted():
    """The top lies a tenth above the trip; with set points a tenth, a quarter, a half and three quarters of it."""
    plan = planned_on(velocity_mm_s_pk=19.9)
    assert levels(plan) == [1.98, 4.95, 9.9, 11.0, 14.9, 18.0, 19.8]
    assert not any(p.reduced for p in plan.points)
    assert plan.points[-1].purpose == "top of the range"
    assert plan.out_of_reach == ()


@pytest.mark.parametrize(
    ("velocity", "top"), [(15.789, 15.7), (15.7, 15.7), (9.996, 9.99), (0.5678, 0.567), (157.0, 19.8)]
)
def test_the_highest_level_is_what_the_shaker_reaches_rounded_down_to_three_digits(velocity, top):
    assert max(levels(planned_on(velocity_mm_s_pk=velocity))) == top


def test_what_the_shaker_does_not_reach_is_reduced_and_missed():
    plan = planned_on(velocity_mm_s_pk=15.789)
    assert levels(plan) == [1.57, 3.92, 7.85, 11.0, 15.7]  # 11.8 lies within 8 % of the alert
    assert [p.reduced for p in plan.points] == [False] * 4 + [True]
    assert plan.points[-1].purpose == "highest the shaker reaches"
    (missed,) = plan.out_of_reach
    assert (missed.what, missed.level, missed.limited_by) == ("trip at 50 Hz (turbine)", 18.0, "velocity")
    assert missed.reached == pytest.approx(15.789)
    just = planned_on(velocity_mm_s_pk=19.79)
    assert (max(levels(just)), just.points[-1].reduced) == (19.7, True)


def test_a_speed_that_the_shaker_does_not_run_at_is_missed_whole():
    other = replace(TURBINE, rotors=CHANNEL.rotors)
    plan = planned_on(channel=other, velocity_mm_s_pk=30.0, to_hz=100.0)
    assert {p.frequency_hz for p in plan.points} == {50.0}
    (missed,) = plan.out_of_reach
    assert (missed.what, missed.level, missed.reached) == ("linearity at 149 Hz (pinion)", pytest.approx(19.8), 0.0)
    assert missed.covers[0] == "a shaker that works at 149 Hz"


def band_on(stroke_mm, channel=TURBINE):
    """A stroke of d mm pk-pk allows 2 pi f d/2 mm/s pk: at 10 Hz 31.4 d, at 20 Hz 62.8 d."""
    return planned_on(("band-response",), channel=channel, stroke_mm_pkpk=stroke_mm)


def test_a_band_is_read_at_one_level_that_all_its_frequencies_reach():
    assert set(levels(band_on(1.0), "band-response")) == {5.5}
    reduced = band_on(0.1)
    assert set(levels(reduced, "band-response")) == {3.1}  # 3.14 rounded down to two digits
    assert all(p.reduced for p in reduced.points)
    assert min(p.frequency_hz for p in reduced.points) == 10.0
    assert reduced.out_of_reach == ()


def test_a_frequency_that_reaches_less_than_a_fifth_of_the_level_is_left_out():
    """A fifth of 5.5 is 1.1 mm/s: at 10 Hz a stroke of 0.0351 mm reaches 1.103, one of 0.0349 mm 1.096."""
    with_it, without = band_on(0.0351), band_on(0.0349)
    assert (min(p.frequency_hz for p in with_it.points), set(levels(with_it, "band-response"))) == (10.0, {1.1})
    assert (min(p.frequency_hz for p in without.points), set(levels(without, "band-response"))) == (12.5, {1.3})
    assert without.out_of_reach == ()  # nothing hangs on 10 Hz
    short = band_on(0.0170)  # 1.068 mm/s at 20 Hz
    (missed,) = short.out_of_reach
    assert (missed.what, missed.frequency_hz) == ("lower corner at 20 Hz", 20.0)
    assert missed.level == pytest.approx(1.3)  # what 25 Hz reaches
    assert missed.reached == pytest.approx(2.0 * math.pi * 20.0 * 0.0085)


def test_the_shaker_for_an_asset_carries_the_payload_then_misses_least_then_plans_most():
    good = Shaker(id="GOOD", velocity_mm_s_pk=30.0)
    weak = Shaker(id="WEAK", velocity_mm_s_pk=15.0)  # misses the trip
    light = Shaker(id="LIGHT", velocity_mm_s_pk=300.0, payload_kg=0.4)
    exact = Shaker(id="EXACT", velocity_mm_s_pk=30.0, payload_kg=0.5)

    def chosen(*shakers, tests=("linearity", "band-response")):
        (plan,) = plan_asset([TURBINE], shakers=shakers, tests=tests)
        return plan.shaker.id

    assert chosen(weak, good) == "GOOD"
    assert chosen(light, weak) == "WEAK"
    assert chosen(light) == "LIGHT"
    assert chosen(exact, weak) == "EXACT"
    short = Shaker(id="SHORT", velocity_mm_s_pk=30.0, stroke_mm_pkpk=0.0349)  # leaves 10 Hz out
    assert chosen(short, good, tests=("band-response",)) == "GOOD"
    assert chosen(good, short, tests=("band-response",)) == "GOOD"


def test_the_mass_given_replaces_the_channels_own():
    plan = plan_channel(TURBINE, shaker=Shaker(id="S", force_n=10.0, armature_kg=0.5), moving_mass_kg=0.0)
    assert plan.moving_mass_kg == 0.0
    assert plan_channel(TURBINE, shaker=Shaker(id="S", force_n=10.0, armature_kg=0.5)).moving_mass_kg == 0.5


def suggested(plan, *faults, trials=300, **how):
    return suggest_more_readings(
        plan, faults, instruments=INSTRUMENTS, rng=np.random.default_rng(1), trials=trials, **how
    )


def test_levels_above_the_trip_are_proposed_within_reach_and_full_scale():
    """1.25, 1.5, 1.75 and 2 times 18 mm/s, the highest run level being 19.8."""
    clip = ChannelFault(name="clip", clip=18.0)
    free = suggested(planned_on(velocity_mm_s_pk=100.0), clip, most=99)
    assert [s.extra[0].level for s in free if s.what.startswith("one more level")][:1] == [22.5]
    best = free[0]
    assert best.what == "one more level, 22.5 mm/s pk at 50 Hz"
    assert best.extra[0].output.expected == pytest.approx(90.0)
    assert (best.extra[0].purpose, best.extra[0].reduced, len(best.extra)) == ("above the trip", False, 1)
    assert best.gain_per_reading == pytest.approx(best.after.probability - best.before.probability)
    bounded = planned_on(velocity_mm_s_pk=22.4)
    assert not [s for s in suggested(bounded, clip, most=99) if s.what.startswith("one more level")]
    scale = planned_on(channel=replace(TURBINE, full_scale=22.0), velocity_mm_s_pk=100.0)
    assert not [s for s in suggested(scale, clip, most=99) if s.what.startswith("one more level")]


def test_a_test_that_is_missing_is_proposed_for_a_fault_that_it_alone_shows():
    plan = planned_on(velocity_mm_s_pk=100.0)
    found = suggested(plan, ChannelFault(name="corner", high_corner=0.8), most=1)
    (first,) = found
    assert first.what == f"the test band-response as well ({len(first.extra)} readings)"
    assert first.before.probability < 0.05 < 0.9 < first.after.probability
    assert len(first.plan.points) == len(plan.points) + len(first.extra)
    assert first.gain_per_reading == pytest.approx(
        (first.after.probability - first.before.probability) / len(first.extra)
    )


def test_a_fault_found_99_times_in_100_needs_no_more_readings():
    plan = planned_on(velocity_mm_s_pk=100.0)
    assert suggested(plan, ChannelFault(name="gross", gain=0.8)) == ()
    assert suggested(plan, NO_FAULT, trials=200) == ()  # nothing raises it by two hundredths


def test_no_suggestion_is_beaten_by_one_with_as_few_readings_for_the_same_fault():
    plan, instruments = planned("STG-1/2026-05-19", "STG-1-V11", tests=["linearity"])
    faults = [ChannelFault(name="clip", clip=18.0), ChannelFault(name="leak", leak_hz=25.0)]
    found = suggest_more_readings(
        plan, faults, instruments=instruments, rng=np.random.default_rng(2), trials=300, most=9
    )
    gains = [s.gain_per_reading for s in found]
    assert gains == sorted(gains, reverse=True)
    for number, item in enumerate(found):
        assert item.after.probability - item.before.probability >= 0.02
        for earlier in found[:number]:
            if earlier.before.fault == item.before.fault:
                assert item.after.probability > earlier.after.probability + 0.02
    assert SENSOR.reference_hz == BAND.reference_hz


def test_levels_once_more_are_proposed_falling_from_the_highest():
    plan = planned_on(velocity_mm_s_pk=100.0)
    (found,) = suggested(plan, ChannelFault(name="low", gain=0.965), most=99)
    assert found.what == "the levels at 50 Hz once more, falling (7 readings)"
    assert [p.level for p in found.extra] == levels(plan)[::-1]
    assert {(p.direction, p.repeat) for p in found.extra} == {("falling", 2)}


def test_what_a_limit_hangs_on_is_proposed_a_second_time():
    plan = planned_on(("band-response",), velocity_mm_s_pk=300.0)
    (found,) = suggested(plan, ChannelFault(name="corner", high_corner=0.9), most=99)
    assert found.what == "a second reading at 400 Hz (upper corner)"
    assert [(p.frequency_hz, p.repeat) for p in found.extra] == [(400.0, 2)]


def test_what_finds_more_with_more_readings_is_proposed_after_what_finds_some_with_one():
    plan = planned_on(("band-response",), velocity_mm_s_pk=300.0)
    one, many = suggested(plan, ChannelFault(name="leak", leak_hz=10.0), most=99)
    assert one.what == "a second reading at 40 Hz (edge of the flat part)"
    assert many.what == "the test sensor-alone as well (14 readings)"
    assert many.after.probability > one.after.probability + 0.02
    assert many.gain_per_reading < one.gain_per_reading


@pytest.mark.parametrize(("clip", "level"), [(19.0, 22.5), (21.0, 27.0), (25.0, 31.5), (29.0, 36.0)])
def test_the_level_proposed_is_the_first_at_which_the_limit_takes_over_5_percent(clip, level):
    """1.25, 1.5, 1.75 and 2 times the trip of 18 mm/s; a sine limited at 0.86 of its amplitude loses 5 %."""
    plan = planned_on(velocity_mm_s_pk=100.0)
    (found,) = suggested(plan, ChannelFault(name="clip", clip=clip), most=99)
    assert [p.level for p in found.extra] == [level]
