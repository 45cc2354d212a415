"""Tables that hold too little, or what an asset does not state: each ends in a sentence or in None, not in a number."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, SENSOR, make_case
from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.analysis.channel.module_alone import analyse_module_alone, nominal_at
from vibcal_nb.analysis.drift.normalized_error import normalized_error
from vibcal_nb.analysis.planning.asset_plan import plan_asset
from vibcal_nb.analysis.planning.beyond_reach import injection, larger_shaker
from vibcal_nb.analysis.planning.expected_output import expect_sensor
from vibcal_nb.analysis.planning.wanted_points import test_frequencies as frequencies_of_linearity
from vibcal_nb.analysis.planning.wanted_points import top_level
from vibcal_nb.analysis.readings.contributions import state_contributions
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.metrology.over_time.conformity_date import find_conformity_date
from vibcal_nb.metrology.over_time.trend import fit_trend
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.visit import Contribution, Visit
from vibcal_nb.problems import NothingToAnalyse, NothingToPlan
from vibcal_nb.units import parse_unit

BARE = replace(CHANNEL, band=None, sensor=None, module=None)
HZ = np.array([40.0, 80.0, 160.0])
MM_S = parse_unit("mm/s pk")


def sensor_case(channel):
    case = make_case("sensor-alone", HZ, np.full(3, 50.0))
    return replace(case, channel=channel)


def test_a_part_that_is_not_stated_is_missing_with_its_reason():
    found = analyse_tests(BARE, {"sensor-alone": sensor_case(BARE)})
    assert found.sensor is None
    assert found.missing["sensor-alone"].endswith("add it to judge the sensor alone")
    assert found.missing["linearity"] == "no readings"
    assert set(found.missing) == {"sensor-alone", "linearity"}  # neither band nor module is asked for
    assert set(found.verdicts.values()) == {"not verified"}


def test_what_is_stated_is_asked_for():
    assert set(analyse_tests(CHANNEL, {}).missing) == {"linearity", "band-response", "sensor-alone"}


def test_a_module_that_is_not_stated():
    case = replace(make_case("linearity", HZ, HZ, channel=BARE), test="module-alone")
    with pytest.raises(NothingToAnalyse, match=r"no \[module\] table .* add it to judge the module alone"):
        analyse_module_alone(case)
    with pytest.raises(NothingToAnalyse, match=r"no \[module\] table"):
        nominal_at(BARE, 80.0)


def test_a_sensor_that_is_not_stated_has_no_expected_output_and_its_injection_no_size():
    with pytest.raises(ValueError, match="add it to plan the sensor alone"):
        expect_sensor(BARE, frequency_hz=80.0).at(1.0)
    assert injection(BARE, frequency_hz=80.0, level=1.0, unit=MM_S).startswith("electrical injection in the sensor's")


def test_what_is_injected_is_what_the_sensor_would_put_out():
    """10 mm/s pk at 80 Hz is 2 pi 80 x 0.01 = 5.0265 m/s2 pk; times 5 pC/(m/s2) 25.13 pC."""
    said = injection(CHANNEL, frequency_hz=80.0, level=10.0, unit=MM_S)
    assert said.startswith("electrical injection of 25.13 pC pk in the sensor's place")


def covering(shaker, *others, mass=0.5, level=100.0):
    carried = {"frequency_hz": 80.0, "moving_mass_kg": mass, "overhang_mm": 0.0}
    return larger_shaker(shaker, others, **carried, level=level, least=level, unit=MM_S)


def test_what_would_cover_a_point_out_of_reach():
    """Force for 100 mm/s pk at 80 Hz: 2 pi 80 x 0.1 = 50.27 m/s2 on 0.7 kg, 35.2 N."""
    weak = Shaker(id="W", force_n=10.0, armature_kg=0.2)
    assert covering(weak) == "a larger shaker: 35.2 N pk or more with an armature of 0.2 kg"
    assert covering(replace(weak, to_hz=50.0)) == "a shaker that works at 80 Hz"
    assert covering(Shaker(id="V", velocity_mm_s_pk=50.0)) == "a shaker with a larger velocity"
    assert covering(Shaker(id="S", stroke_mm_pkpk=0.1)) == "a shaker with a larger stroke"
    strong = Shaker(id="T", velocity_mm_s_pk=100.0)  # just reaches it
    assert covering(weak, strong) == "shaker T, which reaches 100 mm/s pk"
    assert covering(weak, replace(strong, velocity_mm_s_pk=99.0)).startswith("a larger shaker")
    assert covering(weak, replace(strong, payload_kg=0.5)).startswith("shaker T")  # carries just this payload
    assert covering(weak, replace(strong, payload_kg=0.4)).startswith("a larger shaker")


def test_a_shaker_that_reaches_nothing_says_so_for_the_asset_too():
    with pytest.raises(NothingToPlan, match="reaches no point"):
        plan_asset(
            [replace(CHANNEL, moving_mass_kg=0.1, trip=20.0)],
            shakers=[Shaker(id="S", velocity_mm_s_pk=1.0, from_hz=9000.0)],
        )


@pytest.mark.parametrize(
    "wrong",
    [{"level": 0.0}, {"level": 1.0}, {"horizon_years": 0.0}, {"tolerance": 0.0}, {"tolerance": -5.0}],
    ids=str,
)
def test_no_date_for_limits_that_are_none(wrong):
    trend = fit_trend([0.0, 1.0, 2.0], [0.0, 1.0, 2.0], covariance=0.01 * np.eye(3), stretch=[0, 0, 0])
    good = {"tolerance": 5.0, "level": 0.95, "horizon_years": 10.0}
    with pytest.raises(ValueError, match="between 0 and 1, a horizon and a tolerance above 0"):
        find_conformity_date(trend, **(good | wrong), rng=np.random.default_rng(1))


@pytest.mark.parametrize(
    ("difference", "U"), [(1.0, 0.0), (1.0, -1.0), (1.0, math.inf), (math.nan, 1.0), (1.0, math.nan)]
)
def test_no_normalized_error_without_a_finite_uncertainty(difference, U):
    with pytest.raises(ValueError, match="give a finite difference and an uncertainty above zero"):
        normalized_error(difference, U)


def test_a_contribution_that_cannot_be_used_names_its_file():
    wrong = Contribution(name="settling", value_pct=-1.0, distribution="normal")
    with pytest.raises(BudgetError, match=r"^visit\.toml, .*settling"):
        state_contributions(Visit(date=date(2026, 5, 19), performed_by="A", equipment=(), contributions=(wrong,)))


def test_the_least_frequencies_and_levels_of_a_plan():
    still = replace(CHANNEL, rotors=(), alert=None, trip=None, full_scale=None)
    assert top_level(still) is None
    assert top_level(replace(still, full_scale=25.0)) == 25.0
    assert top_level(replace(still, alert=20.0, full_scale=21.0)) == 21.0
    assert list(frequencies_of_linearity(still)) == [80.0]
    assert frequencies_of_linearity(replace(still, band=None)) == {}
    assert frequencies_of_linearity(CHANNEL) == {50.0: "turbine", 149.0: "pinion"}


def test_missing_equipment_contributes_nothing():
    case = replace(make_case("band-response", HZ, np.full(3, 40.0)), references=(), readouts=())
    names = [line.name for line in assess_readings(case, scale_readings(case)).common(80.0)]
    assert "reference level" not in names
    assert "readout gain" not in names


def test_a_sensor_is_expected_within_tolerance_and_flatness():
    """5 %, and 5 % of flatness away from the reference frequency: 0.95 x 0.95 and 1.05 x 1.05 of 50 pC."""
    away = expect_sensor(CHANNEL, frequency_hz=160.0).at(10.0)
    assert (away.expected, away.lowest, away.highest) == pytest.approx((50.0, 45.125, 55.125))
    at = expect_sensor(CHANNEL, frequency_hz=SENSOR.reference_hz).at(10.0)
    assert (at.expected, at.lowest, at.highest) == pytest.approx((50.0, 47.5, 52.5))
