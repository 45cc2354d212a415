"""Sine fits against IEEE Std 1057-2017's method worked by hand, Cramer-Rao bounds and closed forms of distortion."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.readings.sine import FS, PHASE, A, C, N, converges, random_signal, record
from vibcal_nb.metrology.sine.distortion import assess_distortion, total_harmonic_distortion
from vibcal_nb.metrology.sine.sine_fit import (
    SineFitError,
    estimate_frequency,
    fit_sine_four,
    fit_sine_three,
    phase_difference_rad,
)
from vibcal_nb.metrology.sine.tones import fit_tones


def test_three_parameters_on_an_exact_sine():
    """IEEE Std 1057-2017, three-parameter fit: A_0 = A cos(phase), B_0 = -A sin(phase)."""
    fit = fit_sine_three(record(160.0), sampling_hz=FS, frequency_hz=160.0)
    assert fit.cosine == pytest.approx(1.0239400553612397, rel=1e-12)
    assert fit.sine == pytest.approx(-0.7169705454388076, rel=1e-12)
    assert (fit.amplitude, fit.phase_rad, fit.offset) == pytest.approx((A, PHASE, C), rel=1e-12)
    assert fit.u_frequency_hz == 0.0


def test_four_parameters_step_by_step():
    """IEEE Std 1057-2017, four-parameter fit: frequency and amplitude after each iteration."""
    fit = fit_sine_four(record(160.3), sampling_hz=FS, start_hz=160.0)
    frequencies, amplitudes = zip(*fit.iterations[:3], strict=True)
    assert frequencies == pytest.approx([160.30003350, 160.3000000954, 160.3], abs=5e-9)
    assert amplitudes == pytest.approx([1.25356675, 1.2499999968, 1.25], abs=5e-9)
    assert fit.frequency_hz == pytest.approx(160.3, rel=1e-12)


def test_variances_reach_the_cramer_rao_bounds():
    """Known frequency, whole periods: var A = 2 s^2/N, var phase = 2 s^2/(N A^2), var C = s^2/N."""
    rng = np.random.default_rng(20260519)
    clean, sigma, trials = record(160.0), 0.01, 8000
    fits = [
        fit_sine_three(clean + sigma * rng.standard_normal(N), sampling_hz=FS, frequency_hz=160.0)
        for _ in range(trials)
    ]
    bounds = {"amplitude": 2.0e-7, "phase_rad": 1.28e-7, "offset": 1.0e-7}
    for name, bound in bounds.items():
        values = np.array([getattr(fit, name) for fit in fits])
        assert values.var(ddof=1) == pytest.approx(bound, rel=0.05)
        stated = np.mean(
            [getattr(fit, f"u_{name}") ** 2 if name != "phase_rad" else fit.u_phase_rad**2 for fit in fits]
        )
        assert stated == pytest.approx(bound, rel=0.01)


def test_four_parameters_state_the_scatter_they_have():
    """Frequency unknown: var f = 6 s^2/(pi^2 A^2 T^2 N) for many cycles (Rife and Boorstyn, 1974, from memory)."""
    rng = np.random.default_rng(4)
    clean, sigma = record(163.7), 0.02
    fits = [fit_sine_four(clean + sigma * rng.standard_normal(N), sampling_hz=FS, start_hz=163.0) for _ in range(1500)]
    for name in ("frequency_hz", "amplitude", "phase_rad", "offset"):
        scatter = np.std([getattr(fit, name) for fit in fits], ddof=1)
        stated = np.sqrt(np.mean([getattr(fit, f"u_{name}") ** 2 for fit in fits]))
        assert stated == pytest.approx(scatter, rel=0.08)
    bound = math.sqrt(6.0 * sigma**2 / (math.pi**2 * A**2 * (N / FS) ** 2 * N))
    assert fits[0].u_frequency_hz == pytest.approx(bound, rel=0.1)


def test_four_parameters_converge_from_a_start_one_percent_off():
    """At least 999 of 1000 (the benchmark runs 10 000); 3 cycles to 0.45 of the sampling frequency, 40 dB or more."""
    rng = np.random.default_rng(77)
    assert sum(converges(rng) for _ in range(1000)) >= 999


def test_the_frequency_is_found_without_a_start():
    rng = np.random.default_rng(5)
    for _ in range(200):
        f, y = random_signal(rng)
        fit = fit_sine_four(y, sampling_hz=FS)
        assert abs(fit.frequency_hz - f) < 6.0 * fit.u_frequency_hz
    assert estimate_frequency(record(160.3), sampling_hz=FS) == pytest.approx(160.3, abs=0.2)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.01, 100.0),
    st.floats(-50.0, 50.0),
    st.floats(20.0, 4000.0),
    st.floats(-3.0, 3.0),
)
def test_units_and_zero_change_nothing_else(scale, shift, f, phase):
    rng = np.random.default_rng(9)
    y = record(f, phase=phase) + 0.01 * rng.standard_normal(N)
    first = fit_sine_four(y, sampling_hz=FS, start_hz=f)
    second = fit_sine_four(scale * y + shift, sampling_hz=FS, start_hz=f)
    assert second.frequency_hz == pytest.approx(first.frequency_hz, rel=1e-9)
    assert second.amplitude == pytest.approx(scale * first.amplitude, rel=1e-8)
    assert second.u_amplitude == pytest.approx(scale * first.u_amplitude, rel=1e-5)
    assert second.offset == pytest.approx(scale * first.offset + shift, abs=1e-8 * scale + 1e-10)
    assert abs(phase_difference_rad(first, second)) < 1e-8


def test_samples_of_any_type_and_layout(tmp_path):
    """Integers of a converter, a memory map, every second sample: the same sine."""
    codes = np.round(record(160.3, a=12_000.0, c=300.0)).astype(np.int16)
    np.save(tmp_path / "codes.npy", codes)
    mapped = np.load(tmp_path / "codes.npy", mmap_mode="r", allow_pickle=False)
    plain = fit_sine_four(codes.astype(float), sampling_hz=FS)
    assert fit_sine_four(mapped, sampling_hz=FS).amplitude == plain.amplitude
    assert plain.amplitude == pytest.approx(12_000.0, abs=5 * plain.u_amplitude)
    strided = np.repeat(codes, 2)[::2]
    assert fit_sine_four(strided, sampling_hz=FS).amplitude == plain.amplitude


def test_blocks_join_without_a_seam():
    """A record of several blocks gives what one big least squares gives."""
    n = 70_001
    rng = np.random.default_rng(3)
    y = record(161.7, n=n) + 0.01 * rng.standard_normal(n)
    fit = fit_tones(y, sampling_hz=FS, frequencies_hz=[161.7, 50.0])
    t = np.arange(n) / FS
    design = np.column_stack([g(2 * np.pi * f * t) for f in (161.7, 50.0) for g in (np.cos, np.sin)] + [np.ones(n)])
    expected, squares, _, _ = np.linalg.lstsq(design, y, rcond=None)
    found = [fit.cosines[0], fit.sines[0], fit.cosines[1], fit.sines[1], fit.offset]
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert fit.noise == pytest.approx(math.sqrt(squares[0] / (n - 5)), rel=1e-9)


@pytest.mark.parametrize(
    ("y", "arguments", "said"),
    [
        (np.ones(3), {"frequency_hz": 100.0}, "3 samples where more than 3 are needed"),
        (np.ones(100), {"frequency_hz": 6000.0}, "not between 0 and half the sampling frequency"),
        (np.full(100, np.nan), {"frequency_hz": 100.0}, "no numbers"),
        (np.ones(100), {"frequency_hz": 1e-9}, "too short"),
    ],
)
def test_what_no_sine_can_be_fitted_to(y, arguments, said):
    with pytest.raises(SineFitError, match=said):
        fit_sine_three(y, sampling_hz=FS, **arguments)


def test_a_constant_record_and_bare_noise_are_refused():
    with pytest.raises(SineFitError, match="constant"):
        fit_sine_four(np.full(1000, 3.3), sampling_hz=FS)
    with pytest.raises(SineFitError):
        fit_sine_four(np.full(1000, np.inf), sampling_hz=FS)


# Total harmonic distortion: closed forms of the Fourier series (square, triangle, sawtooth).
SQUARE = math.sqrt(math.pi**2 / 8 - 1)
TRIANGLE = math.sqrt(math.pi**4 / 96 - 1)
SAWTOOTH = math.sqrt(math.pi**2 / 6 - 1)


def test_distortion_closed_forms():
    k = np.arange(1, 2_000_001)
    odd = k % 2 == 1
    for value, published in (
        (SQUARE, 0.483425847608679),
        (TRIANGLE, 0.12115292651930411),
        (SAWTOOTH, 0.8030778709740584),
    ):
        assert value == pytest.approx(published, rel=1e-12)
    assert total_harmonic_distortion(np.where(odd, 1.0 / k, 0.0))[0] == pytest.approx(SQUARE, rel=2e-6)
    assert total_harmonic_distortion(np.where(odd, 1.0 / k, 0.0))[1] == pytest.approx(0.4352361782541725, rel=2e-6)
    assert total_harmonic_distortion(np.where(odd, 1.0 / k**2, 0.0))[0] == pytest.approx(TRIANGLE, rel=1e-9)
    assert total_harmonic_distortion(1.0 / k)[0] == pytest.approx(SAWTOOTH, rel=1e-6)
    assert total_harmonic_distortion([1.0, 0.03, 0.04]) == pytest.approx((0.05, 0.04993761694389223), rel=1e-12)
    with pytest.raises(ValueError, match="nothing to refer"):
        total_harmonic_distortion([0.0, 1.0])


@pytest.mark.parametrize(
    ("wave", "thd"),
    [
        (lambda p: np.where(p < 0.5, 1.0, -1.0), SQUARE),
        (lambda p: 4.0 * np.abs(p - 0.5) - 1.0, TRIANGLE),
        (lambda p: 2.0 * p - 1.0, SAWTOOTH),
    ],
    ids=["square", "triangle", "sawtooth"],
)
def test_all_that_is_not_the_fundamental_of_a_sampled_wave(wave, thd):
    """The residuals of a three-parameter fit hold all harmonics: their r.m.s. over the fundamental's is THD_F."""
    per_period = 20_000
    y = wave((np.arange(10 * per_period) + 0.5) / per_period % 1.0)
    fit = fit_sine_three(y, sampling_hz=per_period, frequency_hz=1.0)
    assert fit.noise / (fit.amplitude / math.sqrt(2.0)) == pytest.approx(thd, rel=1e-4)


