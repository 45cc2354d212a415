"""What a fitted sine states beside its amplitude, in closed form, and the smallest records that can carry a fit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from vibcal_nb.metrology.sine.distortion import assess_distortion
from vibcal_nb.metrology.sine.sine_fit import (
    SineFitError,
    estimate_frequency,
    fit_sine_four,
    fit_sine_three,
    phase_difference_rad,
)
from vibcal_nb.metrology.sine.tones import fit_tones

FS, N = 10_000.0, 1000
T = np.arange(N) / FS


def tone(hz, amplitude, phase=0.4):
    return amplitude * np.cos(2.0 * np.pi * hz * T + phase)


def test_a_left_out_harmonic_is_the_noise():
    """Over whole periods tones are orthogonal: the residuals' squares add to N b^2/2, on N - 3 degrees of freedom."""
    fit = fit_sine_three(tone(160.0, 1.25) + tone(320.0, 0.02), sampling_hz=FS, frequency_hz=160.0)
    noise = 0.02 * math.sqrt(N / 2.0 / (N - 3))
    assert fit.noise == pytest.approx(noise, rel=1e-9)
    assert fit.degrees_of_freedom == N - 3
    assert fit.signal_to_noise_db == pytest.approx(20.0 * math.log10(1.25 / math.sqrt(2.0) / noise), rel=1e-9)


def test_signal_to_noise_without_noise_and_without_signal():
    silent = fit_sine_three(np.zeros(N), sampling_hz=FS, frequency_hz=160.0)
    assert silent.signal_to_noise_db == math.inf
    noisy = fit_sine_three(tone(320.0, 0.02), sampling_hz=FS, frequency_hz=160.0)
    assert replace(noisy, amplitude=0.0).signal_to_noise_db == -math.inf


@pytest.mark.parametrize(("number", "amplitude"), [(0, 0.5), (1, 1.25)])
def test_amplitude_and_phase_reach_the_cramer_rao_bounds(number, amplitude):
    """Known frequencies, whole periods: u(A) = s sqrt(2/N), u(phase) = u(A)/A; here s^2 = N b^2/2/(N - 5)."""
    y = tone(50.0, 0.5, 1.1) + tone(160.0, 1.25, -2.0) + tone(320.0, 0.02)
    fit = fit_tones(y, sampling_hz=FS, frequencies_hz=[50.0, 160.0])
    u = 0.02 * math.sqrt(N / 2.0 / (N - 5)) * math.sqrt(2.0 / N)
    assert fit.amplitudes[number] == pytest.approx(amplitude, rel=1e-9)
    assert fit.phase_rad(number) == pytest.approx([1.1, -2.0][number], rel=1e-9)
    assert fit.u_amplitude(number) == pytest.approx(u, rel=1e-9)
    assert fit.u_phase_rad(number) == pytest.approx(u / amplitude, rel=1e-9)


def test_the_first_tone_is_meant_where_none_is_named():
    fit = fit_tones(tone(50.0, 0.5, 1.1) + tone(160.0, 1.25, -2.0), sampling_hz=FS, frequencies_hz=[50.0, 160.0])
    assert fit.phase_rad() == fit.phase_rad(0)
    assert (fit.u_amplitude(), fit.u_phase_rad()) == (fit.u_amplitude(0), fit.u_phase_rad(0))


def test_nothing_has_no_phase():
    assert fit_tones(np.zeros(N), sampling_hz=FS, frequencies_hz=[160.0]).u_phase_rad() == math.inf


def test_one_sample_more_than_parameters_is_enough():
    """Cosine, sine and offset: three samples leave nothing over, four leave one degree of freedom."""
    y = np.array([1.0, 2.0, 3.0, 2.0])  # 2 - cos(2 pi k / 4)
    with pytest.raises(SineFitError, match="3 samples where more than 3"):
        fit_tones(y[:3], sampling_hz=4.0, frequencies_hz=[1.0])
    fit = fit_tones(y, sampling_hz=4.0, frequencies_hz=[1.0])
    assert (fit.offset, fit.cosines[0], fit.sines[0]) == pytest.approx((2.0, -1.0, 0.0), abs=1e-12)
    assert fit.degrees_of_freedom == 1


@pytest.mark.parametrize("sampling_hz", [0.0, -1.0, math.inf, math.nan])
def test_a_sampling_frequency_is_a_number_above_zero(sampling_hz):
    with pytest.raises(SineFitError, match=r"sampling frequency is .* give a number above 0"):
        fit_tones(np.ones(10), sampling_hz=sampling_hz, frequencies_hz=[1.0])


@pytest.mark.parametrize("hz", [0.0, -1.0, 5.0])
def test_half_the_sampling_frequency_is_too_high_and_zero_too_low(hz):
    with pytest.raises(SineFitError, match="not between 0 and half"):
        fit_tones(np.ones(50), sampling_hz=10.0, frequencies_hz=[hz])


def test_a_record_is_one_row_of_samples():
    with pytest.raises(SineFitError, match="give a longer one"):
        fit_tones(np.ones((10, 2)), sampling_hz=10.0, frequencies_hz=[1.0])
    with pytest.raises(SineFitError, match="8 are needed"):
        estimate_frequency(np.ones((10, 2)), sampling_hz=10.0)


