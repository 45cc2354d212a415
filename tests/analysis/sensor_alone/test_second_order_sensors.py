"""Moving coils and other second-order sensors, leaks, and damped resonances, told apart by their readings.

Responses by scipy.signal's transfer functions; half power of a second order in closed form.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, signal

from tests.support.readings.cases import CHANNEL, SENSOR, make_case, sane
from tests.support.sites.plants import ASSET, build_site
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor, fit_sensor
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.sensor_alone.sensor_tables import sensor_summary
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.units import parse_unit

HZ = np.array([3, 4, 5, 6.3, 8, 10, 12.5, 16, 20, 25, 31.5, 50, 80, 125, 200, 315, 500, 1000.0])
U = 0.003
# r = f/f0 of half power by damping ratio, closed form: r^2 = -(1 - 2 h^2) + sqrt((1 - 2 h^2)^2 + 1)
HALF_POWER_R = {0.3: 0.6879048283, 0.5: 0.7861513777574233, 0.7: 0.9900504937, 0.9: 1.3403750544}
COIL = replace(
    SENSOR,
    input_unit=parse_unit("mm/s pk"),
    output_unit=parse_unit("mV pk"),
    nominal_sensitivity=20.0,
    flat_hz=(31.5, 1000.0),
)


def magnitude(numerator, denominator, hz=HZ):
    return np.abs(signal.freqs(numerator, denominator, worN=2.0 * math.pi * np.asarray(hz))[1])


def moving_coil(natural_hz, damping, hz=HZ):
    w = 2.0 * math.pi * natural_hz
    return magnitude([1.0, 0.0, 0.0], [1.0, 2.0 * damping * w, w**2], hz)


def leaky(corner_hz, hz=HZ):
    return magnitude([1.0, 0.0], [1.0, 2.0 * math.pi * corner_hz], hz)


def resonant(hz, resonance_hz, quality):
    w = 2.0 * math.pi * resonance_hz
    return magnitude([w**2], [1.0, w / quality, w**2], hz)


def noise(seed, size=HZ.size):
    return np.exp(U * np.random.default_rng(seed).standard_normal(size))


def analyse(sensitivity, *, sensor=COIL, hz=HZ):
    channel = replace(CHANNEL, sensor=sensor)
    return analyse_sensor_alone(make_case("sensor-alone", hz, 10.0 * sensitivity, channel=channel, decimals=6))


# --- the fit ---


@pytest.mark.parametrize("damping", HALF_POWER_R)
@pytest.mark.parametrize("natural_hz", [4.0, 10.0, 15.0])
def test_natural_frequency_and_damping_are_recovered(damping, natural_hz):
    fit = fit_sensor(HZ, 20.0 * moving_coil(natural_hz, damping), u_rel=U)
    assert fit.low_end == "second order" and fit.inadequate is None
    assert fit.physics.natural_frequency.value == pytest.approx(natural_hz, rel=1e-6)
    assert fit.physics.damping_ratio.value == pytest.approx(damping, rel=1e-6)
    assert fit.physics.leak.why == "the droop to low frequencies is of second order"
    half_power = optimize.brentq(lambda f: evaluate_sensor(fit, f) - fit.S0 * math.sqrt(0.5), 1.0, 30.0)
    assert half_power / natural_hz == pytest.approx(HALF_POWER_R[damping], rel=1e-6)


def test_an_open_seismological_networks_moving_coil():
    """Published response metadata of a 1 Hz moving coil, h = 0.7071: poles -4.443 +- 4.443i rad/s, two zeros at 0."""
    hz = np.array([0.3, 0.5, 0.7, 1.0, 1.4, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0])
    poles = np.array([-4.443 + 4.443j, -4.443 - 4.443j])
    response = np.abs(signal.freqs_zpk([0.0, 0.0], poles, 1.0, worN=2.0 * math.pi * hz)[1])
    fit = fit_sensor(hz, response, u_rel=U)
    assert fit.physics.natural_frequency.value == pytest.approx(1.000, abs=5e-4)
    assert fit.physics.damping_ratio.value == pytest.approx(0.7071, abs=5e-5)


@pytest.mark.parametrize("seed", range(8))
def test_their_uncertainty_is_that_of_curve_fit(seed):
    """Scipy's least squares of the closed form in f0 and h, with the stated uncertainty."""
    s = 20.0 * moving_coil(8.0, 0.6) * noise(seed)

    def ln_s(f, ln_s0, f0, h):
        r = f / f0
        return ln_s0 + 2.0 * np.log(r) - 0.5 * np.log((1.0 - r**2) ** 2 + 4.0 * h**2 * r**2)

    start = (math.log(20.0), 7.0, 0.5)
    found, covariance = optimize.curve_fit(
        ln_s, HZ, np.log(s), p0=start, sigma=np.full(HZ.size, U), absolute_sigma=True, xtol=1e-14, ftol=1e-14
    )
    fit = fit_sensor(HZ, s, u_rel=U)
    natural, damping = fit.physics.natural_frequency, fit.physics.damping_ratio
    assert fit.terms == ("second order",)
    assert (natural.value, damping.value) == pytest.approx((found[1], found[2]), rel=1e-5)
    widening = math.sqrt(fit.fitness.widening)
    assert natural.expanded.u == pytest.approx(math.sqrt(covariance[1, 1]) * widening, rel=1e-3)
    assert damping.expanded.u == pytest.approx(math.sqrt(covariance[2, 2]) * widening, rel=1e-3)


