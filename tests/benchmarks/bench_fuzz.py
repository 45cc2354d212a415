"""Fuzz all input files: python -m tests.benchmarks.bench_fuzz [CASES of each kind]; prints counts by outcome."""

from __future__ import annotations

import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from tests.fuzzing.inputs import MUTATE, try_case


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    warnings.simplefilter("error")
    broken = 0
    for kind in MUTATE:
        started = time.perf_counter()
        outcomes: Counter[str] = Counter()
        with tempfile.TemporaryDirectory() as folder:
            for seed in range(cases):
                outcomes[_outcome(kind, seed, Path(folder) / "site")] += 1
        broken += outcomes["broken"]
        counts = ", ".join(f"{outcomes[word]} {word}" for word in ("accepted", "refused", "broken"))
        print(f"{kind:22} {counts}; {time.perf_counter() - started:.0f} s", flush=True)
    raise SystemExit(1 if broken else 0)


def _outcome(kind: str, seed: int, site: Path) -> str:
    try:
        return try_case(kind, seed, site)
    except Exception:
        print(f"--- {kind}, seed {seed}\n{traceback.format_exc()[-1500:]}")
        return "broken"


if __name__ == "__main__":
    main()
