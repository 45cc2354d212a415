"""How often is a reference that is off named, and how often one that is not? Simulated sites of 20 channels.

The stated certificate is 1 % or 0.5 % (k = 2); its true error varies from visit to visit either as in the demo site
(within 0.4 of what is stated) or as widely as is stated; E_n with U for 95 % or 99.5 %. Run by hand:

    python -m tests.benchmarks.truth.bench_common_shift [SITES]
"""

from __future__ import annotations

import itertools
import math
import sys
import time
from statistics import NormalDist

import numpy as np

from tests.support.readings.simulated_levels import simulate_site
from vibcal_nb.analysis.site.common_shift import find_common_shifts


def rates(sites, *, probability, **site):
    rng, named, false = np.random.default_rng(1), 0, 0
    for number in range(sites):
        shifted = number % site["visits"]
        found = find_common_shifts(simulate_site(rng, shifted=shifted, **site), probability=probability)
        named += [item.occasion for item in found] == [f"visit {shifted}"]
        same = {name: value for name, value in site.items() if name != "shift_pct"}
        false += bool(find_common_shifts(simulate_site(rng, **same), probability=probability))
    return 100.0 * named / sites, 100.0 * false / sites


def least_shift(U, visits, *, named=0.95, silent=0.98):
    """The least shift in % that any test names in 95 of 100 sites and names none of in 98 of 100 without it.

    References err as widely as their certificates state: a visit less the mean of the others scatters by
    u sqrt(1 + 1/(n - 1)), u being what its readings share, and n visits share the 2 %. Returns it with the
    probability of the U that the test needs.
    """
    u = math.sqrt((U / 2.0) ** 2 + 2.0 * 0.2**2 / 3.0 + 0.1**2) * math.sqrt(1.0 + 1.0 / (visits - 1))
    probability = silent ** (1.0 / visits)
    return u * (NormalDist().inv_cdf((1.0 + probability) / 2.0) + NormalDist().inv_cdf(named)), probability


def main():
    sites = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    started = time.perf_counter()
    print(f"{sites} sites of 20 channels a line; the reference of one visit 2 % off, or of none")
    for p, scatter, U, visits in itertools.product((0.95, 0.995), ("demo", "stated"), (1.0, 0.5), (3, 5)):
        named, false = rates(sites, probability=p, scatter=scatter, expanded_pct=U, visits=visits)
        print(f"  p {p}, U {U} %, error as {scatter:6}, {visits} visits: named {named:5.1f} %, wrongly {false:4.1f} %")
    for U, visits in itertools.product((1.0, 0.5), (3, 5)):
        least, p = least_shift(U, visits)
        named, false = rates(sites, probability=p, scatter="stated", expanded_pct=U, visits=visits, shift_pct=least)
        said = f"  least shift to be had with U {U} %, {visits} visits: {least:.2f} % (p {p:.4f})"
        print(f"{said}: named {named:5.1f} %, wrongly {false:4.1f} %")
    print(f"{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
