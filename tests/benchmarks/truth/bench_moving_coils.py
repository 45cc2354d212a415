"""Second-order sensors: are natural frequency and damping found, is a leak named where there is one and only there?

Responses by scipy.signal's transfer functions, with noise as the budget states it. Moving coils of 4 to 15 Hz and
damping ratios of 0.3 to 0.9, read from 3 Hz (*to the foot*) or from 10 Hz (*the shoulder alone*); sensors with a leaky
cable, a first-order high pass that takes 5 to 60 % at the lowest frequency, piezoelectric or not told. Run by hand:

    python -m tests.benchmarks.truth.bench_moving_coils [SENSORS] [SEED] [store]
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from collections.abc import Iterator

import numpy as np
from scipy import signal

from tests.benchmarks.figures import store_figures
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


def main(count: int, seed: int, *, store: bool) -> None:
    """Print, and store where asked, what was told of moving coils and of leaky sensors."""
    started, rng = time.perf_counter(), np.random.Generator(np.random.PCG64(seed))
    text = "\n".join([
        f"{count} sensors a line, seed {seed}, readings known to {100 * U:g} %; intervals of 95 %.",
        "",
        "| moving coils (h 0.3 to 0.9, f0 4 to 15 Hz) | f0 held | h held | named a leak | unknown | no droop |"
        " mean error of f0 |",
        "|---|---|---|---|---|---|---|",
        *_coil_rows(count, rng),
        "",
        "| leak, loss at the lowest frequency | named a leak | unknown | called second order | corner held |",
        "|---|---|---|---|---|",
        *_leak_rows(count, rng),
    ])  # fmt: skip
    print(f"{text}\n\n{time.perf_counter() - started:.0f} s")
    if store:
        store_figures(
            "Moving coils", text, command=f"python -m tests.benchmarks.truth.bench_moving_coils {count} {seed}"
        )


def _coil_rows(count: int, rng: np.random.Generator) -> Iterator[str]:
    for where, hz in (("to the foot", FOOT), ("the shoulder alone", SHOULDER)):
        for what in ("nothing stated", "second order stated"):
            c = coils(hz, KNOWN[what], count, rng)
            off = 100.0 * c["natural_frequency", "off"] / max(c["natural_frequency", "stated"], 1)
            shares = (c["first order"], c["unknown"], c["flat"])
            told = " | ".join(f"{100 * number / count:.1f} %" for number in shares)
            yield (
                f"| {where}, {what} | {share(c, 'natural_frequency')} | {share(c, 'damping_ratio')} | {told} | "
                f"{off:.2f} % |"
            )


def _leak_rows(count: int, rng: np.random.Generator) -> Iterator[str]:
    for loss in ((0.05, 0.15), (0.15, 0.3), (0.3, 0.6)):
        for what in ("nothing stated", "piezoelectric"):
            c = leaks(FOOT, KNOWN[what], loss, count, rng)
            told = " | ".join(f"{100 * c[name] / count:.1f} %" for name in ("first order", "unknown", "second order"))
            yield f"| {100 * loss[0]:g} to {100 * loss[1]:g} %, {what} | {told} | {share(c, 'leak')} |"


if __name__ == "__main__":
    arguments = [int(value) for value in sys.argv[1:] if value != "store"]
    main(*(arguments + [1000, 20261129][len(arguments) :]), store="store" in sys.argv)
