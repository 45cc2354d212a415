"""A spectrum to look at: amplitudes at the lines, and what Harris's table says of a tone between two."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.metrology.sine.spectrum import amplitude_spectrum

SAMPLING_HZ, SAMPLES = 1024.0, 1024


def tone(hz, amplitude=2.5, offset=7.0):
    t = np.arange(SAMPLES) / SAMPLING_HZ
    return offset + amplitude * np.cos(2.0 * math.pi * hz * t + 0.3)


def test_a_tone_at_a_line_has_its_amplitude_and_the_mean_is_taken_off():
    hz, amplitude = amplitude_spectrum(tone(50.0), sampling_hz=SAMPLING_HZ)
    assert hz[50] == 50.0
    assert amplitude[50] == pytest.approx(2.5, rel=1e-9)
    assert amplitude[0] == pytest.approx(0.0, abs=1e-9)
    assert amplitude[60:].max() < 1e-9


def test_between_two_lines_it_is_less_by_the_windows_scallop_loss():
    """Harris 1978, table 1: Hann, 1.42 dB."""
    _, amplitude = amplitude_spectrum(tone(50.5), sampling_hz=SAMPLING_HZ)
    assert 20.0 * math.log10(amplitude.max() / 2.5) == pytest.approx(-1.42, abs=0.01)


def test_integers_as_a_recorder_writes_them_are_taken():
    samples = np.round(1000.0 * tone(50.0, offset=0.0)).astype(np.int16)
    _, amplitude = amplitude_spectrum(samples, sampling_hz=SAMPLING_HZ)
    assert amplitude[50] == pytest.approx(2500.0, rel=1e-3)