def test_harmonics_and_mains_are_taken_apart():
    rng = np.random.default_rng(8)
    t = np.arange(20_000) / FS
    y = record(80.0, n=t.size) + A * (0.03 * np.cos(2 * np.pi * 160 * t) + 0.04 * np.sin(2 * np.pi * 240 * t))
    y += 0.02 * np.sin(2 * np.pi * 50.0 * t) + 0.005 * rng.standard_normal(t.size)
    found = assess_distortion(y, sampling_hz=FS, frequency_hz=80.0)
    assert found.thd_f == pytest.approx(0.05, rel=0.01)
    assert found.thd_r == pytest.approx(0.04993761694389223, rel=0.01)
    assert found.noise == pytest.approx(0.005, rel=0.02)
    (mains,) = found.pick_up
    assert (mains.frequency_hz, mains.amplitude) == (50.0, pytest.approx(0.02, rel=0.02))
    assert found.flattened == ()


def test_mains_at_the_test_frequency_is_said_to_be_hidden():
    found = assess_distortion(record(50.0, n=5000), sampling_hz=FS, frequency_hz=50.0)
    assert found.mains_hidden == (50.0, 100.0, 150.0)
    assert found.pick_up == ()


@pytest.mark.parametrize(("limit", "sides"), [(0.95, ("top", "bottom")), (0.98, ("top", "bottom")), (1.5, ())])
@pytest.mark.parametrize("n", [2000, 50_000])
def test_clipping_is_seen(limit, sides, n):
    rng = np.random.default_rng(2)
    y = np.clip(record(77.7, c=0.0, n=n), -limit * A, limit * A) + 0.001 * rng.standard_normal(n)
    fundamental = fit_sine_four(y, sampling_hz=FS)
    found = assess_distortion(y, sampling_hz=FS, frequency_hz=fundamental.frequency_hz)
    assert found.flattened == sides
    one_sided = np.minimum(record(77.7, c=0.0, n=n), limit * A) + 0.001 * rng.standard_normal(n)
    assert assess_distortion(one_sided, sampling_hz=FS, frequency_hz=77.7).flattened == sides[:1]


def test_no_judgement_of_peaks_from_a_noisy_record():
    rng = np.random.default_rng(2)
    y = record(77.7, n=300) + 0.3 * rng.standard_normal(300)
    found = assess_distortion(y, sampling_hz=FS, frequency_hz=77.7)
    assert (found.top_curvature, found.bottom_curvature) == (None, None)
