"""Does the suggested next reading help? Followed in simulation, against a random reading of the same candidates.

Channels with a fault whose sensor is still on the machine, so that it was not read alone, and whose likeliest
explanation has less than 95 %; either way two readings are taken at the point. Both are held against each other channel
by channel. Run by hand:

    python -m tests.benchmarks.truth.bench_next_measurement [CHANNELS_PER_FAMILY_SIZE_AND_TABLE] [WORKERS] [SEED]
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from tests.benchmarks.truth.simulated_faults import FAMILIES, Visitor, draw_plant, draw_truth, make_cases
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.analysis.faults.next_measurement import candidate_points, suggest_readings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.names import SHAKER_TESTS


def study(job: tuple[str, int, bool, int, int]) -> tuple[float, list[bool], list[float]] | None:
    family, size, full, *seed = job
    rng = np.random.Generator(np.random.PCG64(seed))
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


def gain(suggested: FloatArray, random: FloatArray) -> str:
    """Mean of the paired differences, in %, with twice its standard error."""
    difference = 100.0 * (suggested - random)
    return f"{difference.mean():+.1f} ± {2.0 * difference.std(ddof=1) / len(difference) ** 0.5:.1f} %"


def show(name: str, done: Sequence[tuple[float, list[bool], list[float]]]) -> None:
    """Print how often the truth came first, and its mean weight."""
    hits, weights = (np.array([item[i] for item in done], dtype=float) for i in (1, 2))
    print(f"{name}: {len(done)} channels")
    for place, way in enumerate(("before", "random reading", "suggested reading")):
        i = (0, 2, 1)[place]
        right, weight = 100 * hits[:, i].mean(), 100 * weights[:, i].mean()
        print(f"  {way:18s} right first {right:5.1f} %, mean weight of the truth {weight:5.1f} %")
    more_right, more_weight = (gain(found[:, 1], found[:, 2]) for found in (hits, weights))
    print(f"  suggested against random: right first {more_right}, weight {more_weight}")


def main(each: int, workers: int, seed: int) -> None:
    cells = [(family, size, full) for family in FAMILIES for size in range(3) for full in (False, True)]
    jobs = [(*cell, seed, number) for number, cell in enumerate(cell for cell in cells for _ in range(each))]
    with ProcessPoolExecutor(workers) as pool:
        done = [item for item in pool.map(study, jobs, chunksize=4) if item is not None]
    print(f"{len(jobs)} channels with a fault")
    show("undecided (likeliest explanation below 95 %)", done)
    show("of these, where more than 0.1 nats were expected", [item for item in done if item[0] > 0.1])


if __name__ == "__main__":
    arguments = [int(text) for text in sys.argv[1:]]
    main(*arguments, *(6, 1, 20261125)[len(arguments) :])
