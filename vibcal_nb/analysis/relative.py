"""Sensitivities at several frequencies relative to that at the reference frequency, with their uncertainty.

What all readings of a visit share cancels in the ratio; what levels at one frequency share does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.arrays import FloatArray, frozen
from vibcal_nb.analysis.budget_line import BudgetLine
from vibcal_nb.analysis.coverage import Expanded
from vibcal_nb.analysis.judged import combine
from vibcal_nb.analysis.reading_uncertainty import SAME_FREQUENCY_PCT, ReadingUncertainty
from vibcal_nb.analysis.scaled import ScaledReadings
from vibcal_nb.analysis.uncertainty import Budget


@dataclass(frozen=True, kw_only=True, eq=False)
class RelativeReadings:
    """Readings of one level over frequency, relative to the reference frequency.

    ``sensitivity`` (n,) in output unit per input unit; ``own_pct`` (n,) its independent standard uncertainty
    in %; ``at_reference`` marks the used readings taken at the reference frequency. ``reference_sensitivity``
    is their mean, None where there are none.
    """

    readings: ScaledReadings
    uncertainty: ReadingUncertainty
    reference_hz: float
    sensitivity: FloatArray
    own_pct: FloatArray
    at_reference: NDArray[np.bool_]
    reference_sensitivity: float | None

    @cached_property
    def reference_own_pct(self) -> float:
        """Independent standard uncertainty of the reference sensitivity, in %."""
        own = self.own_pct[self.at_reference]
        return float(np.sqrt((own**2).sum())) / own.size

    @property
    def fit_u_relative(self) -> FloatArray:
        """Relative standard uncertainty of each sensitivity for a fit over frequency; shape (n,)."""
        return frozen(np.hypot(self.own_pct, self.uncertainty.u_frequency_pct) / 100.0)

    def ratio_pct(self, i: int) -> float | None:
        """Sensitivity of reading ``i`` in % of that at the reference frequency."""
        reference = self.reference_sensitivity
        return None if not reference else 100.0 * float(self.sensitivity[i]) / reference

    def ratio_expanded(self, i: int, ratio_pct: float) -> Expanded:
        """Expanded uncertainty of ``ratio_pct``, in %; zero where the reading is the reference itself."""
        if self.at_reference[i] and int(self.at_reference.sum()) == 1:
            return combine((0.0, math.inf))
        share = 0.0 if self.at_reference[i] else math.sqrt(2.0) * self.uncertainty.u_frequency_pct
        frequency = float(self.readings.frequency_hz[i])
        common = self.uncertainty.u_common_ratio_pct(frequency, self.reference_hz)
        own = math.hypot(float(self.own_pct[i]), self.reference_own_pct)
        scale = abs(ratio_pct) / 100.0
        return combine(
            (scale * math.hypot(share, common), math.inf), (scale * own, self.uncertainty.degrees_of_freedom)
        )

    def reference_budget(self, *, nominal: float) -> Budget:
        """Budget of the reference sensitivity's deviation from ``nominal``, in %."""
        ratio = (self.reference_sensitivity or 0.0) / nominal
        shared = (*self.uncertainty.common(self.reference_hz), *self.uncertainty.at_frequency)
        own = BudgetLine(
            name="reading",
            value=self.reference_own_pct,
            kind="independent",
            sensitivity_coefficient=ratio,
            degrees_of_freedom=self.uncertainty.degrees_of_freedom,
            source=f"{int(self.at_reference.sum())} reading(s) at {self.reference_hz:g} Hz",
        )
        return Budget(lines=(*(line.scaled_by(ratio) for line in shared), own), estimate=100.0 * (ratio - 1.0))


def relate(readings: ScaledReadings, uncertainty: ReadingUncertainty, *, reference_hz: float) -> RelativeReadings:
    """Relate the readings to the mean of those used within 1 % of the reference frequency."""
    x = np.where(readings.x > 0.0, readings.x, np.nan)
    sensitivity = readings.y / x
    relative_y = np.divide(uncertainty.u_y, np.abs(readings.y), out=np.ones(len(readings)), where=readings.y != 0.0)
    own = 100.0 * np.hypot(relative_y, uncertainty.u_x / x)
    near = np.abs(readings.frequency_hz / reference_hz - 1.0) <= SAME_FREQUENCY_PCT / 100.0
    at_reference = near & readings.used
    reference = float(sensitivity[at_reference].mean()) if at_reference.any() else None
    return RelativeReadings(
        readings=readings,
        uncertainty=uncertainty,
        reference_hz=reference_hz,
        sensitivity=frozen(sensitivity),
        own_pct=frozen(own),
        at_reference=at_reference,
        reference_sensitivity=reference if reference and reference > 0.0 else None,
    )
