"""The lead of a second-order sensor, a moving coil say, as its magnitudes tell it: taken off before a line is drawn.

Phase of r^2 / (1 - r^2 + 2 i h r) against r^2's sign: atan2(2 h r, r^2 - 1), with r = f / f0; 180 degrees far below f0,
90 at it, and 2 h / r radians far above.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.estimate import Estimate


@dataclass(frozen=True, kw_only=True)
class KnownLead:
    """Natural frequency in Hz and damping ratio of a second-order sensor, with their standard uncertainties."""

    natural_hz: float
    damping: float
    u_natural_hz: float
    u_damping: float

    def at(self, frequency_hz: FloatArray) -> FloatArray:
        """Return the lead in degrees at frequencies (n,)."""
        return self._lead(frequency_hz, self.natural_hz, self.damping)

    def errors(self, frequency_hz: FloatArray) -> list[FloatArray]:
        """Return what either standard uncertainty does to the lead in degrees at frequencies (n,), with its sign."""
        moved = (
            (self.natural_hz * math.exp(self.u_natural_hz / self.natural_hz), self.damping),
            (self.natural_hz, self.damping + self.u_damping),
        )
        return [self._lead(frequency_hz, *each) - self.at(frequency_hz) for each in moved]

    @staticmethod
    def _lead(frequency_hz: FloatArray, natural_hz: float, damping: float) -> FloatArray:
        r = np.asarray(frequency_hz) / natural_hz
        return np.degrees(np.arctan2(2.0 * damping * r, r**2 - 1.0))


def known_lead(natural_frequency: Estimate, damping_ratio: Estimate) -> KnownLead | None:
    """Return the lead of what was determined; None where either was not."""
    natural, damping = natural_frequency, damping_ratio
    if natural.value is None or damping.value is None or natural.expanded is None or damping.expanded is None:
        return None
    return KnownLead(
        natural_hz=natural.value,
        damping=damping.value,
        u_natural_hz=natural.expanded.u,
        u_damping=damping.expanded.u,
    )
