"""Planted slips of each kind: how many are found; questions about good tables and about faults; time.

    python -m tests.benchmarks.tables.bench_slips [TABLES] [SEED] [PLANTED] [store]

Slips are planted in the first PLANTED of the good tables, in all of them where it is left out.

Found is a slip where a question names exactly the rows that it is in (a swap, both; a run, all of it); named is it
where the kind is right too, and the factor within a tenth of a percent where it has one.
"""

from __future__ import annotations

import collections
import sys
import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from tests.benchmarks.figures import store_figures
from tests.benchmarks.tables.planted_slips import PLANTED, NoPlaceError, faulty_table, good_table, plant_slip
from tests.benchmarks.truth.simulated_faults import FAMILIES
from vibcal_nb.analysis.slips.find_slips import find_slips, question_reading

SEED = 20_000


def main(tables: int = 2000, seed: int = SEED, planted: int | None = None, *, store: bool = False) -> None:
    good = [good_table(np.random.default_rng([seed, i])) for i in range(tables)]
    lines = []
    for line in _measured(good, seed, planted=tables if planted is None else planted):
        print(line, flush=True)
        lines.append(line)
    if store:
        numbers = f"{tables} {seed}" if planted is None else f"{tables} {seed} {planted}"
        command = f"python -m tests.benchmarks.tables.bench_slips {numbers} store"
        store_figures("Slips of writing", "\n".join(lines), command=command)


def _measured(good: list, seed: int, *, planted: int) -> Iterator[str]:
    tables = len(good)
    asked = [find_slips(cases) for cases in good]
    noisy = sum(map(bool, asked))
    kinds = collections.Counter(slip.kind for slips in asked for slip in slips)
    yield f"Good tables: {tables}, with a question {noisy} ({100 * noisy / tables:.2f} %){_listed(kinds)}."
    yield ""
    yield "| planted | tables | found, % | named, % |"
    yield "|---|---|---|---|"
    for number, kind in enumerate(PLANTED):
        yield _planted(kind, good[:planted], np.random.default_rng([seed, 1_000_000 + number]))
    yield ""
    yield "| fault and no slip | tables | asked about the limits or the nominal | about rows, % | by kind |"
    yield "|---|---|---|---|---|"
    for family in FAMILIES:
        yield _faulty(family, max(planted // 10, 20), seed)
    yield ""
    yield _timed(good[:planted])


def _listed(kinds: collections.Counter) -> str:
    return "".join(f", {kind} {count}" for kind, count in kinds.most_common())


def _planted(kind: str, good: list, rng: np.random.Generator) -> str:
    found = named = planted = 0
    for cases in good:
        try:
            wrong, rows, factor = plant_slip(cases, kind, rng)
        except NoPlaceError:
            continue
        planted += 1
        hits = [slip for slip in find_slips(wrong) if set(slip.rows) == rows]
        found += bool(hits)
        named += any(_is_named(slip, kind, factor) for slip in hits)
    return f"| {kind} | {planted} | {100 * found / planted:.1f} | {100 * named / planted:.1f} |"


def _is_named(slip, kind: str, factor: float | None) -> bool:
    name = {"run": "factor"}.get(kind.split()[0], kind.split()[0])
    right = slip.kind == ("row before" if kind == "row before" else name)
    if factor is None or not right:
        return right
    return abs(abs(np.log(slip.factor)) - abs(np.log(factor))) < 1e-3


def _faulty(family: str, tables: int, seed: int) -> str:
    """Whole channels that are off are asked about as such; rows that a fault bends should not be taken for slips."""
    found = [find_slips(faulty_table(np.random.default_rng([seed, 2_000_000, i]), family)) for i in range(tables)]
    whole = [slip for slips in found for slip in slips if slip.kind == "nominal" or slip.limits is not None]
    rows = [[slip for slip in slips if slip.kind != "nominal" and slip.limits is None] for slips in found]
    kinds = collections.Counter(slip.kind for slips in rows for slip in slips)
    share = 100 * sum(map(bool, rows)) / tables
    return f"| {family} | {tables} | {len(whole)} | {share:.1f} | {_listed(kinds)[2:]} |"


def _timed(good: list) -> str:
    largest = sorted(good, key=lambda cases: -sum(len(case.readings) for case in cases))[:50]
    seconds = [_one_reading(cases) for cases in largest]
    rows = [sum(len(case.readings) for case in cases) for cases in largest]
    return (
        f"One new reading against {min(rows)} to {max(rows)} rows of a channel: median "
        f"{1e3 * np.median(seconds):.1f} ms of processor time, 95 % {1e3 * np.quantile(seconds, 0.95):.1f} ms."
    )


def _one_reading(cases: list) -> float:
    last = cases[-1]
    shorter = [*cases[:-1], replace(last, readings=last.readings[:-1])]
    began = time.process_time()
    question_reading(last.readings[-1], shorter)
    return time.process_time() - began


if __name__ == "__main__":
    main(*(int(text) for text in sys.argv[1:] if text.isdigit()), store="store" in sys.argv)
