"""Milliseconds for one channel's three analyses, and for a standard notebook's imports.

Every channel, condition and visit of the demo site, without notebooks or plots; imports in fresh interpreters.
Processor time, which is what a quiet machine takes, and for the imports elapsed time beside it.
Run from the repository: ``python -m tests.benchmarks.speed.bench_three_analyses``.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import nbformat

from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.model.case import Case, list_cases, select_case

ROOT = Path(__file__).parents[3]
REPEATS = 5
INTERPRETERS = 7


def channels() -> list[dict[str, Case]]:
    """Return the cases of each channel in each condition and visit for which there are all three."""
    found = []
    for path in find_visits(ROOT / "data_demo"):
        visit = load_visit(path)
        by_channel: dict[tuple[str, str], dict[str, Case]] = {}
        for channel, test, condition in list_cases(visit):
            case = select_case(visit, channel=channel, test=test, condition=condition)
            by_channel.setdefault((channel, condition), {})[test] = case
        found += [cases for cases in by_channel.values() if set(ANALYSE) <= set(cases)]
    return found


def milliseconds(cases: dict[str, Case]) -> dict[str, float]:
    """Return the best time of each analysis of one channel: what else runs on the machine only adds to it."""
    times = {}
    for test, analyse in ANALYSE.items():
        rounds = []
        for _ in range(REPEATS):
            started = time.process_time()
            analyse(cases[test])
            rounds.append(1e3 * (time.process_time() - started))
        times[test] = min(rounds)
    return times


def import_seconds(notebook: str) -> tuple[float, float]:
    """Return the median processor and elapsed time of a notebook's import cell, in fresh interpreters."""
    cells = nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4).cells
    source = next(cell.source for cell in cells if cell.id == "imports")
    timed = (
        "import time\nused, started = time.process_time(), time.perf_counter()\n"
        f"{source}\nprint(time.process_time() - used, time.perf_counter() - started)"
    )
    run, environment = [sys.executable, "-c", timed], {**os.environ, "PYTHONPATH": str(ROOT)}
    answers = [subprocess.check_output(run, env=environment, text=True).split() for _ in range(INTERPRETERS)]
    processor, elapsed = ([float(value) for value in column] for column in zip(*answers, strict=True))
    return statistics.median(processor), statistics.median(elapsed)


def main() -> None:
    """Print the first channel (cold), then median and worst over all, then the imports."""
    everything = channels()
    started = time.process_time()
    for test, analyse in ANALYSE.items():
        analyse(everything[0][test])
    print(f"first channel, nothing used before: {1e3 * (time.process_time() - started):.1f} ms")
    times = [milliseconds(cases) for cases in everything]
    for test in ANALYSE:
        one = sorted(t[test] for t in times)
        print(f"{test:15s} median {statistics.median(one):6.2f} ms, worst {one[-1]:6.2f} ms")
    totals = sorted(sum(t.values()) for t in times)
    print(
        f"{'together':15s} median {statistics.median(totals):6.2f} ms, worst {totals[-1]:6.2f} ms; {len(totals)} cases"
    )
    for notebook in ("linearity", "band_response", "sensor_alone"):
        processor, elapsed = import_seconds(notebook)
        print(f"imports of {notebook}: {processor:.2f} s ({elapsed:.2f} s elapsed), median of {INTERPRETERS}")


if __name__ == "__main__":
    main()