@pytest.mark.parametrize("damping", [0.5, 0.7])
def test_a_healthy_moving_coil_is_told_no_leak(damping):
    for seed in range(20):
        fit = fit_sensor(HZ, 20.0 * moving_coil(10.0, damping) * noise(seed), u_rel=U)
        assert fit.low_end == "second order" and fit.physics.leak.value is None


def test_a_leak_is_named_where_its_slope_shows():
    named = [fit_sensor(HZ, 5.0 * leaky(4.0) * noise(seed), u_rel=U) for seed in range(20)]
    assert {fit.low_end for fit in named} == {"first order"}
    held = sum(fit.physics.leak.interval[0] < 4.0 < fit.physics.leak.interval[1] for fit in named)
    assert held >= 16


def test_a_shallow_droop_may_be_either_and_is_said_to_be():
    s = 5.0 * leaky(1.0) * noise(1)  # 5 % down at the lowest frequency
    fit = fit_sensor(HZ, s, u_rel=U)
    assert fit.low_end == "unknown"
    for estimate in (fit.physics.leak, fit.physics.natural_frequency, fit.physics.damping_ratio):
        assert estimate.value is None
        assert "do not tell a leak (6 dB an octave) from a second-order sensor (12 dB)" in estimate.why
    known = fit_sensor(HZ, s, u_rel=U, low_end="first order")
    assert known.physics.leak.value == pytest.approx(1.0, rel=0.1)


def test_what_is_known_of_a_sensor_gives_way_to_what_it_shows():
    """A sensor thought to be of first order that is of second, and the other way round."""
    coil = fit_sensor(HZ, 20.0 * moving_coil(10.0, 0.6) * noise(2), u_rel=U, low_end="first order")
    assert coil.low_end == "second order" and coil.inadequate is None
    leak = fit_sensor(HZ, 20.0 * leaky(9.0) * noise(2), u_rel=U, low_end="second order")
    assert leak.low_end == "first order" and leak.inadequate is None


def test_too_little_of_a_second_order_leaves_its_damping_open():
    high = HZ[HZ >= 12.5]
    open_ones = 0
    for seed in range(12):
        s = 20.0 * moving_coil(4.0, 0.7, high) * noise(seed, high.size)
        fit = fit_sensor(high, s, u_rel=U, low_end="second order")
        estimate = fit.physics.damping_ratio
        open_ones += estimate.value is None
        assert (
            estimate.value is not None
            or "read at lower frequencies" in estimate.why
            or "no significant" in estimate.why
        )
    assert open_ones >= 6


# --- the high end ---

HIGH_HZ = np.geomspace(100.0, 8000.0, 20)


@pytest.mark.parametrize("quality", [3.5, 5.0, 10.0])
def test_a_damped_resonance_is_told_where_the_readings_reach_it(quality):
    s = 5.0 * resonant(HIGH_HZ, 9000.0, quality) * noise(3, HIGH_HZ.size)
    fit = fit_sensor(HIGH_HZ, s, u_rel=U, low_end="first order")
    assert fit.terms == ("rise", "damping") and fit.inadequate is None
    low, high = fit.physics.resonance.interval
    assert low < 9000.0 < high and high / low < 1.05
    assert fit.physics.quality.interval[0] < quality < fit.physics.quality.interval[1]
    assert fit.low_end == "flat"


@pytest.mark.parametrize("quality", [3.5, 5.0, 10.0, 1000.0])
@pytest.mark.parametrize("last", [2500.0, 4000.0, 6000.0])
def test_a_resonance_beyond_the_readings_is_not_stated_beside_the_truth(quality, last):
    """An undamped model reads 2 % high at Q = 5: the interval reaches down to where a damped one would lie."""
    hz = np.geomspace(100.0, last, 18)
    missed = 0
    for seed in range(10):
        s = 5.0 * resonant(hz, 9000.0, quality) * noise(seed, hz.size)
        fit = fit_sensor(hz, s, u_rel=U, low_end="first order")
        if fit.physics.resonance.interval is not None:
            missed += not fit.physics.resonance.interval[0] < 9000.0 < fit.physics.resonance.interval[1]
    assert missed <= 3


