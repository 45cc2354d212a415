"""How often the 95 % intervals of band corners cover the truth, from simulated tables. Run by hand:

    python -m tests.benchmarks.bench_band_intervals [TABLES]

Each table: 25 to 40 log-spaced readings over a random span, corners and orders drawn at random, noise of 0.5 %. The
order is not given to the fit; it chooses as it does in a record.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from tests.cases import butterworth
from vibcal_nb.analysis.band_model import fit_band

NOISE = 0.005


def draw_table(rng):
    count, ln_span = int(rng.integers(25, 41)), rng.uniform(math.log(20.0), math.log(1000.0))
    first = math.exp(rng.uniform(0.0, math.log(20.0)))
    f = first * np.exp(np.linspace(0.0, ln_span, count))
    corners = [first * math.exp(ln_span * rng.uniform(*part)) for part in ((0.12, 0.35), (0.65, 0.88))]
    orders = rng.integers(1, 5, size=2)
    s = butterworth(f, low=(corners[0], int(orders[0])), high=(corners[1], int(orders[1])))
    return f, 4.0 * s * np.exp(NOISE * rng.standard_normal(count)), corners, orders


def main(tables=2000, seed=1):
    rng = np.random.default_rng(seed)
    covered, stated, wrong_order, half_widths = np.zeros((2, 5)), np.zeros((2, 5)), 0, []
    start = time.perf_counter()
    for _ in range(tables):
        f, s, corners, orders = draw_table(rng)
        fit = fit_band(f, s, u_rel=NOISE, reference_hz=math.sqrt(corners[0] * corners[1]))
        for side, name in enumerate(("low", "high")):
            interval = getattr(fit, f"corner_{name}_interval_hz")
            if interval is not None:
                stated[side, orders[side]] += 1
                covered[side, orders[side]] += interval[0] <= corners[side] <= interval[1]
                half_widths.append(50.0 * math.log(interval[1] / interval[0]))
            wrong_order += getattr(fit, f"order_{name}") not in (None, orders[side])
    elapsed = time.perf_counter() - start
    print(
        f"{tables} tables, {stated.sum():.0f} corners stated of {2 * tables}, {1000 * elapsed / tables:.1f} ms a table"
    )
    for side, name in enumerate(("low", "high")):
        by_order = ", ".join(f"order {n} {100 * covered[side, n] / max(stated[side, n], 1):.1f} %" for n in range(1, 5))
        share = 100 * covered[side].sum() / max(stated[side].sum(), 1)
        print(f"{name:>4} corner: 95 % interval covers {share:.1f} % ({by_order})")
    print(f"overall {100 * covered.sum() / max(stated.sum(), 1):.2f} %, wrong order stated {wrong_order} times")
    print(f"median half-width {np.median(half_widths):.2f} %")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
