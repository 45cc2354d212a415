"""Do stated corners hold the truth where the filter is no Butterworth, and is a true model ever called inadequate?

Tables of many filter shapes (``tests.support.readings.filters``, scipy.signal), the shape not told to the fit, with
noise as the budget states it. Corners of 18 to 22 Hz and 360 to 440 Hz, the reference frequency at 80 Hz, read at a
dense sweep, at preferred frequencies, and at few. The truth is taken in both ways that half power can be meant: of
the plateau, and of the response at the reference frequency. Run by hand:

    python -m tests.benchmarks.truth.bench_corner_shapes [TABLES] [SEED] [SWEEP]... [store]
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter

import numpy as np

from tests.benchmarks.figures import store_figures
from tests.support.readings.filters import BUTTERWORTH, WRONG_SHAPES, FilteredBand, Prototype
from vibcal_nb.analysis.band_response.band_model import fit_band

REFERENCE_HZ = 80.0
SWEEPS = {
    "sweep": (np.sort(np.append(np.geomspace(9.0, 900.0, 29), [20.0, 80.0, 400.0])), 0.0035),
    "preferred": (
        np.array([10, 12.5, 16, 20, 25, 31.5, 40, 63, 80, 125, 200, 250, 315, 400, 500, 630.0]),
        0.0035,
    ),
    "few": (np.array([10, 16, 20, 31.5, 40, 80, 160, 250, 315, 400, 630.0]), 0.0035),
    "noisy sweep": (np.sort(np.append(np.geomspace(7.0, 1200.0, 31), [80.0])), 0.006),
}


def study(shape: Prototype, hz: np.ndarray, u: float, tables: int, rng: np.random.Generator) -> Counter:
    """Count over tables what was stated of both corners."""
    counts: Counter = Counter()
    for _ in range(tables):
        corners = {"low": rng.uniform(18.0, 22.0), "high": rng.uniform(360.0, 440.0)}
        band = FilteredBand((shape, corners["low"]), (shape, corners["high"]))
        s = np.abs(band.response(hz)) * np.exp(u * rng.standard_normal(hz.size))
        fit = fit_band(hz, s, u_rel=u, reference_hz=REFERENCE_HZ)
        counts["adequate", fit.adequate] += 1
        for side, plateau in corners.items():
            corner = fit.corners[side]
            if corner.interval_hz is None:
                counts["not stated"] += 1
                continue
            low, high = corner.interval_hz
            counts[corner.source] += 1
            counts["stated"] += 1
            counts["width"] += 50.0 * math.log(high / low)
            counts["outside of plateau"] += not low <= plateau <= high
            counts["outside of reference"] += not low <= band.half_power_hz(side, REFERENCE_HZ) <= high
    return counts


def main(tables: int, seed: int, sweeps: list[str], *, store: bool) -> None:
    """Print, for each sweep and shape, how often a stated interval excludes the truth, in %."""
    started = time.perf_counter()
    rng = np.random.Generator(np.random.PCG64(seed))
    lines = [
        f"{tables} tables a shape and sweep, seed {seed}; in % of the stated corners of both sides.",
        "",
        "| sweep | shape | excluded: re plateau | re reference | by model | U, % | model rejected | not stated |",
        "|---|---|---|---|---|---|---|---|",
    ]
    print(*lines, sep="\n", flush=True)
    for sweep in sweeps or list(SWEEPS):
        for name, shape in (WRONG_SHAPES | BUTTERWORTH).items():
            c = study(shape, *SWEEPS[sweep], tables, rng)
            stated = max(c["stated"], 1)
            lines.append(
                f"| {sweep} | {name} | {100 * c['outside of plateau'] / stated:.1f} "
                f"| {100 * c['outside of reference'] / stated:.1f} | {100 * c['fitted model'] / stated:.1f} "
                f"| {c['width'] / stated:.2f} | {100 * c['adequate', False] / tables:.1f} "
                f"| {100 * c['not stated'] / (2 * tables):.1f} |"
            )
            print(lines[-1], flush=True)
    print(f"{time.perf_counter() - started:.0f} s")
    if store:
        command = f"python -m tests.benchmarks.truth.bench_corner_shapes {tables} {seed} {' '.join(sweeps)} store"
        store_figures("Corners of filters of many shapes", "\n".join(lines), command=command)


if __name__ == "__main__":
    words = [value for value in sys.argv[1:] if value != "store"]
    numbers = [int(value) for value in words if value.isdigit()]
    chosen = [value for value in words if not value.isdigit()]
    main(*(numbers + [200, 20261129][len(numbers) :]), chosen, store="store" in sys.argv)
