"""How often is the right fault named, and are the weights true? Simulated channels of every family.

Half of the channels are healthy, as the prior has it, so that weights can be held against frequencies. They come in
random order, so that the running figures after every 200 are those of a fair sample. Run by hand:

    python -m tests.benchmarks.truth.bench_faults [CHANNELS_PER_FAMILY_SIZE_AND_TABLE] [WORKERS] [SEED] [FIGURE.png]
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
from scipy.stats import binomtest

from tests.benchmarks.truth.simulated_faults import FAMILIES, SIZES, Visitor, draw_plant, draw_truth, make_cases
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.faults.faults import explain_channel

Job = tuple[str, int, bool, int, int]  # family, size, full table, seed, number


@dataclass
class Outcome:
    family: str
    size: int
    full: bool
    fails: bool
    ranking: list[str]
    weights: dict[str, float]
    alike: tuple[str, ...]
    poor: bool
    seconds: float


def study(job: Job) -> Outcome:
    family, size, full, seed, number = job
    rng = np.random.Generator(np.random.PCG64([seed, number]))
    plant = draw_plant(rng, full=full)
    truth = draw_truth(plant, family, size, rng)
    cases = make_cases(plant, Visitor(plant, truth, rng).take_all())
    started = time.process_time()
    found = explain_channel(cases)
    seconds = time.process_time() - started
    return Outcome(
        family=family,
        size=size,
        full=full,
        fails=any(ANALYSE[case.test](case).verdict == "fail" for case in cases),
        ranking=[item.name for item in found.explanations],
        weights={item.name: item.weight for item in found.explanations},
        alike=found.top.alike,
        poor=found.poor,
        seconds=seconds,
    )


def jobs(each: int, seed: int) -> list[Job]:
    cells = [(family, size, full) for family in FAMILIES for size in range(3) for full in (False, True)]
    faulty = [cell for cell in cells for _ in range(each)]
    healthy = [("healthy", 0, bool(i % 2)) for i in range(len(faulty))]
    listed = [(*cell, seed, number) for number, cell in enumerate(faulty + healthy)]
    return [listed[i] for i in np.random.Generator(np.random.PCG64(seed)).permutation(len(listed))]


def share(hits: list[bool]) -> str:
    return f"{100.0 * sum(hits) / len(hits):5.1f} % of {len(hits)}" if hits else "  –"


def first(o: Outcome) -> bool:
    return o.ranking[0] == o.family


def first_or_alike(o: Outcome) -> bool:
    return first(o) or o.family in o.alike


def third(o: Outcome) -> bool:
    return o.family in o.ranking[:3]


def print_confusion(outcomes: list[Outcome]) -> None:
    names = ["healthy", *FAMILIES, "none of these", "a pair"]
    count: Counter[tuple[str, str]] = Counter()
    for o in outcomes:
        called = "a pair" if " and " in o.ranking[0] else o.ranking[0]
        count[o.family, called] += 1
    print("\nconfusion (rows: truth; columns: called), %")
    print(" " * 26 + " ".join(f"{n[:9]:>9s}" for n in names))
    for truth in names[:-2]:
        total = sum(count[truth, n] for n in names)
        cells = " ".join(f"{100 * count[truth, n] / total:9.1f}" if count[truth, n] else f"{'.':>9s}" for n in names)
        print(f"{truth:26s}{cells}")


EDGES = (0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0001)


def calibrate(outcomes: list[Outcome]) -> list[tuple[float, float, float, float, int]]:
    """Mean weight given, share that was right and its 95 % interval (Wilson 1927), number; by bins of weight."""
    pairs = [(w, name == o.family) for o in outcomes for name, w in o.weights.items()]
    rows = []
    for low, high in pairwise(EDGES):
        chosen = [(w, hit) for w, hit in pairs if low <= w < high]
        if chosen:
            n, right = len(chosen), sum(hit for _, hit in chosen)
            interval = binomtest(right, n).proportion_ci(method="wilson")
            rows.append((float(np.mean([w for w, _ in chosen])), right / n, interval.low, interval.high, n))
    return rows


def print_calibration(outcomes: list[Outcome]) -> None:
    print("\ncalibration of the weights (every explanation of every channel)")
    for given, right, low, high, n in calibrate(outcomes):
        print(f"  given {100 * given:5.1f} %: right {100 * right:5.1f} % [{100 * low:5.1f}, {100 * high:5.1f}] of {n}")


def draw_calibration(outcomes: list[Outcome], path: Path) -> None:
    given, right, low, high, _ = 100.0 * np.array(calibrate(outcomes)).T
    figure, ax = plt.subplots(figsize=(5.0, 5.0), layout="constrained")
    ax.plot([0, 100], [0, 100], color="0.6", linewidth=1, label="weights that are true")
    ax.errorbar(given, right, yerr=[right - low, high - right], fmt="o", capsize=3, label="simulated, 95 % interval")
    ax.set(xlabel="weight given, %", ylabel="of those right, %", xlim=(0, 102), ylim=(0, 102), aspect="equal")
    ax.set_title(f"{len(outcomes)} simulated channels")
    ax.legend(loc="upper left")
    figure.savefig(path, dpi=120)


def report(outcomes: list[Outcome]) -> None:
    faulty = [o for o in outcomes if o.family != "healthy"]
    failing = [o for o in faulty if o.fails]
    healthy = [o for o in outcomes if o.family == "healthy"]
    print(f"{len(outcomes)} channels, {len(faulty)} with a fault, of which {len(failing)} fail a limit")
    for name, group in (("fail a limit", failing), ("all faulty", faulty)):
        tables = [
            ("both tables", group),
            ("sparse", [o for o in group if not o.full]),
            ("full", [o for o in group if o.full]),
        ]
        for table, chosen in tables:
            print(
                f"{name:13s} {table:12s} first: {share([first(o) for o in chosen])}; first or said to be alike: "
                f"{share([first_or_alike(o) for o in chosen])}; among three: {share([third(o) for o in chosen])}"
            )
    for number, size in enumerate(SIZES):
        chosen = [o for o in faulty if o.size == number]
        print(
            f"  {size:15s} first: {share([first(o) for o in chosen])}; among three {share([third(o) for o in chosen])}"
        )
    print(f"healthy called faulty: {share([o.ranking[0] != 'healthy' for o in healthy])}")
    print(f"said to fit poorly: healthy {share([o.poor for o in healthy])}, faulty {share([o.poor for o in faulty])}")
    seconds = np.array([o.seconds for o in outcomes])
    median, late = np.quantile(seconds, [0.5, 0.99])
    print(f"seconds a channel: median {median:.2f}, 99 % {late:.2f}, most {seconds.max():.2f}")
    print_confusion(outcomes)
    print("\nby family, of those that fail a limit")
    for family in FAMILIES:
        chosen = [o for o in failing if o.family == family]
        print(
            f"  {family:26s} first {share([first(o) for o in chosen])}; or alike "
            f"{share([first_or_alike(o) for o in chosen])}; among three {share([third(o) for o in chosen])}"
        )
    alike = Counter((o.family, o.ranking[0]) for o in faulty if not first(o) and o.family in o.alike)
    print(
        "\ncalled another that was said to be alike:",
        ", ".join(f"{a} as {b} {n}" for (a, b), n in alike.most_common(12)),
    )
    print_calibration(outcomes)


def print_running(outcomes: list[Outcome]) -> None:
    failing = [o for o in outcomes if o.family != "healthy" and o.fails]
    healthy = [o.ranking[0] != "healthy" for o in outcomes if o.family == "healthy"]
    print(
        f"after {len(outcomes)}: failing: first {share([first(o) for o in failing])}, among three "
        f"{share([third(o) for o in failing])}; healthy called faulty {share(healthy)}",
        flush=True,
    )


def main(each: int, workers: int, seed: int, figure: Path) -> None:
    outcomes: list[Outcome] = []
    figure.parent.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(workers) as pool:
        for outcome in pool.map(study, jobs(each, seed), chunksize=8):
            outcomes.append(outcome)
            if len(outcomes) % 200 == 0:
                print_running(outcomes)
                figure.with_suffix(".json").write_text(json.dumps([asdict(o) for o in outcomes]), encoding="utf-8")
    report(outcomes)
    draw_calibration(outcomes, figure)


if __name__ == "__main__":
    given = [*sys.argv[1:], *("18", "1", "20261125", "records/bench_faults.png")[len(sys.argv) - 1 :]]
    main(*map(int, given[:3]), Path(given[3]))