def test_eight_samples_have_a_frequency_and_seven_have_none():
    y = np.cos(np.pi / 2.0 * np.arange(8))
    assert estimate_frequency(y, sampling_hz=4.0) == pytest.approx(1.0, rel=0.05)
    with pytest.raises(SineFitError, match="7 samples where 8"):
        estimate_frequency(y[:7], sampling_hz=4.0)


def test_samples_that_are_no_numbers_have_no_frequency():
    y = tone(160.0, 1.0)
    y[500] = math.nan
    with pytest.raises(SineFitError, match="samples that are no numbers"):
        estimate_frequency(y, sampling_hz=FS)


def test_a_start_far_from_the_sine_does_not_settle():
    with pytest.raises(SineFitError, match="start nearer to its frequency"):
        fit_sine_four(tone(160.0, 1.0), sampling_hz=FS, start_hz=4990.0)


def test_mains_above_what_the_record_can_hold_are_not_looked_for():
    """At 400 samples a second half the rate is 200 Hz: of the multiples of 50 Hz those below remain."""
    t = np.arange(2000) / 400.0
    y = np.cos(2.0 * np.pi * 37.0 * t)
    found = assess_distortion(y, sampling_hz=400.0, frequency_hz=37.0, mains_hz=[50.0])
    assert {50.0, 100.0} <= set(found.fit.frequencies_hz)
    assert max(found.fit.frequencies_hz) < 200.0
    assert found.mains_hidden == ()


def test_five_samples_are_enough_for_four_parameters():
    y = 1.0 + np.cos(2.0 * np.pi * 0.21 * np.arange(5) + 0.3)
    fit = fit_sine_four(y, sampling_hz=1.0, start_hz=0.2101)
    assert (fit.frequency_hz, fit.amplitude, fit.offset) == pytest.approx((0.21, 1.0, 1.0), rel=1e-6)
    assert fit.degrees_of_freedom == 1
    with pytest.raises(SineFitError, match="4 samples where more than 4"):
        fit_sine_four(y[:4], sampling_hz=1.0, start_hz=0.2101)


@pytest.mark.parametrize("off", np.linspace(-0.5, 0.5, 11))
def test_a_peak_between_two_bins_is_found_to_a_fortieth_of_a_bin(off):
    """A Hann window's peak is all but a parabola in logarithms: the rest is below a fortieth of a bin."""
    bins = 100.0 + off
    y = np.cos(2.0 * np.pi * bins * np.arange(N) / N + 0.7) + 3.0
    assert estimate_frequency(y, sampling_hz=FS) == pytest.approx(bins * FS / N, abs=0.025 * FS / N)


def test_a_long_record_is_searched_in_its_middle():
    """131 072 samples: what lies before and after them is not looked at."""
    t = np.arange(300_000) / FS
    middle = np.abs(np.arange(300_000) - 150_000) < 65_536
    y = np.where(middle, np.cos(2.0 * np.pi * 160.0 * t), 50.0 * np.cos(2.0 * np.pi * 320.0 * t))
    assert estimate_frequency(y, sampling_hz=FS) == pytest.approx(160.0, rel=1e-4)


@pytest.mark.parametrize("phase", [-3.0, -1.0, 0.5, 2.5])
def test_uncertainties_of_four_parameters_reach_the_cramer_rao_bounds(phase):
    """Over many cycles: u(A) = s sqrt(2/N), u(f) = sqrt(6/N) s/(pi A T), u(phase) at the first sample twice that at a
    known frequency (S. Kay, Fundamentals of Statistical Signal Processing, 1993, from memory)."""
    noise = 0.01 * np.random.default_rng(2).standard_normal(N)
    fit = fit_sine_four(tone(161.3, 1.25, phase) + noise, sampling_hz=FS, start_hz=161.0)
    s, length = fit.noise, N / FS
    assert s == pytest.approx(0.01, rel=0.1)
    assert fit.u_amplitude == pytest.approx(s * math.sqrt(2.0 / N), rel=0.02)
    assert fit.u_offset == pytest.approx(s / math.sqrt(N), rel=0.02)
    assert fit.u_frequency_hz == pytest.approx(s * math.sqrt(6.0 / N) / (math.pi * 1.25 * length), rel=0.02)
    assert fit.u_phase_rad == pytest.approx(2.0 * s * math.sqrt(2.0 / N) / 1.25, rel=0.02)
    assert fit.phase_rad == pytest.approx(phase, abs=6.0 * fit.u_phase_rad)
    parts = fit.amplitude * math.cos(fit.phase_rad), -fit.amplitude * math.sin(fit.phase_rad)
    assert (fit.cosine, fit.sine) == pytest.approx(parts)


@pytest.mark.parametrize(
    ("first", "second", "apart"), [(3.0, -3.0, 2.0 * math.pi - 6.0), (-3.0, 3.0, 6.0 - 2.0 * math.pi), (0.2, 1.4, 1.2)]
)
def test_a_difference_of_phases_lies_within_half_a_turn(first, second, apart):
    one, two = (
        fit_sine_three(tone(160.0, 1.0, phase), sampling_hz=FS, frequency_hz=160.0) for phase in (first, second)
    )
    assert phase_difference_rad(one, two) == pytest.approx(apart, abs=1e-9)
