"""Time and memory of a million Monte Carlo trials of a twelve-line budget.

Run from the repository: ``python -m tests.benchmarks.speed.bench_monte_carlo``.
"""

from __future__ import annotations

import time
import tracemalloc

import numpy as np

from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetLine
from vibcal_nb.metrology.uncertainty.monte_carlo import propagate, propagate_adaptively

TRIALS = 1_000_000


def twelve_lines() -> Budget:
    """Return a reading on a portable shaker, in percent, with one correlated pair of lines."""
    common = {"kind": "common"}
    own = {"kind": "independent"}
    return Budget(
        estimate=100.0,
        lines=(
            BudgetLine(name="reference", value=1.5, k=2.0, **common),
            BudgetLine(name="drift of the reference", value=0.5, distribution="rectangular", **common),
            BudgetLine(name="readout", value=0.2, k=2.0, **common),
            BudgetLine(name="frequency of the shaker", value=0.1, distribution="triangular", **common),
            BudgetLine(name="temperature", value=0.4, distribution="arcsine", **common),
            BudgetLine(name="amplifier gain", value=0.3, **common),
            BudgetLine(name="amplifier range", value=0.3, **common),
            BudgetLine(name="transverse motion", value=0.6, distribution="arcsine", **own),
            BudgetLine(name="distortion", value=0.2, distribution="trapezoidal", beta=0.5, **own),
            BudgetLine(name="mounting", value=0.5, distribution="rectangular", **own),
            BudgetLine(name="resolution", value=0.1, distribution="rectangular", **own),
            BudgetLine(name="repeatability", value=0.2, degrees_of_freedom=4, **own),
        ),
        correlations={("amplifier gain", "amplifier range"): 0.7},
    )


def main() -> None:
    """Print the best and the median of five runs, the peak of memory, and an adaptive run."""
    budget = twelve_lines()
    rng = np.random.default_rng(12)
    times, processor = [], []
    for _ in range(5):
        start, used = time.perf_counter(), time.process_time()
        result = propagate(budget, rng=rng, trials=TRIALS)
        times.append(time.perf_counter() - start)
        processor.append(time.process_time() - used)
    best, median = min(times), sorted(times)[2]
    print(f"{TRIALS} trials of {len(budget.lines)} lines: best {best:.3f} s, median {median:.3f} s elapsed")
    print(f"processor time, which a busy machine lengthens less: best {min(processor):.3f} s")
    print(f"u {result.standard_uncertainty:.4f} (budget {budget.combined_standard_uncertainty:.4f})")
    tracemalloc.start()
    propagate(budget, rng=rng, trials=TRIALS)
    print(f"peak of memory {tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB")
    tracemalloc.stop()
    start = time.perf_counter()
    adaptive = propagate_adaptively(budget, rng=rng)
    print(f"adaptive, two digits: {adaptive.trials} trials in {time.perf_counter() - start:.3f} s")


if __name__ == "__main__":
    main()
