"""Corners of filters that are no Butterworth: recovered, or called unknown, and never stated beside the truth.

Truth: scipy.signal's analogue filters; a second order's half power in closed form; a real calibration.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import interpolate, optimize

from tests.support.published.institute import HALF_POWER_HZ, INSTITUTE, RUNS
from tests.support.readings.cases import BAND, CHANNEL, make_case
from tests.support.readings.filters import BUTTERWORTH, WRONG_SHAPES, FilteredBand, bessel, butter, chebyshev, damped
from vibcal_nb.analysis.band_response.band_model import evaluate_band, fit_band
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.band_response.filter_shape import damping_of
from vibcal_nb.model.asset import ResponseLimit

HZ = np.sort(np.append(np.geomspace(9.0, 900.0, 29), [20.0, 80.0, 400.0]))
U = 0.0035
DESCRIBED = {name: shape for name, shape in (BUTTERWORTH | WRONG_SHAPES).items() if not name.endswith(" dB 5")}
# r = f/f0 of half power by damping ratio: r^2 = -(1 - 2 h^2) + sqrt((1 - 2 h^2)^2 + 1), closed form
HALF_POWER_R = {
    0.3: 0.6879048283, 0.5: 0.7861513777574233, 0.7: 0.9900504937, 0.7071067811865476: 1.0, 0.9: 1.3403750544,
    1.0: 1.5537739740300374,
}  # fmt: skip


def swept(low, high, *, hz=HZ, seed=None):
    """Sensitivities of a band of prototypes with corners at 20 and 400 Hz, with noise of 0.35 % where seeded."""
    noise = 0.0 if seed is None else U * np.random.default_rng(seed).standard_normal(hz.size)
    return np.abs(FilteredBand((low, 20.0), (high, 400.0)).response(hz)) * np.exp(noise)


@pytest.mark.parametrize("damping", HALF_POWER_R)
def test_half_power_of_a_second_order_is_where_the_closed_form_says(damping):
    """High pass of natural frequency 10 Hz; the damping ratio is told with it."""
    high_pass = damped(damping)
    hz = np.geomspace(3.0, 500.0, 40)
    s = np.abs(np.conj(high_pass.gain(10.0 / hz)))
    found = fit_band(hz, s, u_rel=0.002, reference_hz=float(hz[25]))
    assert found.adequate
    assert found.low.hz == pytest.approx(10.0 * HALF_POWER_R[damping], rel=1e-4)
    assert found.low.order == 2
    assert found.low.damping.value == pytest.approx(damping, rel=1e-3)
    low, high = found.low.damping.interval
    assert low < damping < high


@pytest.mark.parametrize("name", DESCRIBED)
def test_filters_up_to_the_fourth_order_are_described_whatever_their_shape(name):
    shape = DESCRIBED[name]
    found = fit_band(HZ, swept(shape, shape), u_rel=U, reference_hz=80.0)
    assert found.adequate and found.fitness.chi_squared < 0.1
    assert found.low.hz == pytest.approx(20.0, rel=3e-3)
    assert found.high.hz == pytest.approx(400.0, rel=3e-3)


@pytest.mark.parametrize("shape", [bessel(8), chebyshev(5, 0.2), chebyshev(6, 1.0)])
def test_filters_of_further_shapes_are_unknown_and_the_interpolated_corner_stands(shape):
    found = fit_band(HZ, swept(shape, shape, seed=3), u_rel=U, reference_hz=80.0)
    assert not found.adequate
    band = FilteredBand((shape, 20.0), (shape, 400.0))
    for side in ("low", "high"):
        corner = found.corners[side]
        assert corner.interval_hz[0] < band.half_power_hz(side, 80.0) < corner.interval_hz[1]
        assert (corner.source, corner.order, corner.damping.value) == ("interpolated", None, None)


@pytest.mark.parametrize("name", WRONG_SHAPES)
def test_a_stated_interval_does_not_exclude_the_truth(name):
    """Twelve tables of noise a shape; of 24 intervals of 95 %, up to 5 miss by chance with more than 99.7 %."""
    shape, missed = WRONG_SHAPES[name], 0
    band = FilteredBand((shape, 20.0), (shape, 400.0))
    truth = {side: band.half_power_hz(side, 80.0) for side in ("low", "high")}
    for seed in range(12):
        found = fit_band(HZ, swept(shape, shape, seed=seed), u_rel=U, reference_hz=80.0)
        for side, corner in found.corners.items():
            missed += not corner.interval_hz[0] <= truth[side] <= corner.interval_hz[1]
    assert missed <= 5


@pytest.mark.parametrize("damping", [0.5, 0.6, 0.65, 0.8])
def test_a_channel_that_states_butterworth_and_has_another_damping_is_found_out(damping):
    shape = damped(damping)
    found = fit_band(HZ, swept(shape, butter(2), seed=1), u_rel=U, reference_hz=80.0, is_butterworth=True)
    assert found.shape_refuted and found.adequate
    assert found.low.order == 2
    low, high = found.low.damping.interval
    assert low < damping < high and found.low.damping.value == pytest.approx(damping, abs=0.03)
    assert found.low.interval_hz[0] < 20.0 < found.low.interval_hz[1]


def test_a_low_corner_of_second_order_with_damping_0_65():
    """Natural frequency 10 Hz: half power at 9.257 Hz of the plateau, at 9.275 Hz of the response at 80 Hz."""
    hz = np.array(
        [5.0, 6.3, 8, 9, 10, 11, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 125, 250, 500, 800, 1000, 1250, 1600]
    )
    low = damped(0.65)
    response = np.abs(np.conj(low.gain(10.0 / hz)) * butter(2).gain(hz / 1000.0))
    assert 10.0 / low.half_power == pytest.approx(9.2571, abs=1e-4)
    band = replace(BAND, flat_hz=(20.0, 500.0), corner_low_hz=10.0, corner_high_hz=1000.0)
    channel = replace(CHANNEL, band=band)
    missed = untold = 0
    for seed in range(20):
        noise = np.exp(0.003 * np.random.default_rng(seed).standard_normal(hz.size))
        case = make_case("band-response", hz, 40.0 * response * noise, channel=channel, decimals=4)
        corner = analyse_band_response(case).corners["low"]
        missed += not (corner.interval_hz[0] < 9.2571 < corner.interval_hz[1])
        missed += not (corner.interval_hz[0] < 9.2752 < corner.interval_hz[1])
        assert 9.1 < corner.hz < 9.4  # and not 9.88, where a Butterworth filter would be fitted
        untold += corner.order is None
        assert corner.order is None or (corner.order, corner.damping.value) == (2, pytest.approx(0.65, abs=0.03))
    assert missed <= 6  # of 40 intervals of 95 %
    assert untold <= 2  # by chance, at 1 %


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_two_second_order_sections_find_the_same_filter(seed):
    """Scipy: least squares of two sections by natural frequency and damping, another way to write four poles."""
    s = swept(butter(4), damped(0.8), seed=seed)[HZ > 60.0]
    hz = HZ[HZ > 60.0]
    found = fit_band(hz, s, u_rel=U, reference_hz=80.0)
    assert found.sides[0] == (0, 0) and found.sides[1] == (4, 3)

    def sections(p, f):
        ln_s0, *pairs = p
        value = ln_s0 * np.ones_like(f)
        for ln_f0, h in (pairs[:2], pairs[2:]):
            x = (f / math.exp(ln_f0)) ** 2
            value = value - 0.5 * np.log((1.0 - x) ** 2 + 4.0 * h**2 * x)
        return value

    def fitted(first_hz, second_hz):
        start = [0.0, math.log(first_hz), 0.8, math.log(second_hz), 1.0]
        exactly = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15, "max_nfev": 5000}
        return optimize.least_squares(lambda p: (np.log(s) - sections(p, hz)) / U, start, **exactly)

    other = min((fitted(a, b) for a in (350.0, 450.0) for b in (700.0, 1500.0, 5000.0)), key=lambda found: found.cost)
    half_power = other.x[0] - 0.5 * math.log(2.0)
    corner = optimize.brentq(lambda f: sections(other.x, np.array([f]))[0] - half_power, 300.0, 500.0)
    assert found.fitness.chi_squared == pytest.approx(2.0 * other.cost, rel=1e-9)
    assert found.high.hz == pytest.approx(corner, rel=1e-7)


def test_the_damping_of_a_polynomials_term():
    for damping in (0.3, 0.5, 0.65, 1.0 / math.sqrt(2.0), 0.9, 1.2):
        r = damped(damping).half_power  # in units of the natural frequency
        assert damping_of((4.0 * damping**2 - 2.0) * r**2) == pytest.approx(damping, rel=1e-6)
    assert damping_of(1.0) == math.inf


# --- the institute's calibration ---

F, S, SD = INSTITUTE[:, 0], INSTITUTE[:, 1], INSTITUTE[:, 2]


def test_the_institutes_corner_without_a_model():
    """Scipy's monotone cubic in ln f, ln S, and its root."""
    found = fit_band(F, S, u_rel=SD / S, reference_hz=16.0)
    cubic = interpolate.PchipInterpolator(np.log(F), np.log(S))
    level = math.log(S[2] * math.sqrt(0.5))
    expected = math.exp(optimize.brentq(lambda x: cubic(x) - level, math.log(200.0), math.log(250.0)))
    assert expected == pytest.approx(HALF_POWER_HZ, abs=0.005)
    assert found.high.interpolated_hz == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("runs", [1, RUNS])
