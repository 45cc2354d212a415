"""Model-free corners: where the response, interpolated monotonically in logarithms, falls to half power."""

from __future__ import annotations

import itertools
import math

import numpy as np

from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.monotone_cubic import MonotoneCubic

HALF_POWER = math.sqrt(0.5)


def merge_repeats(frequency_hz: FloatArray, sensitivity: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ascending ln f and the mean ln S of the readings at each frequency."""
    ln_f, group = np.unique(np.log(frequency_hz), return_inverse=True)
    return ln_f, np.bincount(group, weights=np.log(sensitivity)) / np.bincount(group)


def interpolated_corners(
    frequency_hz: FloatArray, sensitivity: FloatArray, *, reference_hz: float
) -> tuple[tuple[float | None, str | None], tuple[float | None, str | None]]:
    """Return (corner in Hz, None) or (None, reason) for the low and the high side.

    The crossing of 1/sqrt(2) of the reading at ``reference_hz`` that is first met outward from it; a
    monotone cubic (``monotone_cubic``) of ln S over ln f.
    """
    ln_f, ln_s = merge_repeats(frequency_hz, sensitivity)
    near = at_frequency(frequency_hz, reference_hz)
    if not near.any():
        reason = f"no reading at the reference frequency {reference_hz:g} Hz to relate the response to"
        return (None, reason), (None, reason)
    level = math.log(float(np.mean(sensitivity[near])) * HALF_POWER)
    at = int(np.argmin(np.abs(ln_f - math.log(reference_hz))))
    return (
        _outward(ln_f, ln_s, level, range(at, -1, -1), "low"),
        _outward(ln_f, ln_s, level, range(at, ln_f.size), "high"),
    )


def _outward(
    ln_f: FloatArray, ln_s: FloatArray, level: float, path: range, side: str
) -> tuple[float | None, str | None]:
    for inner, outer in itertools.pairwise(path):
        if ln_s[inner] >= level > ln_s[outer]:
            return math.exp(MonotoneCubic(ln_f, ln_s).crossing(level, min(inner, outer))), None
    return None, f"no reading on the {side}-frequency side falls to half power (70.7 %) of the reference reading"
