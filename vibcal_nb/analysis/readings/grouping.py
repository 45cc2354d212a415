"""What counts as the same: a portable shaker settles near a target, so that one level or frequency is read as several.

The percentages are judgement, no source.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.readings import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT

SAME_SPEED_PCT = 2.0
REACHED = 1.0 - SAME_LEVEL_PCT / 100.0  # the share of a wanted level from which it counts as reached
_ROUNDING = 1e-9  # of a limit as it is written


def same_frequency(first_hz: float, second_hz: float) -> bool:
    """Whether two frequencies count as the same: within 1 %; 0, where nothing vibrates, is the same as itself alone."""
    if second_hz == 0.0:
        return first_hz == 0.0
    return abs(first_hz / second_hz - 1.0) <= SAME_FREQUENCY_PCT / 100.0


def at_frequency(frequency_hz: FloatArray, wanted_hz: float) -> NDArray[np.bool_]:
    """Which of the frequencies (n,) count as the wanted one, see `same_frequency`. 0 is where nothing vibrates."""
    if wanted_hz == 0.0:
        return np.asarray(frequency_hz == 0.0)
    return np.asarray(np.abs(frequency_hz / wanted_hz - 1.0) <= SAME_FREQUENCY_PCT / 100.0)


def same_speed(frequency_hz: float, speed_hz: float) -> bool:
    """Whether a test frequency counts as taken at a rotor's speed: within 2 %, for no rotor turns as its plate says."""
    return abs(frequency_hz / speed_hz - 1.0) <= SAME_SPEED_PCT / 100.0


def runs_at(rotor: Rotor, frequency_hz: float) -> bool:
    """Whether a test frequency counts as taken at a rotor's speed; of one between two ends, anywhere between them."""
    if same_speed(frequency_hz, rotor.speed_hz):
        return True
    if rotor.between is None:
        return False
    low, high = rotor.between
    at_an_end = same_speed(frequency_hz, low) or same_speed(frequency_hz, high)
    return low < frequency_hz < high and not at_an_end


def lies_within(frequency_hz: ArrayLike, low_hz: float, high_hz: float) -> NDArray[np.bool_]:
    """Whether frequencies lie from ``low_hz`` to ``high_hz``, both included; the shape of ``frequency_hz``."""
    f = np.asarray(frequency_hz, dtype=np.float64)
    return np.asarray((f >= low_hz * (1.0 - _ROUNDING)) & (f <= high_hz * (1.0 + _ROUNDING)))


def group_close(values: FloatArray, *, within_pct: float) -> list[NDArray[np.intp]]:
    """Group values that lie within ``within_pct`` of the lowest of their group; indices, groups ascending."""
    order = np.argsort(values, kind="stable")
    groups: list[list[int]] = []
    for index in order:
        start = values[groups[-1][0]] if groups else -math.inf
        if groups and values[index] <= start * (1.0 + within_pct / 100.0):
            groups[-1].append(int(index))
        else:
            groups.append([int(index)])
    return [np.array(sorted(group), dtype=np.intp) for group in groups]
