"""Sine fits: seconds and memory on long records, and convergence: ``python -m tests.benchmarks.speed.bench_sine``."""

from __future__ import annotations

import resource
import tempfile
import time
from pathlib import Path

import numpy as np

from tests.support.readings.sine import converges
from vibcal_nb.metrology.sine.distortion import assess_distortion
from vibcal_nb.metrology.sine.sine_fit import fit_sine_four


def one_million() -> None:
    rng = np.random.default_rng(1)
    y = 1.25 * np.cos(2.0 * np.pi * 160.3 * np.arange(1_000_000) / 10_000.0 + 0.6)
    y += 0.01 * rng.standard_normal(y.size)
    for start in (160.0, None):
        times = []
        for _ in range(5):
            began = time.perf_counter()
            fit = fit_sine_four(y, sampling_hz=10_000.0, start_hz=start)
            times.append(time.perf_counter() - began)
        print(f"1 000 000 samples, start {start}: {min(times):.2f} s, {fit.frequency_hz:.7f} Hz")


def ten_million_on_disk() -> None:
    """16-bit codes in a file, mapped: what is in memory is one block."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.npy"
        mapped = np.lib.format.open_memmap(path, mode="w+", dtype=np.int16, shape=(10_000_000,))
        for start in range(0, mapped.size, 1_000_000):
            t = np.arange(start, start + 1_000_000) / 50_000.0
            mapped[start : start + t.size] = np.round(20_000.0 * np.cos(2.0 * np.pi * 160.3 * t))
        mapped.flush()
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        y = np.load(path, mmap_mode="r", allow_pickle=False)
        began = time.perf_counter()
        fit = fit_sine_four(y, sampling_hz=50_000.0)
        middle = time.perf_counter()
        assess_distortion(y, sampling_hz=50_000.0, frequency_hz=fit.frequency_hz)
        ended = time.perf_counter()
        after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"10 000 000 samples on disk: fit {middle - began:.1f} s, distortion {ended - middle:.1f} s")
    print(
        f"largest memory: {before / 1024:.0f} MB before, {after / 1024:.0f} MB after (file pages of the map included)"
    )


def convergence(trials: int = 10_000) -> None:
    rng = np.random.default_rng(2026)
    good = sum(converges(rng) for _ in range(trials))
    print(f"four-parameter fit from a start 1 % off, 40 to 80 dB: {good} of {trials} converge")


def main() -> None:
    ten_million_on_disk()
    one_million()
    convergence()


if __name__ == "__main__":
    main()
