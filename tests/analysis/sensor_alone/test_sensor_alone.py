"""The sensor alone from readings to verdict: truth from its physics, statsmodels, gaps, odd tables, and laws."""

from __future__ import annotations

import math
from dataclasses import replace

import GTC
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import CHANNEL, SENSOR, SHORT, in_units, make_case, sane
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor, fit_sensor
from vibcal_nb.problems import NothingToAnalyse

F = np.array([20, 25, 31.5, 40, 63, 80, 125, 200, 315, 500, 800, 1250, 1600, 2000.0])
AT_REFERENCE = int(np.flatnonzero(F == 80.0)[0])


def physics(f=F, *, gain=5.0, fn=None, f1=None, fall=0.0):
    """Sensitivity of a sensor with a resonance, a leak, and a fall per decade about the middle of ``f``."""
    decades = np.log10(f) - np.log10(f).mean()
    rise = 1.0 if fn is None else 1.0 / (1.0 - (f / fn) ** 2)
    droop = 1.0 if f1 is None else 1.0 / np.sqrt(1.0 + (f1 / f) ** 2)
    return gain * rise * droop * (1.0 - fall * decades)


def case_of(sensitivity=None, *, f=F, sensor=SENSOR, applied=10.0, **how):
    sensitivity = physics(f) if sensitivity is None else np.asarray(sensitivity)
    channel = replace(CHANNEL, sensor=sensor)
    return make_case("sensor-alone", f, sensitivity * applied, channel=channel, applied=applied, **how)


def analyse(sensitivity=None, **how):
    return analyse_sensor_alone(case_of(sensitivity, **how))


# --- truth ---


def test_a_good_sensor_passes():
    result = analyse(physics(gain=5.1, fn=20_000.0))
    assert result.verdict == "pass"
    at_80 = physics(gain=5.1, fn=20_000.0)[AT_REFERENCE]
    assert result.reference.sensitivity == pytest.approx(at_80, rel=1e-12)
    assert result.reference.deviation_pct == pytest.approx(100.0 * (at_80 / 5.0 - 1.0), rel=1e-12)
    assert result.worst_point.reading.frequency_hz == 2000.0
    assert result.worst_point.value_pct == pytest.approx(100.0 * (1.0 / (1.0 - 0.01) - 1.0), abs=0.01)
    sane(result)


@pytest.mark.parametrize(("gain", "verdict"), [(4.74, "fail"), (4.76, "pass"), (5.24, "pass"), (5.26, "fail")])
def test_tolerance_at_the_reference_frequency(gain, verdict):
    result = analyse(physics(gain=gain))
    assert result.verdict == verdict
    assert result.reference.decision.verdict == verdict
    assert all(p.verdict in (None, "pass") for p in result.points)  # flat about its own sensitivity


def test_deviations_are_from_the_sensitivity_at_the_reference_frequency_and_not_from_nominal():
    """A sensor 4 % high and flat within 2 % passes 5 % of either, though some points lie 6 % above nominal."""
    sensitivity = physics(gain=5.2) * np.where(F > 1000.0, 1.02, 1.0)
    result = analyse(sensitivity)
    assert result.verdict == "pass"
    assert max(sensitivity) / 5.0 > 1.05
    assert result.worst_point.value_pct == pytest.approx(2.0, rel=1e-9)


def test_a_low_resonance_fails_at_the_frequencies_it_lifts():
    """At fn/4 the rise is 6.7 % (textbook): 2000 Hz with a resonance at 8 kHz."""
    result = analyse(physics(fn=8000.0))
    assert result.verdict == "fail"
    assert [p.reading.frequency_hz for p in result.points if p.verdict == "fail"] == [2000.0]
    assert result.worst_point.value_pct == pytest.approx(6.7, abs=0.05)
    assert result.fit.physics.resonance.value == pytest.approx(8000.0, rel=1e-6)
    assert result.fit.physics.leak.value is None


