"""Do the 95 % intervals of fitted corners cover? Simulated tables, and the same without noise.

Bands of first to fourth order, with a lower corner, an upper one or both; 25 to 40 log-spaced readings that
reach from a third of the lower corner to three times the upper one; noise of 0.5 %. The order is not told to
the fit. Run by hand: ``python -m tests.benchmarks.truth.bench_band_coverage [TABLES]``.
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from dataclasses import dataclass

import numpy as np

from tests.support.readings.cases import butterworth
from vibcal_nb.analysis.band_response.band_model import BandFit, fit_band

NOISE = 0.005
SIDES = ("low", "high")


@dataclass(frozen=True, kw_only=True)
class Band:
    """The truth of one table: corner in Hz and order of each side that is there, and its frequencies."""

    corners: dict[str, float]
    orders: dict[str, int]
    frequency_hz: np.ndarray
    reference_hz: float

    @property
    def sensitivity(self) -> np.ndarray:
        """Sensitivity without noise, shape (n,)."""
        low, high = ((self.corners[side], self.orders[side]) if side in self.corners else None for side in SIDES)
        return 4.0 * butterworth(self.frequency_hz, low=low, high=high)


def draw_band(rng: np.random.Generator, sides: tuple[str, ...]) -> Band:
    """Draw corners between 10 and 20 Hz and between 400 and 1000 Hz, and the orders of each side."""
    low, high = rng.uniform(10.0, 20.0), rng.uniform(400.0, 1000.0)
    begin = low / 3.0 if "low" in sides else low
    end = 3.0 * high if "high" in sides else high
    frequency = np.geomspace(begin, end, int(rng.integers(25, 41)))
    middle = math.sqrt(low * high)
    return Band(
        corners={side: {"low": low, "high": high}[side] for side in sides},
        orders={side: int(rng.integers(1, 5)) for side in sides},
        frequency_hz=frequency,
        reference_hz=float(frequency[np.abs(np.log(frequency / middle)).argmin()]),
    )


def fit(band: Band, sensitivity: np.ndarray) -> BandFit:
    """Fit a table of the band."""
    return fit_band(band.frequency_hz, sensitivity, u_rel=NOISE, reference_hz=band.reference_hz)


def study(rng: np.random.Generator, tables: int) -> tuple[Counter, float]:
    """Count covered, missed and undetermined corners, and return the worst error without noise, in %."""
    counts: Counter = Counter()
    worst = 0.0
    for number in range(tables):
        sides = (("low",), ("high",), SIDES)[number % 3]
        band = draw_band(rng, sides)
        clean = fit(band, band.sensitivity)
        noisy = fit(band, band.sensitivity * rng.normal(1.0, NOISE, band.frequency_hz.size))
        kind = "both sides" if len(sides) == 2 else f"{sides[0]} side alone"
        for side, corner in band.corners.items():
            found, interval = clean.corners[side].hz, noisy.corners[side].interval_hz
            worst = max(worst, math.inf if found is None else 100.0 * abs(found / corner - 1.0))
            covered = None if interval is None else interval[0] <= corner <= interval[1]
            order = noisy.corners[side].order
            counts["all", covered] += 1
            counts[f"{side} corner, {kind}", covered] += 1
            counts[f"order {band.orders[side]}", covered] += 1
            counts["order chosen", {None: None, band.orders[side]: True}.get(order, False)] += 1
    return counts, worst


def main(tables: int) -> None:
    """Print the coverage of all corners, by kind of band and by order."""
    started = time.perf_counter()
    counts, worst = study(np.random.Generator(np.random.PCG64(20260519)), tables)
    print(f"{tables} tables, each with and without noise, in {time.perf_counter() - started:.0f} s")
    print(f"without noise the worst corner is {worst:.2g} % off")
    for name in sorted({key for key, _ in counts}):
        yes, no, none = (counts[name, answer] for answer in (True, False, None))
        share = 100.0 * yes / max(yes + no, 1)
        error = 100.0 * math.sqrt(yes * no / max(yes + no, 1) ** 3)
        print(f"{name:28s} {share:6.2f} % ± {error:.2f} of {yes + no}; undetermined {none}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