@pytest.mark.parametrize("is_butterworth", [True, False])
def test_the_institutes_filter_is_no_butterworth_and_its_corner_is_not_excluded(runs, is_butterworth):
    found = fit_band(F, S, u_rel=SD / S / math.sqrt(runs), reference_hz=16.0, is_butterworth=is_butterworth)
    butterworth = found.butterworth.chi_squared.min()
    assert butterworth > 1000.0 * runs  # for 14 degrees of freedom
    assert found.shape_refuted is is_butterworth
    assert found.high.interval_hz[0] < HALF_POWER_HZ < found.high.interval_hz[1]
    assert found.high.order is None
    # one run's scatter leaves room for a filter of four poles; the mean of ten does not
    assert found.adequate is (runs == 1)
    assert found.high.source == ("fitted model" if runs == 1 else "interpolated")
    if found.adequate:
        assert found.high.hz == pytest.approx(HALF_POWER_HZ, rel=5e-4)
        assert np.abs(evaluate_band(found, F) / S - 1.0).max() < 1e-3


# --- what hangs on a model ---


def test_a_limit_that_hangs_on_a_model_that_does_not_hold_is_a_gate():
    limits = (ResponseLimit(frequency_hz=300.0, min_pct=50.0, max_pct=150.0),)
    channel = replace(CHANNEL, band=replace(BAND, limits=limits))
    wavy = 1.0 + 0.04 * np.sin(6.0 * np.log(HZ)) * (np.abs(np.log(HZ / 80.0)) > 0.02)
    s = swept(butter(2), butter(2)) * wavy
    result = analyse_band_response(make_case("band-response", HZ, 40.0 * s, channel=channel, decimals=4))
    assert result.adequate is False
    assert [item.requirement.key for item in result.without_model] == ["limits[1]"]
    (gate,) = [gate for gate in result.gates if gate.gate == "band model does not hold"]
    assert gate.frequency_hz == 300.0 and gate.remedy == "read the response at 300 Hz"
    assert "no band model describes the readings" in gate.found
    assert result.verdict == "not verified"
    at_300 = np.append(HZ, 300.0)
    readings = np.append(s, swept(butter(2), butter(2), hz=np.array([300.0])))
    read = analyse_band_response(make_case("band-response", at_300, 40.0 * readings, channel=channel, decimals=4))
    assert read.adequate is False and read.without_model == ()
    assert read.verdict == "pass"
