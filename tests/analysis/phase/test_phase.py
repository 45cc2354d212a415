"""Phase in band response and sensor alone: polarity, delay, limits; published data; reversed parts fail by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from tests.support.published.institute import INSTITUTE
from tests.support.readings.cases import CHANNEL, REFERENCE, SENSOR, make_case, sane
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.phase.along_the_chain import fails_by_phase_alone, where_reversed
from vibcal_nb.analysis.phase.phase_readings import REFERENCE_DEG, SETTLING_DEG
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.views import view_of
from vibcal_nb.model.asset import BandSpecification, PhaseLimit, PhaseSpecification
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.units import parse_unit

F, S, PHASE = INSTITUTE[:, 0], INSTITUTE[:, 1], INSTITUTE[:, 3]
ACCELERATION, VELOCITY = parse_unit("m/s2 pk"), parse_unit("mm/s pk")
BAND = BandSpecification(reference_hz=16.0, flat_hz=(10.0, 50.0), flat_pct=5.0)
CHANNEL_A = replace(CHANNEL, input_unit=ACCELERATION, nominal_sensitivity=10.0, band=BAND, sensor=None, rotors=())


def analyse(phase, *, stated=None, channel=CHANNEL_A, f=F, s=S, exclude=None, units=None, u=None):
    case = make_case(
        "band-response", f, 100.0 * s, channel=replace(channel, phase=stated), exclude=exclude, units=units
    )
    return analyse_band_response(_with(case, phase, u))


def alone(phase, *, stated=None, of_channel=None, f=F, s=S):
    sensor = replace(SENSOR, input_unit=ACCELERATION, reference_hz=16.0, flat_hz=(10.0, 40.0), phase=stated)
    case = make_case("sensor-alone", f, 50.0 * s, channel=replace(CHANNEL, sensor=sensor, phase=of_channel))
    return analyse_sensor_alone(_with(case, phase))


def _with(case, phase, u=None):
    pairs = zip(case.readings, phase, strict=True)
    return replace(
        case, readings=tuple(replace(r, phase_deg=None if p is None else float(p), phase_u_deg=u) for r, p in pairs)
    )


def test_the_institutes_polarity_and_delay():
    """Published data: delay 1.5110 ms, intercept 0.003 degrees, of a filter that is no Butterworth."""
    stated = PhaseSpecification(
        polarity="+", delay_ms=(1.4, 1.6), limits=(PhaseLimit(frequency_hz=80, min_deg=-50, max_deg=-35),)
    )
    result = analyse(PHASE, stated=stated)
    assert result.verdict == "pass"
    entry = sane(result)["quantities"]["phase"]
    assert entry["polarity"] == "+"
    assert entry["delay_ms"] == pytest.approx(1.5110, abs=1e-4)
    assert entry["intercept_deg"] == pytest.approx(0.003, abs=0.002)
    assert [item["verdict"] for item in entry["judged"]] == ["pass"] * 3
    assert entry["judged"][2]["value"] == pytest.approx(-43.514)
    assert entry["points"][0]["phase_deg"] == pytest.approx(-5.426)


@pytest.mark.parametrize("turned", [180.0, -180.0, 540.0])
def test_a_reversed_channel_fails_by_name(turned):
    result = analyse(PHASE + turned, stated=PhaseSpecification(polarity="+"))
    assert (result.verdict, result.phase.polarity) == ("fail", "-")
    assert "The channel is reversed: its polarity is − where + is stated" in compose_statement(result)
    assert view_of(result).sentence(result).startswith("is reversed: its polarity is − where + is stated")
    assert fails_by_phase_alone(result)
    assert result.phase.delay_ms.value == pytest.approx(1.5110, abs=1e-4)


def test_a_reversed_sensor_fails_by_its_own_polarity_or_else_by_its_channels():
    for result in (
        alone(PHASE + 180.0, stated=PhaseSpecification(polarity="+")),
        alone(PHASE + 180.0, of_channel=PhaseSpecification(polarity="+", delay_ms=(5.0, 6.0))),
    ):
        assert result.verdict == "fail"
        assert "The sensor is reversed" in compose_statement(result)
    assert alone(PHASE + 180.0, stated=PhaseSpecification(polarity="-")).verdict == "pass"
    assert (
        alone(
            PHASE + 180.0, stated=PhaseSpecification(polarity="-"), of_channel=PhaseSpecification(polarity="+")
        ).verdict
        == "pass"
    )


def test_a_velocity_is_a_quarter_of_a_turn_behind_the_acceleration_it_was_driven_by():
    """Closed form: of a sine, velocity lags acceleration by 90 degrees, displacement lags velocity by as much."""
    channel = replace(CHANNEL_A, input_unit=VELOCITY, nominal_sensitivity=4.0)
    s = S * 0.4
    in_velocity = analyse(PHASE, stated=PhaseSpecification(polarity="+"), channel=channel, s=s)
    against = PHASE - 90.0  # the output lags the acceleration by a quarter of a turn more than the velocity
    in_acceleration = analyse(
        against, stated=PhaseSpecification(polarity="+"), channel=channel, units=("m/s2 pk", "mV pk"), s=s
    )
    assert in_acceleration.phase.intercept_deg.value == pytest.approx(in_velocity.phase.intercept_deg.value)
    assert in_acceleration.phase.polarity == "+"
    by_displacement = analyse(PHASE + 90.0, channel=channel, units=("um pkpk", "mV pkpk"), s=s)
    assert by_displacement.phase.intercept_deg.value == pytest.approx(in_velocity.phase.intercept_deg.value)


def test_limits_are_held_against_what_was_read_there_else_against_the_line():
    limits = (
        PhaseLimit(frequency_hz=80.0, min_deg=316.0, max_deg=317.0),
        PhaseLimit(frequency_hz=90.0, min_deg=-50.0, max_deg=-48.0),
    )
    result = analyse(PHASE, stated=PhaseSpecification(limits=limits))
    at_80, at_90 = result.phase.limits
    assert at_80.estimate.value == pytest.approx(360.0 - 43.514)
    assert at_80.decision.verdict == "pass"
    assert at_90.estimate.value == pytest.approx(0.0033768 - 0.54397226 * 90.0, abs=1e-3)  # numpy.polyfit's line
    beyond = analyse(PHASE, stated=PhaseSpecification(limits=(PhaseLimit(frequency_hz=400.0, min_deg=0, max_deg=1),)))
    assert beyond.verdict == "not verified"
    assert "Phase, at 400 Hz: no phase was read at 400 Hz" in compose_statement(beyond)


def test_what_is_stated_and_was_not_read_is_not_verified():
    result = analyse([None] * F.size, stated=PhaseSpecification(polarity="+"))
    assert result.verdict == "not verified"
    assert "No phase was read: read it at 3 frequencies or more" in compose_statement(result)
    entry = result_entry(result)
    assert entry["quantities"]["phase"] is None
    assert entry["undetermined"]["phase"] == "no phase was read"
    few = analyse([0.0, -2.0] + [None] * (F.size - 2), stated=PhaseSpecification(polarity="+"))
    assert few.verdict == "not verified"
    assert "a phase at 2 frequencies, where a line needs 3" in compose_statement(few)
    assert result_entry(few)["undetermined"]["phase.polarity"].startswith("a phase at 2")


def test_without_limits_phases_are_told_and_judge_nothing():
    result = analyse(PHASE)
    assert result.verdict == analyse([None] * F.size).verdict == "pass"
    assert "The polarity is +" in compose_statement(result)
    assert "The delay of the output is 1.5110 ± " in compose_statement(result)
    assert analyse([None] * F.size).phase is None
    assert "phase, °" in result.table().columns


def test_an_excluded_reading_stays_in_the_record_and_out_of_the_line():
    wrong = PHASE.copy()
    wrong[3] += 120.0
    result = analyse(wrong, exclude={3: "cable touched"})
    assert result.phase.delay_ms.value == pytest.approx(1.5110, abs=2e-4)
    assert result.phase.points[3].off_line_deg is None
    assert result_entry(result)["quantities"]["phase"]["points"][3]["excluded"] == "cable touched"


def test_the_intervals_follow_from_the_stated_errors():
    """One error of the reference at all frequencies moves the intercept as a whole, and the delay not at all."""
    result = analyse(PHASE, u=1e-6)
    assert REFERENCE.correlation == 1.0
    assert result.phase.line.covariance[0, 0] >= REFERENCE_DEG**2 / 3.0 * (1.0 - 1e-9)
    u = analyse(np.round(PHASE, 3)).phase.points[0].expanded.u
    assert u == pytest.approx(np.hypot(SETTLING_DEG, REFERENCE_DEG / np.sqrt(3.0)))


def test_a_moving_coils_lead_by_its_magnitudes_is_taken_off():
    """Response of the coil by SciPy: 10 Hz and 0.68 of critical damping, reversed; no delay."""
    f = np.array([4, 5, 6.3, 8, 10, 12.5, 16, 20, 25, 31.5, 50, 80, 125, 200, 315, 500])
    w = 2.0 * np.pi * 10.0
    response = signal.freqs([-1.0, 0.0, 0.0], [1.0, 2.0 * 0.68 * w, w**2], worN=2.0 * np.pi * f)[1]
    sensor = replace(
        SENSOR, input_unit=VELOCITY, output_unit=parse_unit("mV pk"), nominal_sensitivity=20.0, flat_hz=(20.0, 500.0),
        natural_frequency_hz=(9.0, 11.0), damping_ratio=(0.6, 0.8), phase=PhaseSpecification(polarity="+"),
    )  # fmt: skip
    case = make_case("sensor-alone", f, 200.0 * np.abs(response), channel=replace(CHANNEL, sensor=sensor))
    result = analyse_sensor_alone(_with(case, np.degrees(np.angle(response))))
    assert (result.verdict, result.phase.polarity) == ("fail", "-")
    assert abs(result.phase.intercept_deg.value - 180.0) < 0.2
    assert abs(result.phase.delay_ms.value) < 0.001
    assert result.phase.line.holds
    assert abs(result.phase.points[4].off_line_deg) < 0.3


def test_along_the_chain_the_part_that_turns_is_named():
    ok, turned = (
        analyse(PHASE, stated=PhaseSpecification(polarity="+")).phase,
        analyse(PHASE + 180.0, stated=PhaseSpecification(polarity="+")).phase,
    )
    assert where_reversed(ok, ok) is where_reversed(None, None) is None
    assert where_reversed(turned, turned).startswith("the sensor is reversed, and the channel with it")
    assert where_reversed(turned, ok).startswith("the channel is reversed and its sensor is not")
    assert where_reversed(turned, None).startswith("the channel is reversed; the phase of the sensor alone")
    assert where_reversed(None, turned).startswith("the sensor is reversed: its leads are crossed")
    assert where_reversed(ok, turned).startswith("the sensor is reversed where its channel was not")
