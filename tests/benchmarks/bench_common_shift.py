"""How often is a reference that is off named, and how often one that is not? Simulated sites of 20 channels.

The stated certificate is 1 % or 0.5 % (k = 2); its true error varies from visit to visit either as in the demo site
(within 0.4 of what is stated) or as widely as is stated; E_n with U for 95 % or 99.5 %. Run by hand:

    python -m tests.benchmarks.bench_common_shift [SITES]
"""

from __future__ import annotations

import itertools
import sys
import time

import numpy as np

from tests.simulated_levels import simulate_site
from vibcal_nb.analysis.common_shift import find_common_shifts


def rates(sites, *, probability, **site):
    rng, named, false = np.random.default_rng(1), 0, 0
    for number in range(sites):
        shifted = number % site["visits"]
        found = find_common_shifts(simulate_site(rng, shifted=shifted, **site), probability=probability)
        named += [item.occasion for item in found] == [f"visit {shifted}"]
        false += bool(find_common_shifts(simulate_site(rng, **site), probability=probability))
    return 100.0 * named / sites, 100.0 * false / sites


def main():
    sites = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    started = time.perf_counter()
    print(f"{sites} sites of 20 channels a line; the reference of one visit 2 % off, or of none")
    for p, scatter, U, visits in itertools.product((0.95, 0.995), ("demo", "stated"), (1.0, 0.5), (3, 5)):
        named, false = rates(sites, probability=p, scatter=scatter, expanded_pct=U, visits=visits)
        print(f"  p {p}, U {U} %, error as {scatter:6}, {visits} visits: named {named:5.1f} %, wrongly {false:4.1f} %")
    print(f"{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