def test_a_sensor_read_past_its_damped_resonance_is_finite_there():
    hz = np.geomspace(100.0, 20_000.0, 24)
    fit = fit_sensor(hz, 5.0 * resonant(hz, 9000.0, 4.0), u_rel=U, low_end="first order")
    assert fit.physics.resonance.value == pytest.approx(9000.0, rel=1e-5)
    assert fit.physics.quality.value == pytest.approx(4.0, rel=1e-5)
    assert evaluate_sensor(fit, 9000.0) == pytest.approx(20.0, rel=1e-5)


# --- the analysis ---

LIMITS = {"natural_frequency_hz": (9.0, 11.0), "damping_ratio": (0.6, 0.8)}


@pytest.mark.parametrize(
    ("natural_hz", "damping", "failed"),
    [
        (10.0, 0.70, []),
        (10.0, 0.50, ["damping ratio"]),
        (12.0, 0.70, ["natural frequency"]),
        (8.0, 0.90, ["natural frequency", "damping ratio"]),
    ],
)
def test_stated_limits_judge_a_second_order_sensor(natural_hz, damping, failed):
    result = analyse(
        20.0 * moving_coil(natural_hz, damping), sensor=replace(COIL, flat_pct=None, flat_hz=None, **LIMITS)
    )
    assert [item.name for item in result.second_order if item.decision.verdict == "fail"] == failed
    assert result.verdict == ("fail" if failed else "pass")
    entry = sane(result)["quantities"]
    assert entry["low_end"] == "second order" and entry["leak_hz"] is None
    assert entry["natural_frequency_hz"] == pytest.approx(natural_hz, rel=1e-5)
    assert entry["damping_ratio"] == pytest.approx(damping, rel=1e-5)
    assert entry["damping_ratio_expanded_uncertainty"] > 0.0
    said = compose_statement(result)
    assert f"The damping ratio is {damping:.2f}" in said and "(allowed 0.6 to 0.8)" in said
    assert "leak" not in said


def test_without_limits_a_moving_coil_is_described_and_no_leak_is_said():
    result = analyse(20.0 * moving_coil(10.0, 0.70) * noise(4))
    assert result.verdict == "pass" and result.second_order == ()
    said = compose_statement(result)
    assert "that of a second-order sensor: natural frequency 9.99" in said and "leak" not in said
    assert "natural frequency, from the droop" in sensor_summary(result).to_text()


def test_limits_that_the_readings_cannot_judge_are_not_verified():
    high = HZ >= 40.0
    result = analyse(20.0 * moving_coil(10.0, 0.70, HZ[high]), sensor=replace(COIL, **LIMITS), hz=HZ[high])
    assert result.verdict == "not verified"
    assert [item.decision for item in result.second_order] == [None, None]
    assert any(text.startswith("natural frequency: ") for text in result.not_verified)
    sane(result)


def test_readings_that_no_sensor_gives_decide_nothing():
    s = 20.0 * moving_coil(10.0, 0.70) * (1.0 + 0.05 * np.sin(4.0 * np.log(HZ)))
    result = analyse(s, sensor=replace(COIL, flat_pct=None, flat_hz=None, **LIMITS))
    assert result.fit.inadequate.startswith("no model of a sensor describes the readings, which lie ")
    assert result.verdict == "not verified"
    assert all("no model of a sensor" in text for text in result.not_verified)
    assert "No model of a sensor describes the readings" in compose_statement(result)


@pytest.mark.parametrize(("unit", "named"), [("m/s2 pk", True), ("mm/s pk", False)])
def test_a_sensor_of_acceleration_is_piezoelectric_and_its_droop_a_leak(unit, named):
    """The same shallow droop of a sensor of velocity may be a moving coil's (common practice, no source)."""
    sensor = replace(COIL, input_unit=parse_unit(unit), flat_pct=None, flat_hz=None)
    result = analyse(20.0 * leaky(1.0) * noise(1), sensor=sensor)
    said = compose_statement(result)
    assert ("such as a leaky cable or connector" in said) is named
    assert ("do not tell a leak" in said) is not named


def test_limits_are_read_from_the_asset(tmp_path):
    asset = ASSET + "natural_frequency_hz = [9, 11]\ndamping_ratio = [0.6, 0.8]\n"
    home = build_site(tmp_path, ["STG-1-V11,sensor-alone,as-found,80,10,m/s2 pk,50,pC pk,,,,"], asset=asset)
    sensor = load_visit(home).asset.channels["STG-1-V11"].sensor
    assert (sensor.natural_frequency_hz, sensor.damping_ratio) == ((9.0, 11.0), (0.6, 0.8))
