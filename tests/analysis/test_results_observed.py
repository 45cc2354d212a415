"""What results say to a history, to a list of thousands and to a later test of the same channel: by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.attribution import LEVELS, SENSOR_HZ
from tests.support.readings.cases import CHANNEL, SENSOR, make_case
from tests.support.readings.crossings import half_power_crossings
from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.band_response.half_power import half_power_of
from vibcal_nb.analysis.drift.channel_observations import observe_channel
from vibcal_nb.analysis.drift.observations import observe
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.result import Result
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.analysis.site.margins import worst_margin
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.units import parse_unit

OWN = math.hypot(0.2, 0.1 / math.sqrt(3.0))
BY_FREQUENCY = math.sqrt((0.2**2 + 0.3**2 + 0.1**2) / 3.0)
DRIFT = 0.2 * 129 / 365.25 / math.sqrt(3.0)


def line(gain=1.0, **how):
    ratios = np.array([1.0, 0.97, 1.0, 1.02, 1.0])
    return analyse_linearity(
        make_case("linearity", np.full(5, 50.0), 4.0 * gain * ratios * LEVELS, applied=LEVELS, **how)
    )


def sensor(gain=1.0, at_200=1.0):
    output = 50.0 * gain * np.where(SENSOR_HZ == 200.0, at_200, 1.0)
    return analyse_sensor_alone(make_case("sensor-alone", SENSOR_HZ, output))


def test_a_sensors_observation_keeps_its_own_apart_from_certificates_and_the_visits_temperature():
    """1.1 of nominal: every part weighs 1.1 times; mounting belongs to the observation alone."""
    (found,) = observe(sensor(1.1))
    assert (found.quantity, found.tolerance_pct) == ("sensor sensitivity at 80 Hz", 5.0)
    assert (found.condition, found.visit, found.verdict) == ("as-found", "2026-05-19", "fail")
    assert found.deviation_pct == pytest.approx(10.0)
    assert found.u_own_pct == pytest.approx(1.1 * math.hypot(OWN, BY_FREQUENCY))
    assert found.shared_pct == pytest.approx(
        {
            "reference level, REF-1 of 2026-01-10": 1.1 * 0.5,
            "reference drift, REF-1 of 2026-01-10": 1.1 * DRIFT,
            "readout gain, DVM-1 of 2026-01-10": 1.1 * 0.1,
            "readout drift, DVM-1 of 2026-01-10": 0.0,  # it states none
            "temperature, STG-1 2026-05-19": 1.1 * 0.2 / math.sqrt(3.0),
        }
    )
    assert found.u_pct == pytest.approx(math.hypot(found.u_own_pct, *found.shared_pct.values()))


class OfNothing(Result):
    """A kind of result that states and judges nothing of its own."""


def test_a_line_and_a_band_are_observed_too_and_other_things_are_not():
    (found,) = observe(line(0.98))
    assert (found.quantity, found.tolerance_pct) == ("sensitivity at 50 Hz", 5.0)
    assert found.deviation_pct == line(0.98).frequencies[0].line.deviation_pct
    band = analyse_band_response(make_case("band-response", SENSOR_HZ, np.full(SENSOR_HZ.size, 39.2)))
    (reference,) = observe(band)
    assert (reference.quantity, reference.tolerance_pct) == ("band reference sensitivity at 80 Hz", None)
    assert reference.deviation_pct == pytest.approx(-2.0)
    assert observe(OfNothing()) == ()
    assert observe(analyse_sensor_alone(make_case("sensor-alone", [20.0, 40.0], [50.0, 50.0]))) == ()
    assert observe(analyse_band_response(make_case("band-response", [20.0, 40.0], [50.0, 50.0]))) == ()
    two = make_case("linearity", np.full(2, 50.0), 4.0 * LEVELS[:2], applied=LEVELS[:2])
    assert observe(analyse_linearity(two)) == ()


def test_the_worst_margin_of_a_result_names_what_lies_nearest_to_its_limit():
    """Of 5 %: a reading 3 % low leaves 40 %; at 200 Hz 4.5 % of flatness leaves 10 %; the line's -4 % leaves 20 %."""
    worst = worst_margin(line())
    assert worst.name == "reading in row 3 at 50 Hz"
    assert (worst.value_pct, worst.margin_pct) == pytest.approx((-3.0, 40.0), abs=1e-6)
    flat = worst_margin(sensor(at_200=1.045))
    assert (flat.name, flat.margin_pct) == ("reading in row 7 at 200 Hz", pytest.approx(10.0, abs=1e-6))
    off = worst_margin(sensor(0.96))
    assert (off.name, off.margin_pct) == ("sensor sensitivity at 80 Hz", pytest.approx(20.0, abs=1e-6))
    assert worst_margin(OfNothing()) is None
    limited = worst_margin(line(channel=replace(CHANNEL, nonlinearity_pct=1.05)))
    share = line().frequencies[0].line.nonlinearity_pct["independent"]
    assert limited.name == "non-linearity at 50 Hz"
    assert limited.margin_pct == pytest.approx(100.0 * (1.05 - share) / 1.05)
    band = analyse_band_response(make_case("band-response", SENSOR_HZ, 40.0 * np.where(SENSOR_HZ == 20.0, 0.72, 1.0)))
    low, high = 100.0 * 10.0 ** (-4.0 / 20.0), 100.0 * 10.0 ** (-2.0 / 20.0)  # the usual limits at a corner
    assert (worst_margin(band).name, worst_margin(band).value_pct) == (
        "reading in row 8 at 400 Hz",
        pytest.approx(100.0),
    )
    assert worst_margin(band).margin_pct == pytest.approx(100.0 * (high - 100.0) / (0.5 * (high - low)))


