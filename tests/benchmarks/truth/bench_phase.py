"""Phases of known truth: are delay and polarity right, and do the stated 95 % intervals hold the delay?

Each channel has a delay, a polarity and a choice of frequencies of its own. Its phases have the errors that their
budget states: settling, the display's step, and a reference whose error is partly common to all frequencies. A second
run bends the phases by Butterworth filters (SciPy), whose delay at low frequencies is known in closed form. Run by
hand:

    python -m tests.benchmarks.truth.bench_phase [CHANNELS] [SEED] [store]
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import replace

import numpy as np
from scipy import signal

from tests.benchmarks.figures import store_figures
from tests.support.readings.cases import CHANNEL, REFERENCE, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.phase.phase_readings import REFERENCE_DEG, SETTLING_DEG
from vibcal_nb.metrology.sine.phase_line import wrapped
from vibcal_nb.model.asset import PhaseSpecification

R10 = np.array([10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000.0])
CORRELATION = 0.5
LONGEST_S = 10e-3


def filtered(rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """The phase of second-order Butterworth filters in degrees at R10, and the delay of the low-pass in s."""
    low, high = 2.0 * math.pi * rng.uniform(2.0, 5.0), 2.0 * math.pi * rng.uniform(2000.0, 4000.0)
    passes = (signal.butter(2, low, "high", analog=True), signal.butter(2, high, analog=True))
    response = np.prod([signal.freqs(*each, worN=2.0 * math.pi * R10)[1] for each in passes], axis=0)
    return np.degrees(np.unwrap(np.angle(response))), math.sqrt(2.0) / high


def read(rng: np.random.Generator, *, with_filters: bool) -> tuple[object, float, str]:
    """One channel's band response, its true delay in s and its polarity."""
    chosen = np.arange(R10.size)
    if not with_filters:
        chosen = np.sort(rng.choice(R10.size, rng.integers(6, R10.size), replace=False))
    f, delay, polarity = R10[chosen], rng.uniform(0.0, LONGEST_S), str(rng.choice(["+", "-"]))
    phase = (180.0 if polarity == "-" else 0.0) - 360.0 * delay * f
    if with_filters:
        bent, more = filtered(rng)
        phase, delay = phase + bent[chosen], delay + more
    half = REFERENCE_DEG / math.sqrt(3.0)
    phase = phase + math.sqrt(CORRELATION) * half * rng.standard_normal()
    phase = phase + math.hypot(math.sqrt(1.0 - CORRELATION) * half, SETTLING_DEG) * rng.standard_normal(f.size)
    channel = replace(CHANNEL, phase=PhaseSpecification(polarity=polarity))
    case = make_case("band-response", f, np.full(f.size, 40.0), channel=channel)
    read_as = [
        replace(r, phase_deg=round(wrapped(p), 1), phase_decimals=1) for r, p in zip(case.readings, phase, strict=True)
    ]
    reference = replace(REFERENCE, correlation=CORRELATION)
    return analyse_band_response(replace(case, readings=tuple(read_as), references=(reference,))), delay, polarity


def run(count: int, seed: int, *, with_filters: bool) -> str:
    """One row of the table."""
    rng = np.random.default_rng(seed)
    right = told = held = crossed = 0
    off, wide = [], []
    for _ in range(count):
        result, delay, polarity = read(rng, with_filters=with_filters)
        found = result.phase
        told += found.polarity == polarity
        zero = 180.0 if polarity == "-" else 0.0
        crossed += abs(wrapped(found.intercept_deg.value - zero)) <= found.intercept_deg.expanded.U
        if found.delay_ms.value is None:
            continue
        error, U = abs(found.delay_ms.value - 1e3 * delay), found.delay_ms.expanded.U
        right += error <= 4.0 * U
        held += error <= U
        off.append(error)
        wide.append(U)
    name = "delay and filters" if with_filters else "delay alone"
    return (
        f"| {name} | {told} | {right} | {100 * held / count:.1f} % | {100 * crossed / count:.1f} % "
        f"| {np.median(wide):.3g} ms | {np.max(off):.3g} ms |"
    )


def main(count: int, seed: int, *, store: bool) -> None:
    """Print, and store where asked, how often polarity and delay are right and their intervals hold the truth."""
    started = time.perf_counter()
    rows = [run(count, seed, with_filters=with_filters) for with_filters in (False, True)]
    text = "\n".join(
        [
            f"{count} channels each, seed {seed}, delays to {1e3 * LONGEST_S:g} ms, 6 to 20 frequencies of 10 to "
            f"1000 Hz (± {100 * math.sqrt(0.95 * 0.05 / count):.1f} % standard error of a coverage). Right: "
            "polarity as it is; delay within 4 U.",
            "",
            "| channels | polarity right | delay right | delay held | line at 0 Hz held | median U | largest error |",
            "|---|---|---|---|---|---|---|",
            *rows,
            "",
            f"{1000 * (time.perf_counter() - started) / count / 2:.1f} ms a channel.",
        ]
    )
    print(text)
    if store:
        store_figures("Phase", text, command=f"python -m tests.benchmarks.truth.bench_phase {count} {seed}")


if __name__ == "__main__":
    numbers = [int(value) for value in sys.argv[1:] if value != "store"]
    main(*(numbers + [1000, 20261130][len(numbers) :]), store="store" in sys.argv)
