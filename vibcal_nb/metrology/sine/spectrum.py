"""Amplitudes over frequency of sampled signals, for a person to look at; no figure is taken from it."""

from __future__ import annotations

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.sine.tones import Samples

MOST_SAMPLES = 1 << 16  # of a long record the first ones are enough to look at


def amplitude_spectrum(y: Samples, *, sampling_hz: float) -> tuple[FloatArray, FloatArray]:
    """Return frequencies in Hz and peak amplitudes in the unit of the samples, both shape (n // 2 + 1,).

    The mean is taken off and a Hann window put on, whose coherent gain of one half is divided out, so that a tone at
    a line's frequency has its amplitude there, and at worst 1.42 dB less between two lines.

    References
    ----------
    F. J. Harris, On the use of windows for harmonic analysis with the discrete Fourier transform, Proc. IEEE 66
    (1978) 51-83, table 1: Hann, coherent gain 0.50, scallop loss 1.42 dB.
    """
    part = np.asarray(y[:MOST_SAMPLES], dtype=np.float64)
    window = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(part.size) / part.size)
    lines = np.fft.rfft((part - part.mean()) * window)
    frequency_hz: FloatArray = np.asarray(np.arange(lines.size) * (sampling_hz / part.size), dtype=np.float64)
    amplitude: FloatArray = np.asarray(2.0 * np.abs(lines) / (0.5 * part.size), dtype=np.float64)
    return frequency_hz, amplitude
