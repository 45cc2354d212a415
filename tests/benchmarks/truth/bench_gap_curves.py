"""Gap curves of known truth: do the stated 95 % intervals hold it, and how often are the verdicts right?

Each probe has a curve of its own: a slope near nominal, a bend at either end, and readings by a micrometer and a
voltmeter whose errors are as large as their certificates state. Run by hand:

    python -m tests.benchmarks.truth.bench_gap_curves [CURVES] [SEED] [store]
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tests.benchmarks.figures import store_figures
from tests.support.readings.cases import READOUT
from tests.support.readings.gap_curve import GAPS, PROBE, gap_case
from vibcal_nb.analysis.gap_curve.gap_curve import analyse_gap_curve

U_GAP = 1e-3  # mm, standard, at each gap
U_GAIN = 0.001  # relative, standard: a voltmeter of 0.2 % (k = 2)
STEP = 0.001  # V, the last digit
NOMINAL = PROBE.nominal_sensitivity


def probe(rng: np.random.Generator) -> Callable[[np.ndarray], np.ndarray]:
    """A probe's voltage over gap: its slope within 3 % of nominal, bent at either end by up to what is allowed."""
    slope, first = NOMINAL * (1.0 + 0.03 * rng.uniform(-1.0, 1.0)), rng.uniform(-2.5, -1.0)
    low, high = rng.uniform(0.0, 0.015, 2)

    def voltage(gap: np.ndarray) -> np.ndarray:
        bend = low * np.exp(-(gap - 0.25) / 0.25) - high * np.exp((gap - 2.25) / 0.3)
        return first + slope * (gap - 0.25 + bend)

    return voltage


def truths(voltage: np.ndarray) -> dict[str, float]:
    """What an analysis should find, worked out here from the exact curve by numpy alone."""
    slopes = np.diff(voltage) / np.diff(GAPS)
    beside = voltage / NOMINAL - GAPS
    return {
        "increment": slopes[4],
        "last increment": slopes[-1],
        "average": (voltage[-1] - voltage[0]) / (GAPS[-1] - GAPS[0]),
        "least squares": np.polyfit(GAPS, voltage, 1)[0],
        "deviation, minimax": 500.0 * np.ptp(beside),
        "deviation, least squares": 1000.0 * np.abs(beside - beside.mean()).max(),
        "rest voltage": voltage[4],
    }


def found_in(result) -> dict[str, tuple[float, float]]:
    """Each value with its U."""
    of = abs(NOMINAL) / 100.0
    item, last = result.increments[4], result.increments[-1]
    lines = result.from_line
    return {
        "increment": (item.sensitivity, item.expanded.U * of),
        "last increment": (last.sensitivity, last.expanded.U * of),
        "average": (result.average.value, result.average.expanded.U * of),
        "least squares": (result.least_squares.value, result.least_squares.expanded.U * of),
        "deviation, minimax": (lines["minimax"].value_um, lines["minimax"].expanded.U),
        "deviation, least squares": (lines["least-squares"].value_um, lines["least-squares"].expanded.U),
        "rest voltage": (result.rest.voltage, result.rest.expanded.U),
    }


def main(count: int, seed: int, *, store: bool) -> None:
    """Print, and store where asked, how often the intervals hold the truth."""
    rng, started = np.random.default_rng(seed), time.perf_counter()
    held, wide, verdicts = Counter(), Counter(), Counter()
    readout = replace(READOUT, expanded_pct=200.0 * U_GAIN)
    for _ in range(count):
        curve = probe(rng)
        read = curve(GAPS + U_GAP * rng.standard_normal(GAPS.size)) * (1.0 + U_GAIN * rng.standard_normal())
        result = analyse_gap_curve(gap_case(np.round(read / STEP) * STEP, decimals=3, readout=readout))
        for name, truth in truths(curve(GAPS)).items():
            value, U = found_in(result)[name]
            held[name] += abs(value - truth) <= U
            wide[name] += U / count
        verdicts[result.verdict] += 1
    rows = [f"| {name} | {100 * held[name] / count:.1f} % | {wide[name]:.3g} {_unit(name)} |" for name in held]
    text = "\n".join(
        [
            f"{count} curves of 9 gaps, seed {seed}: each interval of 95 % and how often it holds the truth "
            f"(± {100 * math.sqrt(0.95 * 0.05 / count):.1f} % standard error).",
            "",
            "| quantity | held | mean U |",
            "|---|---|---|",
            *rows,
            "",
            f"Verdicts: {', '.join(f'{word} {number}' for word, number in verdicts.most_common())}. "
            f"{1000 * (time.perf_counter() - started) / count:.1f} ms a curve.",
        ]
    )
    print(text)
    if store:
        store_figures("Gap curves", text, command=f"python -m tests.benchmarks.truth.bench_gap_curves {count} {seed}")


def _unit(name: str) -> str:
    return "um" if name.startswith("deviation") else "V" if "voltage" in name else "V/mm"


if __name__ == "__main__":
    numbers = [int(value) for value in sys.argv[1:] if value != "store"]
    main(*(numbers + [2000, 20261130][len(numbers) :]), store="store" in sys.argv)