def test_a_leak_fails_at_low_frequencies():
    """A droop with its corner at 8 Hz takes 7 % off at 20 Hz."""
    result = analyse(physics(f1=8.0))
    assert result.verdict == "fail"
    assert result.worst_point.reading.frequency_hz == 20.0
    assert result.worst_point.value_pct == pytest.approx(100.0 * math.sqrt((1 + 0.01) / (1 + 0.16)) - 100.0, abs=1e-9)
    assert result.fit.physics.leak.value == pytest.approx(8.0, rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_physics_within_their_intervals(seed):
    """A resonance at 12 kHz and a fall of 1.2 % a decade under 0.1 % noise."""
    noise = np.exp(0.001 * np.random.default_rng(seed).standard_normal(F.size))
    fit = analyse(physics(fn=12_000.0, fall=0.012) * noise).fit
    assert fit.physics.resonance.interval[0] < 12_000.0 < fit.physics.resonance.interval[1]
    if fit.physics.fall.value is not None:
        assert fit.physics.fall.interval[0] < 1.2 < fit.physics.fall.interval[1]
    else:
        assert "no significant" in fit.physics.fall.why


def test_what_the_readings_do_not_show_is_not_stated():
    noise = np.exp(0.002 * np.random.default_rng(8).standard_normal(F.size))
    result = analyse(physics() * noise)
    assert result.fit.terms == ()
    for estimate in (result.fit.physics.resonance, result.fit.physics.leak, result.fit.physics.fall):
        assert estimate.value is None
        assert "the readings show no significant" in estimate.why
    assert "the readings show no significant" in result.undetermined["resonance_hz"]


# --- second ways ---


def test_the_level_of_a_flat_sensor_by_statsmodels():
    """No physics to show: the weighted mean of ln S and its standard error."""
    applied = np.linspace(1.0, 20.0, F.size)
    sensitivity = (
        np.round(5.0 * applied * np.exp(0.003 * np.random.default_rng(4).standard_normal(F.size)), 1) / applied
    )
    result = analyse(sensitivity, applied=applied, decimals=1)
    fit = result.fit
    assert fit.terms == () and np.ptp(fit.errors.u) > 0.001
    other = sm.WLS(np.log(sensitivity), np.ones(F.size), weights=1.0 / fit.errors.u**2).fit()
    assert math.log(fit.S0) == pytest.approx(other.params[0], abs=1e-9)
    assert fit.covariance[0, 0] == pytest.approx(other.normalized_cov_params[0, 0] * fit.fitness.widening, rel=1e-6)
    assert fit.fitness.chi_squared == pytest.approx(float(np.sum(other.wresid**2)), rel=1e-9)


def test_a_fall_per_decade_by_statsmodels():
    """S = S0 (1 - fall decades) is a straight line in S: weights 1/(u S)^2 give the same to second order."""
    noise = np.exp(0.0005 * np.random.default_rng(6).standard_normal(F.size))
    s = physics(fall=0.02) * noise
    fit = fit_sensor(F, s, u_rel=0.001, terms=("fall",))
    decades = np.log10(F) - np.log10(F).mean()
    other = sm.WLS(s, sm.add_constant(decades), weights=1.0 / (0.001 * s) ** 2).fit()
    fall = -other.params[1] / other.params[0]
    assert fit.physics.fall.value == pytest.approx(100.0 * fall, rel=1e-3)
    half = (fit.physics.fall.interval[1] - fit.physics.fall.value) / 100.0
    u_slope = math.sqrt(other.normalized_cov_params[1, 1])  # of the stated 0.1 %, not of the scatter of 0.05 %
    assert half == pytest.approx(1.959964 * u_slope / other.params[0], rel=0.02)


def test_uncertainty_of_the_sensitivity_by_gtc():
    """All that is shared stays in the sensitivity: the budget of default contributions, propagated by GTC."""
    rectangular = {"mounting": 0.2, "transverse": 0.3, "distortion": 0.1, "temperature": 0.2, "cable": 0.1}
    errors = [GTC.ureal(0.0, 0.01 * half / math.sqrt(3.0)) for half in rectangular.values()]
    errors += [GTC.ureal(0.0, 0.005), GTC.ureal(0.0, 0.001), GTC.ureal(0.0, 0.002)]  # reference, readout, settling
    errors += [GTC.ureal(0.0, 0.002 * (129 / 365.25) / math.sqrt(3.0))]  # drift since the calibration
    result = analyse(physics(gain=5.1))
    sensitivity = 5.1 * (1.0 + sum(errors))
    assert result.reference.expanded.u == pytest.approx(GTC.uncertainty(sensitivity), rel=1e-6)
    deviation = 100.0 * (sensitivity / 5.0 - 1.0)
    assert result.reference.budget.expanded().u == pytest.approx(GTC.uncertainty(deviation), rel=1e-6)


def test_uncertainty_of_a_deviation_has_lost_what_is_shared():
    result = analyse()
    alone = math.hypot(math.sqrt(0.2**2 + 0.3**2 + 0.1**2) / math.sqrt(3.0), math.hypot(0.2, 0.1 / math.sqrt(3.0)))
    for i, point in enumerate(result.points):
        expected = 0.0 if i == AT_REFERENCE else math.sqrt(2.0) * alone
        assert point.expanded.u == pytest.approx(expected, rel=1e-9)


# --- what stays open ---


@pytest.mark.parametrize("how", ["never read", "excluded", "no level"])
def test_without_the_reference_frequency_nothing_is_stated(how):
    keep = F != 80.0 if how == "never read" else np.full(F.size, True)
    case = case_of(physics()[keep], f=F[keep], exclude={AT_REFERENCE: "knocked"} if how == "excluded" else None)
    if how == "no level":
        case = replace(case, readings=tuple(replace(r, applied=10.0 * (r.frequency_hz != 80)) for r in case.readings))
    result = analyse_sensor_alone(case)
    assert result.verdict == "not verified"
    assert result.not_verified == ("no usable reading at the reference frequency 80 Hz",)
    assert (result.reference, result.worst_point) == (None, None)
    assert {(p.value_pct, p.decision) for p in result.points} == {(None, None)}
    assert result.fit is not None  # the shape needs no reference
    sane(result)


@pytest.mark.parametrize("sensitivity", [0.0, -5.0])
def test_a_dead_or_reversed_sensor_fails(sensitivity):
    """No output where vibration was applied is a finding about the sensor, not a missing reading."""
    result = analyse(np.full(F.size, sensitivity))
    assert result.verdict == "fail"
    assert result.reference.sensitivity == sensitivity
    assert result.reference.deviation_pct == pytest.approx(100.0 * (sensitivity / 5.0 - 1.0))
    assert "output shows no vibration at the reference frequency" in sane(result)["undetermined"]["worst_deviation_pct"]


def test_a_sensor_dead_at_the_reference_only_can_be_drawn():
    result = analyse(np.where(F == 80.0, 0.0, 5.0))
    assert result.verdict == "fail"
    assert result.fit is not None
    fitted = lambda shown: [line for ax in shown.plot().axes for line in ax.get_lines() if len(line.get_xdata()) > 100]  # noqa: E731
    assert fitted(result) == []
    assert len(fitted(analyse())) == 1


@pytest.mark.parametrize(
    ("f", "said"),
    [
        ([80.0], "readings at 1 frequency within 20 to 2000 Hz, where 3 are needed to call it flat"),
        ([80.0] * 5, "readings at 1 frequency within 20 to 2000 Hz"),
        ([80.0, 80.3, 160.0], "readings at 2 frequencies within 20 to 2000 Hz"),
        ([63.0, 80.0, 100.0, 125.0], "the flat part runs from 20 to 2000 Hz and the readings only from 63 to 125 Hz"),
        ([20.0, 80.0, 1250.0], "the readings only from 20 to 1250 Hz"),
    ],
)
def test_too_few_or_too_narrow_readings_do_not_make_it_flat(f, said):
    result = analyse(np.full(len(f), 5.0), f=np.array(f))
    assert result.verdict == "not verified"
    assert said in result.not_verified[0]
    assert result.reference.decision.verdict == "pass"
    sane(result)


def test_without_a_flat_part_the_sensitivity_alone_is_judged():
    sensor = replace(SENSOR, flat_hz=None, flat_pct=None)
    result = analyse([5.0, 9.0], f=np.array([80.0, 1000.0]), sensor=sensor)
    assert result.verdict == "pass"
    assert result.worst_point.value_pct == pytest.approx(80.0)
    assert result.worst_point.decision is None
    lone = analyse([5.0], f=np.array([80.0]), sensor=sensor)
    assert lone.verdict == "pass"
    assert "no reading at another frequency" in sane(lone)["undetermined"]["worst_deviation_pct"]


def test_flat_everywhere_where_no_ends_are_stated():
    sensor = replace(SENSOR, flat_hz=None)
    assert analyse(sensor=sensor).verdict == "pass"
    assert analyse(physics(fn=8000.0), sensor=sensor).verdict == "fail"
    few = analyse([5.0, 5.0], f=np.array([80.0, 100.0]), sensor=sensor)
    assert few.not_verified == ("readings at 2 frequencies, where 3 are needed to call it flat",)


def test_readings_outside_the_flat_part_carry_no_limit():
    f = np.append(F, 6000.0)
    result = analyse(np.append(physics(), 9.0), f=f)
    assert result.verdict == "pass"
    assert (result.points[-1].upper_pct, result.points[-1].decision) == (None, None)
    assert result.worst_point.reading.frequency_hz != 6000.0


def test_a_channel_without_a_sensor_is_refused_in_a_sentence():
    case = case_of()
    with pytest.raises(NothingToAnalyse, match=r"STG-1-V11 has no \[sensor\] table in asset.toml; add it"):
        analyse_sensor_alone(replace(case, channel=replace(CHANNEL, sensor=None)))


ODD = {
    "nothing": ([], [], {}),
    "all excluded": (F, physics(), {"exclude": dict.fromkeys(range(F.size), "lost")}),
    "only the reference": (F, physics(), {"exclude": {i: "lost" for i in range(F.size) if i != AT_REFERENCE}}),
    "two readings": ([80.0, 400.0], [5.0, 5.0], {}),
    "one dead reading": (F, np.where(F == 20.0, 0.0, 5.0), {}),
    "minute": (F, physics(gain=1e-12), {}),
    "enormous": (F, physics(gain=1e12), {}),
    "wild": (F[:10], [1e-12, 1e12, 1.0, -2.0, 3.0, 4.0, 1e-9, 6.0, 1e9, 1e-3], {}),
    "resonance in the readings": (F, 5.0 / np.abs(1.0 - (F / 520.0) ** 2), {}),
    "proportional to frequency": (F, F / 16.0, {}),
    "noise": (F, np.abs(np.random.default_rng(2).standard_normal(F.size)), {}),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_tables_end_in_a_verdict_and_reasons(name):
    f, sensitivity, how = ODD[name]
    result = analyse(np.array(sensitivity), f=np.array(f), **how)
    sane(result)
    assert result.verdict in ("fail", "not verified")
    for point in result.points:
        assert point.value_pct is None or math.isfinite(point.value_pct)


# --- the fit's own refusals and laws ---


@pytest.mark.parametrize(
    ("f", "s", "how", "said"),
    [
        ([80.0], [5.0], {}, "give at least 2"),
        ([80.0, 90.0], [5.0], {}, "2 frequencies and 1 sensitivities"),
        ([80.0, -90.0], [5.0, 5.0], {}, "not a positive number"),
        ([80.0, 90.0], [5.0, math.nan], {}, "not a positive number"),
        ([80.0, 90.0], [5.0, 5.0], {"u_rel": -1.0}, "a number above 0; give it as a fraction"),
        ([80.0, 90.0], [5.0, 5.0], {"terms": ("rize",)}, "No term is called 'rize'; choose from rise, damping, droop"),
    ],
)
def test_what_cannot_be_fitted_is_refused_in_a_sentence(f, s, how, said):
    with pytest.raises(ValueError, match=said):
        fit_sensor(f, s, **{"u_rel": 0.01} | how)


@SHORT
@given(st.floats(1e-9, 1e9), st.floats(1e-2, 1e2), st.sampled_from([{"fn": 9e3}, {"f1": 5.0}, {"fall": 0.02}, {}]))
def test_units_scale_the_fit_and_nothing_else(scale, stretch, what):
    noise = np.exp(0.0005 * np.random.default_rng(1).standard_normal(F.size))
    s = physics(**what) * noise
    one, other = fit_sensor(F, s, u_rel=0.001), fit_sensor(stretch * F, scale * s, u_rel=0.001)
    assert other.terms == one.terms
    assert pytest.approx(scale * one.S0, rel=1e-6) == other.S0
    np.testing.assert_allclose(evaluate_sensor(other, stretch * F), scale * evaluate_sensor(one, F), rtol=1e-6)
    for ours, theirs in (
        (one.physics.resonance.value, other.physics.resonance.value),
        (one.physics.leak.value, other.physics.leak.value),
    ):
        assert (ours is None and theirs is None) or theirs == pytest.approx(stretch * ours, rel=1e-4)


# --- laws of the analysis ---

ERRORS = st.lists(st.floats(0.97, 1.03), min_size=F.size, max_size=F.size)


def assert_same(one, other):
    assert (other.verdict, other.not_verified) == (one.verdict, one.not_verified)
    ours, theirs = ({p.reading.row: p for p in result.points} for result in (one, other))
    for row, point in ours.items():
        assert theirs[row].value_pct == pytest.approx(point.value_pct, abs=1e-9)
        assert theirs[row].verdict == point.verdict
    assert other.reference.expanded.nu == pytest.approx(one.reference.expanded.nu)
    assert other.worst_point.value_pct == pytest.approx(one.worst_point.value_pct, abs=1e-9)


@SHORT
@given(ERRORS, st.permutations(range(F.size)))
def test_row_order_changes_nothing(errors, order):
    case = case_of(physics() * np.array(errors))
    shuffled = replace(case, readings=tuple(case.readings[i] for i in order))
    one, other = analyse_sensor_alone(case), analyse_sensor_alone(shuffled)
    assert_same(one, other)
    assert other.reference.sensitivity == pytest.approx(one.reference.sensitivity, rel=1e-12)


@SHORT
@given(
    ERRORS,
    st.lists(st.sampled_from(["mm/s rms", "g pk", "m/s2 rms", "um pkpk"]), min_size=F.size, max_size=F.size),
    st.sampled_from(["nC rms", "pC pkpk"]),
)
def test_units_of_the_table_change_nothing(errors, applied_units, output_unit):
    case = case_of(physics() * np.array(errors))
    other_units = in_units(case, applied_units, output_unit)
    one, other = analyse_sensor_alone(case), analyse_sensor_alone(other_units)
    assert_same(one, other)
    assert other.reference.sensitivity == pytest.approx(one.reference.sensitivity, rel=1e-12)
    assert other.reference.expanded.u == pytest.approx(one.reference.expanded.u, rel=1e-9)


@SHORT
@given(ERRORS, st.floats(1e-3, 1e3))
def test_a_gain_of_sensor_and_specification_changes_nothing(errors, gain):
    """Another unit of charge, as it were: output and nominal grow alike, and every per cent stays."""
    s = physics() * np.array(errors)
    one = analyse(s)
    other = analyse(gain * s, sensor=replace(SENSOR, nominal_sensitivity=gain * SENSOR.nominal_sensitivity))
    assert_same(one, other)
    assert other.reference.sensitivity == pytest.approx(gain * one.reference.sensitivity, rel=1e-12)
    assert other.reference.deviation_pct == pytest.approx(one.reference.deviation_pct, abs=1e-9)


@SHORT
@given(ERRORS, st.sampled_from([20.0, 80.0, 500.0, 5000.0]), st.floats(0.0, 1e4))
def test_an_excluded_reading_changes_nothing(errors, frequency_hz, output):
    case = case_of(physics() * np.array(errors))
    wild = replace(case.readings[0], row=99, frequency_hz=frequency_hz, output=output, exclude="knocked")
    one = analyse_sensor_alone(case)
    other = analyse_sensor_alone(replace(case, readings=(wild, *case.readings)))
    assert_same(one, other)
    assert other.reference.sensitivity == one.reference.sensitivity
    assert other.points[0].decision is None
    assert len(other.points) == F.size + 1
