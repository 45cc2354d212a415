"""Power of the demo plans against brute force: ``python -m tests.benchmarks.truth.bench_power``."""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from tests.support.analyses.power import DEMO_PLANS, found_by_full_analysis, planned
from vibcal_nb.analysis.planning.more_readings import suggest_more_readings
from vibcal_nb.analysis.planning.power import find_power, prepare_tests, smallest_gain_error_pct
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, usual_faults


def main(trials: int = 300) -> None:
    worst = 0.0
    for visit, channel in DEMO_PLANS:
        plan, instruments = planned(visit, channel)
        faults = (NO_FAULT, *usual_faults(plan.channel))
        began = time.perf_counter()
        figures = find_power(plan, faults, instruments=instruments, rng=np.random.default_rng(1))
        seconds = time.perf_counter() - began
        smallest = smallest_gain_error_pct(plan, instruments=instruments, rng=np.random.default_rng(1))
        print(f"{channel}: {seconds:.2f} s for {len(faults)} faults; gain error found 19 times in 20: {smallest:.2f} %")
        tests = prepare_tests(plan, instruments)
        for number, figure in enumerate(figures):
            share = found_by_full_analysis(tests, figure.fault, seed=500 + number, trials=trials).mean()
            p = min(max(figure.probability, 0.5 / trials), 1.0 - 0.5 / trials)
            z = (share - figure.probability) / math.sqrt(p * (1.0 - p) * (1.0 / trials + 1.0 / figure.trials))
            worst = max(worst, abs(z))
            print(f"  {figure.fault.name:28s} plan {figure.probability:6.3f}  full analysis {share:6.3f}  z {z:+.1f}")
        for item in suggest_more_readings(plan, faults[1:], instruments=instruments, rng=np.random.default_rng(1)):
            chances = f"{item.before.probability:.2f} -> {item.after.probability:.2f}"
            print(f"  + {item.what}: {item.before.fault.name} {chances}")
    print(f"largest |z| {worst:.1f} over {trials} trials each")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