def test_tests_that_no_table_judges_are_passed_over(tmp_path):
    """Readings of a sensor that asset.toml does not state."""
    asset = ASSET[: ASSET.index("[channels.STG-1-V11.sensor]")]
    rows = [*linearity_rows(), "STG-1-V11,sensor-alone,as-found,80,10,m/s2 pk,50,pC pk,,,,"]
    for text, quantities in (
        (asset, ["sensitivity at 50 Hz"]),
        (ASSET, ["sensitivity at 50 Hz", "sensor sensitivity at 80 Hz"]),
    ):
        visit = load_visit(build_site(tmp_path, rows, asset=text))
        assert [o.quantity for o in observe_channel([visit], "STG-1-V11")] == quantities
    assert [o.quantity for o in observe_channel([visit, visit], "STG-1-V11", tests=["linearity"])] == quantities[:1] * 2
    assert observe_channel([visit], "STG-1-V99") == ()
    assert observe_channel([visit], "STG-1-V11", tests=["module-alone"]) == ()


def test_readings_are_scaled_at_their_own_frequency():
    """10 m/s2 pk at 50 and 100 Hz are 10/(2 pi f) m/s pk; outputs in V rms are sqrt(2) 1000 mV pk."""
    case = make_case("linearity", [50.0, 100.0], [0.05, 0.06], units=("m/s2 pk", "V rms"), decimals=2, exclude={1: "x"},
                     channel=replace(CHANNEL, output_zero=3.0))  # fmt: skip
    scaled = scale_readings(case)
    per_hz = 1000.0 / (2.0 * np.pi * np.array([50.0, 100.0]))
    assert scaled.x == pytest.approx(10.0 * per_hz)
    assert scaled.resolution_x == pytest.approx(0.01 * per_hz)
    volts = 1000.0 * math.sqrt(2.0)
    assert scaled.output == pytest.approx(volts * np.array([0.05, 0.06]))
    assert scaled.y == pytest.approx(scaled.output - 3.0)
    assert scaled.resolution_y == pytest.approx([0.01 * volts] * 2)
    assert list(scaled.used) == [True, False]
    part = scaled.at(np.array([False, True]))
    assert (len(part), part.x[0], part.readings) == (1, scaled.x[1], scaled.readings[1:])
    assert scale_readings(make_case("linearity", [50.0], [40.0])).resolution_x == pytest.approx([0.0])


