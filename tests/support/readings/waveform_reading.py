"""What tests of waveform reading are made of."""

from __future__ import annotations

import numpy as np

FS = 4000.0


def signals(rng, *, seconds=5.0, hz=50.02, level=0.5, gain=0.8, phase=0.3, noise=0.001, ramp_s=1.0, fs=FS):
    t = np.arange(int(seconds * fs)) / fs
    envelope = np.minimum(t / ramp_s, 1.0) if ramp_s else np.ones(t.size)
    reference = level * envelope * np.cos(2 * np.pi * hz * t)
    output = gain * level * envelope * np.cos(2 * np.pi * hz * t + phase)
    return reference + noise * rng.standard_normal(t.size), output + noise * rng.standard_normal(t.size)
