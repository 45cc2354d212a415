"""The sensitivity and the phase of a reference between the frequencies of its certificate.

Magnitude: monotone cubic in the logarithms of frequency and sensitivity. Phase: straight in frequency, as of a delay.
What interpolation leaves open is taken as how far a straight line in the logarithms lies from the cubic.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from vibcal_nb.metrology.numerics.monotone_cubic import MonotoneCubic
from vibcal_nb.model.equipment import ReferenceSensitivity

_ROOT_3 = math.sqrt(3.0)


@lru_cache(maxsize=256)
def _curve(found: ReferenceSensitivity) -> MonotoneCubic:
    return MonotoneCubic(
        np.log([point.frequency_hz for point in found.points]), np.log([point.value for point in found.points])
    )


def sensitivity_at(found: ReferenceSensitivity, frequency_hz: float) -> float:
    """Return the sensitivity at a frequency; beyond the table's ends the value there."""
    return math.exp(_curve(found).at(math.log(frequency_hz)))


def u_interpolation_pct(found: ReferenceSensitivity, frequency_hz: float) -> float:
    """Return the standard uncertainty that interpolation leaves in the sensitivity at a frequency, in %."""
    curve, x = _curve(found), math.log(frequency_hz)
    straight = float(np.interp(x, curve.x, curve.y))
    return 100.0 * abs(math.expm1(curve.at(x) - straight)) / _ROOT_3


def phase_at(found: ReferenceSensitivity, frequency_hz: float) -> tuple[float, float | None] | None:
    """Return the phase at a frequency and its standard uncertainty in degrees; None where none is stated.

    The uncertainty is the larger of the neighbours', None where they state none.
    """
    points = found.points
    if points[0].phase_deg is None:
        return None
    hz = np.array([point.frequency_hz for point in points])
    degrees = np.unwrap([point.phase_deg or 0.0 for point in points], period=360.0)
    right = int(np.clip(np.searchsorted(hz, frequency_hz), 1, hz.size - 1))
    known = [p.phase_expanded_deg / p.k for p in points[right - 1 : right + 1] if p.phase_expanded_deg is not None]
    return float(np.interp(frequency_hz, hz, degrees)), max(known, default=None)
