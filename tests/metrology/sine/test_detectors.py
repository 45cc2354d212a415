"""Detectors of distorted sines: closed forms of square and triangle (Fourier series), and sampled sums."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import SHORT
from vibcal_nb.metrology.sine.detectors import peak_error, rms_error
from vibcal_nb.metrology.sine.distortion import assess_distortion


def test_a_square_wave_has_the_rms_of_its_series():
    """Fundamental 4/pi, r.m.s. 1: pi / (2 sqrt 2) of the fundamental's; THD_F = sqrt(pi^2/8 - 1)."""
    thd = math.sqrt(math.pi**2 / 8.0 - 1.0)
    assert 1.0 + rms_error(thd) == pytest.approx(math.pi / (2.0 * math.sqrt(2.0)), rel=1e-12)


def test_a_triangle_wave_has_the_peak_of_its_series():
    """All harmonics 1/k^2 meet at the peak: pi^2/8 of the fundamental."""
    harmonics = sum(1.0 / k**2 for k in range(3, 200_001, 2))
    assert 1.0 + peak_error(0.121, harmonics=harmonics) == pytest.approx(math.pi**2 / 8.0, rel=1e-5)


def test_a_few_percent_are_half_a_square_for_rms_and_a_whole_for_peak():
    assert rms_error(0.02) == pytest.approx(0.0002, rel=1e-3)
    assert peak_error(0.02) == pytest.approx(0.0283, abs=1e-4)
    assert peak_error(0.02, harmonics=0.021) == 0.021


@SHORT
@given(
    parts=st.lists(st.floats(0.0, 0.05), min_size=1, max_size=6),
    phases=st.lists(st.floats(0.0, 6.28), min_size=6, max_size=6),
)
def test_a_sampled_sum_keeps_within_both(parts, phases):
    t = np.arange(4096) / 4096
    y = np.sin(2 * np.pi * t) + sum(
        a * np.sin(2 * np.pi * k * t + p) for k, (a, p) in enumerate(zip(parts, phases, strict=False), start=2)
    )
    thd = math.sqrt(sum(a * a for a in parts))
    assert np.sqrt(2.0 * np.mean(y * y)) == pytest.approx(1.0 + rms_error(thd), rel=1e-9)
    assert abs(np.abs(y).max() - 1.0) <= peak_error(thd, harmonics=sum(parts)) + 1e-5


def test_the_sum_of_harmonics_of_a_record():
    """3 % and 4 %: THD 5 %, sum 7 %."""
    t = np.arange(8000) / 8000.0
    y = np.sin(2 * np.pi * 100 * t) + 0.03 * np.sin(2 * np.pi * 200 * t) + 0.04 * np.sin(2 * np.pi * 300 * t + 1)
    found = assess_distortion(y, sampling_hz=8000.0, frequency_hz=100.0)
    assert found.thd_f == pytest.approx(0.05, rel=1e-6)
    assert found.harmonic_sum == pytest.approx(0.07, rel=1e-6)
