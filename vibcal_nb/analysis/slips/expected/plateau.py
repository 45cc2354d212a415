"""The ratio of output to nominal output that most readings of a block agree on, and ends that physics bends.

Noise, pick-up and a wrong zero bend the lowest levels, saturation the highest, a leak the lowest frequencies, a
resonance the highest: from one end on, all one way, ever further. A slip of writing does not announce itself in the
reading beside it. The limits are judgement, no source.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.grouping import SAME_LEVEL_PCT, group_close
from vibcal_nb.analysis.slips.expected.known_factors import ALL, nearest_factor
from vibcal_nb.arrays import BoolArray, FloatArray

TOGETHER = 0.05  # ln of ratios that count as one plateau
NEAR_NOMINAL = 0.15
ANNOUNCED = 0.1  # share of an end's departure that its neighbour shows where physics bends both
LEAST_ANNOUNCED = 0.015
ON_FACTOR = 0.025
STILL_RISES = 0.97
LARGEST_STEP = 1.2  # ln: from one level or frequency to the next, physics bends no further


def plateau(ln_ratio: FloatArray, *, gain: float, shifted: FloatArray | None = None) -> float:
    """Return the ln ratio that the readings (n,) agree on.

    Of plateaus that at least a quarter of the readings share, or two where the larger one is off by a known factor, the
    one with most readings that is near to ``gain``, which the rest of the channel shows; else the one with most
    readings; of three or more readings that agree on none, the median. ``shifted`` (n,) are the ratios as they would be
    had each output been written one row too low: near to ``gain``, a reading counts where either ratio does.
    """
    near = np.abs(ln_ratio[:, None] - ln_ratio[None, :]) <= TOGETHER
    count = near.sum(axis=1)
    level = np.array([np.median(ln_ratio[row]) for row in near])
    either = (
        count if shifted is None else (near | (np.abs(ln_ratio[:, None] - shifted[None, :]) <= TOGETHER)).sum(axis=1)
    )
    most = float(level[int(count.argmax())])
    is_known = np.array([nearest_factor(most - one, iter(ALL), within=2.0 * ON_FACTOR) is not None for one in level])
    enough = either >= np.where(is_known, 2, max(2.0, ln_ratio.size / 4))
    expected = enough & (np.abs(level - gain) < NEAR_NOMINAL)
    if expected.any():
        return float(level[int(np.where(expected, either, 0).argmax())])
    if ln_ratio.size < 3:
        return gain
    return float(level[int(count.argmax())]) if count.max() > 1 else float(np.median(ln_ratio))


def bent_ends(
    departure: FloatArray, suspect: BoolArray, moves: FloatArray, output: FloatArray, *, is_sweep: bool
) -> BoolArray:
    """Say which suspect readings (n,) physics bends at an end; ``departure`` is ln of the ratio over the plateau's."""
    bent = np.zeros(suspect.shape, dtype=bool)
    if not suspect.any():
        return bent
    groups = group_close(moves, within_pct=SAME_LEVEL_PCT)
    for top, ordered in ((False, groups), (True, groups[::-1])):
        run = _end_run(departure, suspect, ordered)
        if (
            run
            and len(run) < len(ordered)
            and _bends(departure, output, run, ordered[len(run)], lines_top=top and not is_sweep)
        ):
            bent[np.concatenate(run)] = True
    return bent


def _end_run(departure: FloatArray, suspect: BoolArray, groups: list[NDArray[np.intp]]) -> list[NDArray[np.intp]]:
    """The levels from one end on at which every reading departs the same way."""
    run = []
    way = np.sign(departure[groups[0][0]])
    for group in groups:
        if not (suspect[group].all() and (np.sign(departure[group]) == way).all()):
            break
        run.append(group)
    return run


def _bends(
    departure: FloatArray, output: FloatArray, run: list[NDArray[np.intp]], beside: NDArray[np.intp], *, lines_top: bool
) -> bool:
    sizes = [float(np.median(np.abs(departure[group]))) for group in run]
    ends = np.concatenate(run)
    inward = [*sizes, abs(float(np.median(departure[beside])))]
    if any(outer - inner > LARGEST_STEP for outer, inner in pairwise(inward)):
        return False
    if len(run) > 1:
        constant = np.ptp(departure[ends]) < 2.0 * ON_FACTOR
        grows = all(outer >= inner for outer, inner in pairwise(sizes))
        return bool(grows and not (constant and _on_factor(departure[ends])))
    mean, other = float(np.median(departure[ends])), float(np.median(departure[beside]))
    if np.sign(mean) == np.sign(other) and abs(other) >= max(LEAST_ANNOUNCED, ANNOUNCED * abs(mean)):
        return True
    saturates = lines_top and mean < 0.0 and float(output[ends].min()) >= STILL_RISES * float(output[beside].max())
    return saturates and not (_on_factor(departure[ends]) and abs(other) < LEAST_ANNOUNCED)


def _on_factor(departure: FloatArray) -> bool:
    return nearest_factor(float(np.median(departure)), iter(ALL), within=ON_FACTOR) is not None
