"""Harmonics, pick-up and flattened peaks: closed forms of the peak's curvature, and where each judgement begins."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.metrology.sine.distortion import assess_distortion

FS, HZ, N = 4000.0, 80.0, 4000


def phase(n=N, hz=HZ):
    return 2.0 * np.pi * hz * np.arange(n) / FS


def assess(y, *, hz=HZ, mains_hz=(), fs=FS):
    return assess_distortion(y, sampling_hz=fs, frequency_hz=hz, mains_hz=mains_hz)


def test_a_sines_peaks_curve_as_a_sines():
    found = assess(np.cos(phase()) + 0.5)
    assert (found.top_curvature, found.bottom_curvature) == pytest.approx((1.0, 1.0), abs=1e-9)
    assert found.flattened == ()


def test_a_second_harmonic_sharpens_one_peak_and_flattens_the_other():
    """y = c + b (2 c^2 - 1) of c = cos(phase): the slope at c = 1 is 1 + 4 b, at c = -1 it is 1 - 4 b."""
    found = assess(np.cos(phase()) + 0.1 * np.cos(2.0 * phase()))
    assert (found.top_curvature, found.bottom_curvature) == pytest.approx((1.4, 0.6), abs=0.01)
    assert found.thd_f == pytest.approx(0.1, rel=1e-9)
    assert found.harmonics[:3] == pytest.approx([1.0, 0.1, 0.0], abs=1e-9)
    strong = assess(np.cos(phase()) - 0.16 * np.cos(2.0 * phase()))
    assert strong.top_curvature == pytest.approx(0.36, abs=0.01)
    assert strong.flattened == ("top",)
    weak = assess(np.cos(phase()) + 0.14 * np.cos(2.0 * phase()))
    assert weak.bottom_curvature == pytest.approx(0.44, abs=0.01)
    assert weak.flattened == ()


def test_a_peak_needs_thirty_samples():
    """Within 0.2 rad of a peak lie 0.4/(2 pi) = 6.4 % of the samples: 30 of 471."""
    few, enough = (assess(np.cos(phase(n, hz=77.7)), hz=77.7) for n in (440, 500))
    assert (few.top_curvature, few.bottom_curvature) == (None, None)
    assert (enough.top_curvature, enough.bottom_curvature) == pytest.approx((1.0, 1.0), abs=1e-6)


def test_pickup_stands_out_from_a_thousandth_of_the_fundamental():
    tones = [np.cos(phase()) + share * np.cos(phase(hz=50.0) + 0.4) for share in (0.00101, 0.00099)]
    (found,) = assess(tones[0], mains_hz=[50.0]).pick_up
    assert (found.frequency_hz, found.amplitude, found.relative) == pytest.approx((50.0, 0.00101, 0.00101))
    assert assess(tones[1], mains_hz=[50.0]).pick_up == ()


def test_pickup_stands_out_from_five_times_its_uncertainty():
    """u(A) = s sqrt(2/N): noise of 0.2 over 4000 samples leaves 0.0045, so that 0.03 stands out and 0.018 does not."""
    noise = 0.2 * np.random.default_rng(3).standard_normal(N)
    wave = np.cos(phase()) + noise
    fit = assess(wave, mains_hz=[50.0]).fit
    own = fit.cosines[-1] * np.cos(phase(hz=150.0)) + fit.sines[-1] * np.sin(phase(hz=150.0))
    for size, stands_out in ((0.018, False), (0.03, True)):
        found = assess(wave - own + size * np.cos(phase(hz=150.0)), mains_hz=[150.0 / k for k in (1, 2, 3)])
        assert any(p.frequency_hz == pytest.approx(150.0) for p in found.pick_up) == stands_out
        for p in found.pick_up:
            assert p.u_amplitude == pytest.approx(0.2 * math.sqrt(2.0 / N), rel=0.05)


def test_mains_are_told_from_the_signal_over_two_cycles_of_beat():
    """One second: two cycles of beat are 2 Hz apart."""
    told = assess(np.cos(phase(hz=47.9)), hz=47.9, mains_hz=[50.0])
    assert 50.0 not in told.mains_hidden
    hidden = assess(np.cos(phase(hz=48.1)), hz=48.1, mains_hz=[50.0])
    assert 50.0 in hidden.mains_hidden
    assert 50.0 not in hidden.fit.frequencies_hz
    short = np.cos(phase(n=400, hz=80.0))  # a tenth of a second: 20 Hz apart, also from zero
    assert assess(short, mains_hz=[19.0]).mains_hidden == (19.0, 57.0)  # 57 Hz: less than 20 Hz from 38 Hz
    assert assess(short, mains_hz=[20.0]).mains_hidden == ()


def test_ten_harmonics_below_half_the_sampling_frequency_are_fitted():
    assert len(assess(np.cos(phase())).harmonics) == 10
    high = 2.0 * np.pi * 500.0 * np.arange(N) / FS
    assert len(assess(np.cos(high), hz=500.0).harmonics) == 3  # 1960 Hz is 0.49 of 4000
    assert len(assess(np.cos(phase(hz=1980.0)), hz=1980.0).harmonics) == 1  # the fundamental always


def test_a_record_of_nothing_has_no_distortion():
    found = assess(np.zeros(N))
    assert (found.thd_f, found.thd_r, found.top_curvature) == (0.0, 0.0, None)


def test_mains_above_049_of_the_sampling_frequency_are_passed_over():
    """At 400 samples a second 0.49 of the rate is 196 Hz: of 65 Hz all three multiples lie below it, of 65.4 Hz two."""
    wave = np.cos(2.0 * np.pi * 37.0 * np.arange(4000) / 400.0)
    for mains, tones in ((65.0, 3), (65.4, 2), (70.0, 2), (110.0, 1), (250.0, 0)):
        found = assess(wave, hz=37.0, mains_hz=[mains], fs=400.0)
        assert len(found.fit.frequencies_hz) - len(found.harmonics) == tones
        assert found.mains_hidden == ()
