"""Second-order sensors: are natural frequency and damping found, is a leak named where there is one and only there?

Responses by scipy.signal's transfer functions, with noise as the budget states it. Moving coils of 4 to 15 Hz and
damping ratios of 0.3 to 0.9, read from 3 Hz (*to the foot*) or from 10 Hz (*the shoulder alone*); sensors with a leaky
cable, a first-order high pass that takes 5 to 60 % at the lowest frequency, piezoelectric or not told. Run by hand:

    python -m tests.benchmarks.bench_moving_coils [SENSORS] [SEED]
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter

import numpy as np
from scipy import signal

from vibcal_nb.analysis.sensor_alone.sensor_model import fit_sensor

U = 0.003
FOOT = np.array([3, 4, 5, 6.3, 8, 10, 12.5, 16, 20, 25, 31.5, 50, 80, 125, 200, 315, 500, 1000.0])
SHOULDER = FOOT[FOOT >= 10.0]
KNOWN = {"nothing stated": None, "second order stated": "second order", "piezoelectric": "first order"}


def moving_coil(hz: np.ndarray, natural_hz: float, damping: float) -> np.ndarray:
    """Magnitude of a mass on a spring, coil moving with it: s^2/(s^2 + 2 h w0 s + w0^2)."""
    w0 = 2.0 * math.pi * natural_hz
    _, response = signal.freqs([1.0, 0.0, 0.0], [1.0, 2.0 * damping * w0, w0**2], worN=2.0 * math.pi * hz)
    return np.abs(response)


def leaky(hz: np.ndarray, corner_hz: float) -> np.ndarray:
    """Magnitude of an element with a leak across it: s/(s + w1)."""
    w1 = 2.0 * math.pi * corner_hz
    return np.abs(signal.freqs([1.0, 0.0], [1.0, w1], worN=2.0 * math.pi * hz)[1])


def coils(hz: np.ndarray, known: str | None, count: int, rng: np.random.Generator) -> Counter:
    counts: Counter = Counter()
    for _ in range(count):
        natural_hz, damping = rng.uniform(4.0, 15.0), rng.uniform(0.3, 0.9)
        s = 20.0 * moving_coil(hz, natural_hz, damping) * np.exp(U * rng.standard_normal(hz.size))
        fit = fit_sensor(hz, s, u_rel=U, low_end=known)
        counts[fit.low_end] += 1
        counts["inadequate"] += fit.inadequate is not None
        for name, truth in (("natural_frequency", natural_hz), ("damping_ratio", damping)):
            found = getattr(fit.physics, name)
            if found.interval is not None:
                counts[name, "stated"] += 1
                counts[name, "held"] += found.interval[0] <= truth <= found.interval[1]
                counts[name, "off"] += abs(found.value / truth - 1.0)
    return counts


def leaks(
    hz: np.ndarray, known: str | None, loss: tuple[float, float], count: int, rng: np.random.Generator
) -> Counter:
    counts: Counter = Counter()
    for _ in range(count):
        lost = rng.uniform(*loss)
        corner_hz = hz.min() * math.sqrt(1.0 / (1.0 - lost) ** 2 - 1.0)
        s = 5.0 * leaky(hz, corner_hz) * np.exp(U * rng.standard_normal(hz.size))
        fit = fit_sensor(hz, s, u_rel=U, low_end=known)
        counts[fit.low_end] += 1
        found = fit.physics.leak
        if found.interval is not None:
            counts["leak", "stated"] += 1
            counts["leak", "held"] += found.interval[0] <= corner_hz <= found.interval[1]
    return counts


def share(counts: Counter, name: str) -> str:
    stated = counts[name, "stated"]
    return f"{100 * counts[name, 'held'] / stated:.1f} % of {stated}" if stated else "none stated"


def main(count: int, seed: int) -> None:
    """Print what was told of moving coils and of leaky sensors."""
    started, rng = time.perf_counter(), np.random.Generator(np.random.PCG64(seed))
    print(f"{count} sensors a line, seed {seed}, readings known to {100 * U:g} %; intervals of 95 %")
    for where, hz in (("to the foot", FOOT), ("the shoulder alone", SHOULDER)):
        for what in ("nothing stated", "second order stated"):
            c = coils(hz, KNOWN[what], count, rng)
            off = 100.0 * c["natural_frequency", "off"] / max(c["natural_frequency", "stated"], 1)
            print(f"moving coils, {where}, {what}: f0 held {share(c, 'natural_frequency')}, "
                  f"h held {share(c, 'damping_ratio')}; named a leak {100 * c['first order'] / count:.2f} %, "
                  f"unknown {100 * c['unknown'] / count:.1f} %, no droop {100 * c['flat'] / count:.1f} %, "
                  f"no model holds {100 * c['inadequate'] / count:.2f} %; mean error of f0 {off:.2f} %",
                  flush=True)  # fmt: skip
    for loss in ((0.05, 0.15), (0.15, 0.3), (0.3, 0.6)):
        for what in ("nothing stated", "piezoelectric"):
            c = leaks(FOOT, KNOWN[what], loss, count, rng)
            print(f"leaks of {100 * loss[0]:g} to {100 * loss[1]:g} % at the lowest frequency, {what}: named "
                  f"{100 * c['first order'] / count:.1f} %, unknown {100 * c['unknown'] / count:.1f} %, called second "
                  f"order {100 * c['second order'] / count:.2f} %; corner held {share(c, 'leak')}",
                  flush=True)  # fmt: skip
    print(f"{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    arguments = [int(value) for value in sys.argv[1:]]
    main(*(arguments + [1000, 20261129][len(arguments) :]))