def test_the_finest_step_written_in_a_unit_counts_for_all_written_in_it():
    case = make_case("linearity", [50.0] * 3, [40.0] * 3)
    mixed = tuple(
        replace(r, output_unit=parse_unit(unit), output_decimals=d)
        for r, unit, d in zip(case.readings, ("mV pk", "V pk", "mV pk"), (1, 4, 3), strict=True)
    )
    assert scale_readings(replace(case, readings=mixed)).resolution_y == pytest.approx([0.001, 0.1, 0.001])


def test_repeats_are_averaged_in_the_logarithm_before_a_corner_is_sought():
    merged = half_power_of(
        np.log([80.0, 20.0, 80.0]),
        np.log([1.0, 0.5, 4.0]),
        CorrelatedErrors(own=np.array([0.01, 0.01, 0.01])),
        reference_hz=80.0,
    )
    assert merged.ln_f == pytest.approx(np.log([20.0, 80.0]))
    assert merged.ln_s == pytest.approx(np.log([0.5, 2.0]))
    assert np.diag(merged.covariance) == pytest.approx([1e-4, 0.5e-4])
    hz = np.array([20.0, 40.0, 80.0, 80.0, 160.0, 320.0])
    s = np.array([0.5, 0.9, 0.9, 1.1, 0.9, 0.5])
    (low, _), (high, _) = half_power_crossings(hz, s, reference_hz=80.0)
    assert 20.0 < low < 40.0 and 160.0 < high < 320.0
    assert low * high == pytest.approx(6400.0)  # a symmetric response about 80 Hz


def test_the_first_crossing_outward_from_the_reference_is_the_corner():
    hz = np.array([5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0])
    s = np.array([0.5, 1.0, 0.5, 1.0, 1.0, 1.0, 0.9])
    (low, _), (high, why) = half_power_crossings(hz, s, reference_hz=80.0)
    assert 20.0 < low < 40.0
    assert high is None
    assert why == "no reading on the high-frequency side falls to half power (70.7 %) of the reference reading"


def test_the_sensors_worst_reading_is_sought_in_its_flat_part():
    short = replace(CHANNEL, sensor=replace(SENSOR, flat_hz=(30.0, 100.0)))
    gains = np.where(SENSOR_HZ == 400.0, 1.5, np.where(SENSOR_HZ == 50.0, 0.97, 1.0))
    result = analyse_sensor_alone(make_case("sensor-alone", SENSOR_HZ, 50.0 * gains, channel=short))
    assert result.worst_point.reading.frequency_hz == 50.0
    assert result.worst_point.value_pct == pytest.approx(-3.0)
    free = replace(CHANNEL, sensor=replace(SENSOR, flat_pct=None))
    result = analyse_sensor_alone(make_case("sensor-alone", SENSOR_HZ, 50.0 * gains, channel=free))
    assert result.worst_point.value_pct == pytest.approx(50.0)
    assert [p.decision for p in result.points] == [None] * SENSOR_HZ.size
    alone = analyse_sensor_alone(make_case("sensor-alone", [80.0], [50.0]))
    assert alone.worst_point is None
    assert alone.undetermined["fit"] == "usable readings at 1 frequency, where 3 are needed for a fit"


def test_a_side_that_does_not_fall_has_no_corner_whatever_the_other_does():
    hz = np.array([20.0, 40.0, 80.0, 160.0, 320.0])
    falling = np.array([1.0, 1.0, 1.0, 0.9, 0.3])
    (low, _), (high, _) = half_power_crossings(hz, falling, reference_hz=80.0)
    assert low is None and 160.0 < high < 320.0
    (low, _), (high, _) = half_power_crossings(hz, falling[::-1], reference_hz=80.0)
    assert 20.0 < low < 40.0 and high is None
    (low, _), (high, _) = half_power_crossings(hz[:3], falling[:3], reference_hz=20.0)
    assert (low, high) == (None, None)
