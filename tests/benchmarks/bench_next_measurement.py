"""Does the suggested next reading help? Followed in simulation, against a random reading of the same candidates.

Channels with a fault whose sensor is still on the machine, so that it was not read alone, and whose likeliest
explanation has less than 95 %; either way two readings are taken at the point.
Run by hand:

    python -m tests.benchmarks.bench_next_measurement [CHANNELS_PER_FAMILY_SIZE_AND_TABLE] [WORKERS]
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from tests.benchmarks.simulated_faults import FAMILIES, Visitor, draw_plant, draw_truth, make_cases
from vibcal_nb.analysis.faults import explain_channel
from vibcal_nb.analysis.next_measurement import candidate_points, suggest_readings
from vibcal_nb.inputs.readings import SHAKER_TESTS


def study(job: tuple[str, int, bool, int]) -> tuple[float, list[bool], list[float]] | None:
    family, size, full, seed = job
    rng = np.random.Generator(np.random.PCG64([20260601, seed]))
    plant = draw_plant(rng, full=full)
    truth = draw_truth(plant, family, size, rng)
    visitor = Visitor(plant, truth, rng)
    readings = [r for r in visitor.take_all() if r.test != "sensor-alone"]
    before = explain_channel(make_cases(plant, readings))
    if before.top.weight >= 0.95:
        return None
    points = candidate_points(before)
    best = suggest_readings(before, points, count=1)[0]
    i = int(rng.integers(len(points.test)))
    scale = before.readings.full_scale
    chance = (SHAKER_TESTS[points.test[i]], points.level[i] * scale, points.frequency_hz[i], bool(points.falling[i]))
    hits, weights = [before.top.name == family], [_weight(before, family)]
    for test, level, hz, falling in ((best.test, best.level, best.frequency_hz, best.falling), chance):
        direction = ("falling" if falling else "rising") if plant.cycles and test == "linearity" else None
        more = [visitor.read(test, level, hz, direction=direction) for _ in range(2)]
        after = explain_channel(make_cases(plant, readings + more))
        hits.append(after.top.name == family)
        weights.append(_weight(after, family))
    return best.information, hits, weights


def _weight(found, family):
    return next((item.weight for item in found.explanations if item.name == family), 0.0)


def main(each: int, workers: int) -> None:
    cells = [(family, size, full) for family in FAMILIES for size in range(3) for full in (False, True)]
    jobs = [(*cell, seed) for seed, cell in enumerate(cell for cell in cells for _ in range(each))]
    with ProcessPoolExecutor(workers) as pool:
        done = [item for item in pool.map(study, jobs, chunksize=4) if item is not None]
    hits = 100.0 * np.array([item[1] for item in done]).mean(axis=0)
    weights = 100.0 * np.array([item[2] for item in done]).mean(axis=0)
    print(f"{len(jobs)} channels with a fault, {len(done)} of them undecided (likeliest explanation below 95 %)")
    for name, hit, weight in zip(("before", "suggested reading", "random reading"), hits, weights, strict=True):
        print(f"  {name:18s} right first {hit:5.1f} %, mean weight of the truth {weight:5.1f} %")
    told = [item for item in done if item[0] > 0.1]
    if told:
        hits = 100.0 * np.array([item[1] for item in told]).mean(axis=0)
        print(
            f"  where it expected more than 0.1 nats ({len(told)}): {hits[0]:.1f} %, {hits[1]:.1f} %, {hits[2]:.1f} %"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
