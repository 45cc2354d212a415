"""The parts of the chain's model against closed forms, a Fourier transform of waveforms, and scipy.signal."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from tests.support.analyses.chain_model import points, row
from tests.support.readings.cases import butterworth
from vibcal_nb.analysis.faults.chain_model import (
    added_ratio,
    high_pass,
    limited_fundamental,
    limited_rms,
    predict_ratio,
    resonance_gain,
)


@pytest.mark.parametrize("u", [0.05, 0.3, 0.7071, 0.95, 1.0, 3.0])
def test_hard_limiter_against_the_transform_of_a_clipped_sine(u):
    """Sampled waveform; the closed form is the handbook formula, a Fourier series known from textbooks."""
    wave = np.clip(np.sin(2 * np.pi * (np.arange(200_000) + 0.5) / 200_000), -u, u)
    fundamental = 2.0 * abs(np.fft.rfft(wave)[1]) / len(wave)
    assert limited_fundamental(np.array(u)) == pytest.approx(fundamental, abs=2e-9)
    assert limited_rms(np.array(u)) == pytest.approx(math.sqrt(2.0 * np.mean(wave**2)), abs=2e-9)


def test_a_hard_limiter_turns_a_large_sine_into_a_square_wave():
    """Fundamental of a square wave: 4/pi of its height; r.m.s.: its height."""
    u = 1e-5
    assert limited_fundamental(np.array(u)) / u == pytest.approx(4.0 / math.pi, rel=1e-9)
    assert limited_rms(np.array(u)) / u == pytest.approx(math.sqrt(2.0), rel=1e-4)


def test_saturation_of_a_channel_follows_the_closed_form():
    levels = np.array([0.1, 0.4, 0.5, 0.6, 0.8, 1.0])
    at = points(np.full(6, 80.0), level=levels, test="linearity")
    u = np.minimum(0.5 / levels, 1.0)
    expected = 2.0 / math.pi * (np.arcsin(u) + u * np.sqrt(1.0 - u**2))
    assert predict_ratio(row(clip=math.log(0.5)), at)[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("parameter", ["noise", "pickup"])
def test_noise_and_pickup_add_in_quadrature(parameter):
    """Mean square of unrelated signals: sqrt(x^2 + n^2), as a long sampled record shows."""
    levels = np.array([0.01, 0.05, 0.2, 1.0])
    at = points(np.full(4, 50.0), level=levels, test="linearity", corners=(None, None))
    shown = predict_ratio(row(**{parameter: math.log(0.03)}), at)[0] * levels
    assert shown == pytest.approx(np.hypot(levels, 0.03), rel=1e-12)
    rng = np.random.Generator(np.random.PCG64(5))
    time = np.arange(400_000) / 1000.0
    for level, reading in zip(levels, shown, strict=True):
        wave = level * np.sin(2 * np.pi * 50.0 * time) + rng.normal(0.0, 0.03 / math.sqrt(2.0), time.size)
        assert math.sqrt(2.0 * np.mean(wave**2)) == pytest.approx(reading, rel=5e-3)


def test_what_is_added_does_not_reach_a_sensor_alone():
    at = points([50.0, 80.0], test="sensor-alone")
    assert predict_ratio(row(noise=math.log(0.5), pickup=0.0), at)[0] == pytest.approx([1.0, 1.0], rel=1e-12)
    assert added_ratio(row(noise=math.log(0.5)), at)[0] == pytest.approx([0.0, 0.0])


@pytest.mark.parametrize(("low", "high"), [(1, 1), (2, 2), (3, 4)])
def test_band_against_scipy_signal(low, high):
    f = np.geomspace(5.0, 1600.0, 25)
    found = predict_ratio(row(order_low=math.log(low), order_high=math.log(high), corner_high=math.log(0.8)), points(f))
    nominal = butterworth(80.0, low=(20.0, low), high=(400.0, high))
    assert found[0] == pytest.approx(butterworth(f, low=(20.0, low), high=(320.0, high)) / nominal, rel=1e-10)


def test_leak_is_a_first_order_high_pass():
    f = np.geomspace(2.0, 400.0, 20)
    _, response = signal.freqs(*signal.butter(1, 30.0, "high", analog=True), worN=f)
    found = predict_ratio(row(leak=math.log(1.5)), points(f, test="sensor-alone"))
    assert found[0] == pytest.approx(np.abs(response), rel=1e-10)
    behind = predict_ratio(row(leak=math.log(1.5), leak_in_sensor=0.0), points(f, test="sensor-alone"))
    assert behind[0] == pytest.approx(np.ones(20), rel=1e-12)


@pytest.mark.parametrize("ratio", [0.1, 0.2, 1 / 3, 0.5])
def test_resonance_against_the_closed_form(ratio):
    """Rise 1/(1 - r^2) of a seismic sensor, e.g. 4.2 % at fn/5, 12.5 % at fn/3; damping changes it below 0.1 %."""
    assert resonance_gain(np.array(ratio)) == pytest.approx(1.0 / (1.0 - ratio**2), rel=1e-3)


def test_resonance_against_scipy_signal():
    """Mass on a spring with damping ratio 0.03, as a transfer function."""
    r = np.array([0.3, 0.9, 1.0, 1.1, 2.0])
    _, response = signal.freqs([1.0], [1.0, 2 * 0.03, 1.0], worN=r)
    assert resonance_gain(r) == pytest.approx(np.abs(response), rel=1e-12)


def test_wrong_integration_is_right_at_one_frequency_and_proportional_to_it():
    at = points([40.0, 80.0, 160.0], corners=(None, None))
    found = predict_ratio(row(slope_exponent=1.0, right_at=math.log(0.5)), at)[0]
    assert found == pytest.approx([1.0, 2.0, 4.0], rel=1e-12)


def test_rows_are_predicted_independently_of_each_other():
    at = points(np.geomspace(10.0, 600.0, 12))
    rows = np.concatenate([row(), row(clip=math.log(0.1)), row(noise=-3.0, corner_low=0.4)])
    together = predict_ratio(rows, at)
    for i in range(3):
        assert together[i] == pytest.approx(predict_ratio(rows[i : i + 1], at)[0], rel=1e-14)


@pytest.mark.parametrize("order", [1, 2, 4])
def test_a_high_pass_of_whole_order_is_butterworths(order):
    f = np.array([2.0, 15.0, 20.0, 26.0, 400.0])
    assert high_pass(f / 20.0, np.array(float(order))) == pytest.approx(butterworth(f, low=(20.0, order)), rel=1e-9)
