"""What tests of sine are made of."""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.metrology.sine.sine_fit import fit_sine_four

FS, N, A, PHASE, C = 10_000.0, 1000, 1.25, math.radians(35.0), 0.1


def record(f, *, a=A, phase=PHASE, c=C, n=N, fs=FS):
    return a * np.cos(2.0 * np.pi * f * np.arange(n) / fs + phase) + c


def random_signal(rng):
    n = int(np.exp(rng.uniform(np.log(200), np.log(5000))))
    f = float(np.exp(rng.uniform(np.log(3.0), np.log(0.45 * n)))) * FS / n
    a = float(np.exp(rng.uniform(-3.0, 3.0)))
    y = record(f, a=a, phase=rng.uniform(-np.pi, np.pi), c=a * rng.uniform(-1.0, 1.0), n=n)
    decibels = rng.uniform(40.0, 80.0)
    return f, y + a / math.sqrt(2.0) * 10.0 ** (-decibels / 20.0) * rng.standard_normal(n)


def converges(rng):
    f, y = random_signal(rng)
    fit = fit_sine_four(y, sampling_hz=FS, start_hz=f * (1.0 + rng.choice([-0.01, 0.01])))
    return abs(fit.frequency_hz - f) < 6.0 * fit.u_frequency_hz
