"""How many of the drawn mutants the tests killed, by module, and what the survivors changed."""

from __future__ import annotations

import difflib
from collections import defaultdict
from pathlib import Path

from scipy.stats import binomtest

from tests.mutation.mutants import Mutant


def table(fates: list[tuple[Mutant, str]]) -> str:
    """Return one line a module, the worst first, and one for all, with Wilson's 95 % interval of the rate."""
    by_module = defaultdict(list)
    for mutant, fate in fates:
        by_module[Path(mutant.path).stem].append(fate != "survived")
    lines = [f"{sum(killed):5d} of {len(killed):4d}  {name}" for name, killed in sorted(by_module.items(), key=_rate)]
    killed = sum(fate != "survived" for _, fate in fates)
    low, high = binomtest(killed, len(fates)).proportion_ci(method="wilson")
    timed_out = sum(fate == "time" for _, fate in fates)
    share = f"{100 * killed / len(fates):.1f} % ({100 * low:.1f} to {100 * high:.1f} %)"
    return "\n".join([*lines, f"{killed:5d} of {len(fates):4d}  {share}, {timed_out} of them by the time limit"])


def change(mutant: Mutant) -> str:
    """Return the lines that a mutant changes, before and after."""
    original = Path(mutant.path).read_text(encoding="utf-8")
    lines = difflib.unified_diff(original.splitlines(), mutant.source().splitlines(), n=0, lineterm="")
    changed = [line for line in lines if line[0] in "+-" and not line.startswith(("---", "+++"))]
    return "\n".join([f"{mutant.path}:{mutant.line}:{mutant.column}", *changed])


def _rate(entry: tuple[str, list[bool]]) -> tuple[float, str]:
    name, killed = entry
    return sum(killed) / len(killed), name
