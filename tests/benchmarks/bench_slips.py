"""Planted slips of each kind: how many are found; questions about good tables; questions about faults; time.

    python -m tests.benchmarks.bench_slips [TABLES] [SEED]

Found is a slip where a question names exactly the rows that it is in (a swap, both; a run, all of it); named is it
where the kind is right too, and the factor within a tenth of a percent where it has one.
"""

from __future__ import annotations

import collections
import sys
import time

import numpy as np

from tests.benchmarks.planted_slips import PLANTED, NoPlaceError, faulty_table, good_table, plant_slip
from tests.benchmarks.simulated_faults import FAMILIES
from vibcal_nb.analysis.slips.find_slips import find_slips, question_reading

SEED = 20_000


def main(tables: int = 2000, seed: int = SEED) -> None:
    good = [good_table(np.random.default_rng([seed, i])) for i in range(tables)]
    asked = [find_slips(cases) for cases in good]
    noisy = sum(map(bool, asked))
    print(f"good tables: {tables}, with a question {noisy} ({100 * noisy / tables:.2f} %)")
    kinds = collections.Counter(slip.kind for slips in asked for slip in slips)
    print("  by kind:", dict(kinds))
    for number, kind in enumerate(PLANTED):
        _planted(kind, good, np.random.default_rng([seed, 1_000_000 + number]))
    for family in FAMILIES:
        rngs = [np.random.default_rng([seed, 2_000_000, i]) for i in range(max(tables // 10, 20))]
        found = [find_slips(faulty_table(rng, family)) for rng in rngs]
        kinds = collections.Counter(slip.kind for slips in found for slip in slips)
        print(f"{family:26s} tables with a question {100 * sum(map(bool, found)) / len(found):5.1f} %  {dict(kinds)}")
    _timed(good)


def _planted(kind: str, good: list, rng: np.random.Generator) -> None:
    found = named = planted = 0
    for cases in good:
        try:
            wrong, rows, factor = plant_slip(cases, kind, rng)
        except NoPlaceError:
            continue
        planted += 1
        slips = find_slips(wrong)
        hits = [slip for slip in slips if set(slip.rows) == rows]
        found += bool(hits)
        named += any(_is_named(slip, kind, factor) for slip in hits)
    print(
        f"{kind:18s} planted {planted:5d}  found {100 * found / planted:6.2f} %  named {100 * named / planted:6.2f} %"
    )


def _is_named(slip, kind: str, factor: float | None) -> bool:
    name = {"run": "factor"}.get(kind.split()[0], kind.split()[0])
    right = slip.kind == ("row before" if kind == "row before" else name)
    if factor is None or not right:
        return right
    return abs(abs(np.log(slip.factor)) - abs(np.log(factor))) < 1e-3


def _timed(good: list) -> None:
    largest = sorted(good, key=lambda cases: -sum(len(case.readings) for case in cases))[:50]
    rows, seconds = [], []
    for cases in largest:
        last = cases[-1]
        new, shorter = (
            last.readings[-1],
            [*cases[:-1], last.__class__(**{**last.__dict__, "readings": last.readings[:-1]})],
        )
        began = time.process_time()
        question_reading(new, shorter)
        seconds.append(time.process_time() - began)
        rows.append(sum(len(case.readings) for case in cases))
    print(f"one new reading against {min(rows)} to {max(rows)} rows: median {1e3 * np.median(seconds):.1f} ms, "
          f"95 % {1e3 * np.quantile(seconds, 0.95):.1f} ms")  # fmt: skip


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
