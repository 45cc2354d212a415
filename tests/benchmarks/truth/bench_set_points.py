"""Do the 95 % intervals of levels of action cover? Simulated ramps, each once to three times.

The true level of action is anywhere; the level at which the relay acts differs from approach to approach and from level
to level (noise), the shaker settles beside its target, the display of the reference rounds, and the reference is off by
one error. The release, approached from above, lies a hysteresis lower. A level is held longer than the delay.
Run by hand:
``python -m tests.benchmarks.truth.bench_set_points [RAMPS] [store]``.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from tests.benchmarks.figures import store_figures
from vibcal_nb.metrology.switching.level_of_action import ActionBracket, combine_approaches

LEVELS = 40  # held in one approach at most


def ramp(rng: np.random.Generator) -> tuple[bool, bool, bool, int]:
    """Simulate a set point: whether the intervals of action and release cover, whether approaches agree, how many."""
    step = 10.0 ** rng.uniform(-1.0, 0.5)  # % of the set level
    noise, settle = step * rng.uniform(0.0, 0.3), step * rng.uniform(0.0, 0.25)
    display, u_reference = step * rng.choice([0.01, 0.1, 0.3]), rng.uniform(0.1, 0.6)
    true, hysteresis = 100.0 + rng.uniform(-5.0, 5.0), rng.uniform(0.0, 3.0)
    delay, error, approaches = rng.uniform(0.5, 3.0), u_reference * rng.standard_normal(), int(rng.integers(1, 4))
    inside, agree = [], True
    for limit, sign in ((true, 1.0), (true - hysteresis, -1.0)):  # acts from below, lets go from above
        brackets = []
        target = sign * limit - 0.5 * LEVELS * step + step * rng.uniform()
        for _ in range(approaches):
            level = np.sort(target + step * np.arange(LEVELS) + settle * rng.standard_normal(LEVELS))
            passed = level >= sign * limit + noise * rng.standard_normal(LEVELS)
            switched = passed & (delay * rng.uniform(1.0, 3.0, LEVELS) >= delay)  # held longer than the delay
            first = int(np.argmax(switched))
            shown = display * np.round((sign * level + error) / display)
            brackets.append(ActionBracket(not_acted=float(shown[first - 1]), acted=float(shown[first])))
        found = combine_approaches(brackets, sign=sign)
        u_own = float(np.hypot(noise, display / np.sqrt(24.0)))
        expanded = found.expanded(u_level=u_reference, u_approach=u_own)
        inside.append(abs(found.estimate - limit) <= expanded.U)
        agree = found.agree if sign > 0.0 else agree
    return inside[0], inside[1], agree, approaches


def main() -> None:
    """Simulate and print, or store, how often the intervals cover."""
    count = int(next((word for word in sys.argv[1:] if word.isdigit()), "20000"))
    rng = np.random.default_rng(20261130)
    outcomes = [ramp(rng) for _ in range(count)]
    covered, total = Counter[tuple[int, bool]](), Counter[tuple[int, bool]]()
    for inside, _, agree, approaches in outcomes:
        total[approaches, agree] += 1
        covered[approaches, agree] += inside
    share, release = (100.0 * sum(outcome[place] for outcome in outcomes) / count for place in (0, 1))
    lines = [
        f"{count} set points: the 95 % interval covers the true level of action in {share:.2f} %, that of release in "
        f"{release:.2f} %.",
        "",
    ]
    lines += ["| approaches | agree | set points | covered |", "|---|---|---|---|"]
    lines += [
        f"| {key[0]} | {'yes' if key[1] else 'no'} | {total[key]} | {100.0 * covered[key] / total[key]:.1f} % |"
        for key in sorted(total)
    ]
    text = "\n".join(lines)
    sys.stdout.write(f"{text}\n")
    if "store" in sys.argv:
        store_figures("Set points", text, command=f"python -m tests.benchmarks.truth.bench_set_points {count} store")


if __name__ == "__main__":
    main()
