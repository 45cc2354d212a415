"""Fuzz all input: python -m tests.benchmarks.tables.bench_fuzz [CASES of each kind] [PATTERN of kinds] [FIRST seed].

Prints counts by kind and outcome, processor time, and by how much the most memory ever used grew.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from tests.fuzzing.kinds import TRY, try_kind
from tests.fuzzing.watch import NoEnd


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    word = sys.argv[2] if len(sys.argv) > 2 else ""
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    warnings.simplefilter("error")
    broken = 0
    for kind in (kind for kind in TRY if re.search(word, kind)):
        started, before = time.process_time(), _most_memory()
        outcomes: Counter[str] = Counter()
        with tempfile.TemporaryDirectory() as folder:
            for seed in range(first, first + cases):
                outcomes[_outcome(kind, seed, Path(folder) / "site")] += 1
        broken += outcomes["broken"]
        counts = ", ".join(f"{outcomes[word]} {word}" for word in ("accepted", "refused", "broken"))
        used = f"{time.process_time() - started:.0f} s of CPU, {_most_memory() - before:.0f} MB more"
        print(f"{kind:26} {counts}; {used}", flush=True)
    raise SystemExit(1 if broken else 0)


def _most_memory() -> float:
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _outcome(kind: str, seed: int, site: Path) -> str:
    try:
        return try_kind(kind, seed, site)
    except (Exception, NoEnd):
        print(f"--- {kind}, seed {seed}\n{traceback.format_exc()[-1500:]}")
        return "broken"


if __name__ == "__main__":
    main()
