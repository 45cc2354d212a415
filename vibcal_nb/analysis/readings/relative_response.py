"""Sensitivities at several frequencies relative to that at the reference frequency, with their uncertainty.

What all readings of a visit share cancels in the ratio; what levels at one frequency share does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.errors.setup_drift import SetUpDrift, set_up_drift
from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine


@dataclass(frozen=True, kw_only=True, eq=False)
class RelativeReadings:
    """Readings of one level over frequency, relative to the reference frequency.

    ``sensitivity`` (n,) in output unit per input unit, NaN at no level; ``own_pct`` (n,) its independent standard
    uncertainty in %; ``usable`` marks the readings that are used and have a level; ``at_reference`` those of them
    taken at the reference frequency. ``mean_at_reference`` is their mean sensitivity, None where there are none;
    ``reference_sensitivity`` the same, but None too where it is not above 0 so that nothing can be related to it.
    """

    readings: ScaledReadings
    uncertainty: ReadingUncertainty
    reference_hz: float
    sensitivity: FloatArray
    own_pct: FloatArray
    usable: NDArray[np.bool_]
    at_reference: NDArray[np.bool_]
    mean_at_reference: float | None
    reference_sensitivity: float | None

    @property
    def why_no_reference(self) -> str | None:
        """Why nothing can be related to the reference frequency; None where it can."""
        if self.reference_sensitivity is not None:
            return None
        if self.mean_at_reference is None:
            return f"no usable reading at the reference frequency {self.reference_hz:g} Hz"
        return f"the output shows no vibration at the reference frequency {self.reference_hz:g} Hz"

    @cached_property
    def reference_leverage(self) -> float:
        """How much more a gain error of the readout weighs at the reference than in its output; 1 with no live zero."""
        return float(self.uncertainty.zero_leverage[self.at_reference].mean())

    def readout_pct(self, leverage: float) -> float:
        """What is left of the readout's gain in a ratio where a live zero is read with the output, in %."""
        return self.uncertainty.u_readout_pct * abs(leverage - self.reference_leverage)

    def offset_pct(self, i: int) -> float:
        """What is left of the readout's own zero, one for all readings, in the ratio of reading ``i``, in %."""
        at = self.readings.y[self.at_reference]
        if self.uncertainty.u_offset == 0.0 or not at.size or not (at.all() and self.readings.y[i]):
            return 0.0
        return 100.0 * self.uncertainty.u_offset * abs(1.0 / float(self.readings.y[i]) - float((1.0 / at).mean()))

    @cached_property
    def set_up_drift(self) -> SetUpDrift | None:
        """What the first and the last reading at the reference frequency show; None where they show nothing."""
        return set_up_drift(
            np.array([reading.row for reading in self.readings.readings]),
            self.sensitivity,
            self.own_pct,
            at_reference=self.at_reference,
            usable=self.usable,
            frequency_hz=self.reference_hz,
            nu=self.uncertainty.degrees_of_freedom,
            probability=self.uncertainty.probability,
        )

    @property
    def u_drift_pct(self) -> float:
        """Standard uncertainty that the drift of the set-up gives to each reading, in %; 0 where none is seen."""
        line = None if self.set_up_drift is None else self.set_up_drift.line
        return 0.0 if line is None else line.standard_uncertainty

    @cached_property
    def reference_own_pct(self) -> float:
        """Independent standard uncertainty of the reference sensitivity, in %."""
        own = self.own_pct[self.at_reference]
        return float(np.sqrt((own**2).sum())) / own.size

    @property
    def fit_u_relative(self) -> FloatArray:
        """Relative standard uncertainty of each sensitivity for a fit over frequency; shape (n,).

        What all frequencies share moves the fit's overall sensitivity alone and is left out.
        """
        beside = [self.uncertainty.u_beside_pct(float(f), self.reference_hz) for f in self.readings.frequency_hz]
        return frozen(np.sqrt(self.own_pct**2 + np.square(beside) + self.u_drift_pct**2) / 100.0)

    def sensitivity_of(self, i: int) -> float | None:
        """Sensitivity of reading ``i``, None at no level."""
        return float(self.sensitivity[i]) if self.readings.x[i] > 0.0 else None

    def ratio_pct(self, i: int) -> float | None:
        """Sensitivity of reading ``i`` in % of that at the reference frequency; None where either is missing."""
        reference = self.reference_sensitivity
        if reference is None or not self.readings.x[i] > 0.0:
            return None
        return 100.0 * float(self.sensitivity[i]) / reference

    def ratio_expanded(self, i: int, ratio_pct: float) -> Expanded:
        """Expanded uncertainty of ``ratio_pct``, in %; zero where the reading is the reference itself."""
        if self.at_reference[i] and int(self.at_reference.sum()) == 1:
            return combine((0.0, math.inf), probability=self.uncertainty.probability)
        frequency = float(self.readings.frequency_hz[i])
        each = (self.uncertainty.u_frequency_pct(f) for f in (frequency, self.reference_hz))
        share = 0.0 if self.at_reference[i] else math.hypot(*each)
        common = math.hypot(
            self.uncertainty.u_common_ratio_pct(frequency, self.reference_hz),
            self.readout_pct(float(self.uncertainty.zero_leverage[i])),
            self.offset_pct(i),
            self.u_drift_pct,
        )
        own = math.hypot(float(self.own_pct[i]), self.reference_own_pct)
        scale = abs(ratio_pct) / 100.0
        return combine(
            (scale * math.hypot(share, common), math.inf),
            (scale * own, self.uncertainty.degrees_of_freedom),
            probability=self.uncertainty.probability,
        )

    def ratio_common_pct(self, ratio_pct: float) -> float:
        """Standard uncertainty that the reading at the reference frequency gives to every ratio alike, in %.

        What a certificate's different sizes at two frequencies leave moves the ratios too, but not all one way,
        and is not counted here.
        """
        own = self.uncertainty.u_own_frequency_pct(self.reference_hz)
        return abs(ratio_pct) / 100.0 * math.hypot(self.reference_own_pct, own)

    def reference_budget(self, *, nominal: float) -> Budget:
        """Budget of the deviation of ``mean_at_reference`` from ``nominal``, in %."""
        ratio = (self.mean_at_reference or 0.0) / nominal
        shared = (
            *self.uncertainty.common(self.reference_hz),
            *self.uncertainty.at_frequency(self.reference_hz),
            *self._live_zero_line(),
            *self._drift_line(),
        )
        readings = int(self.at_reference.sum())
        own = BudgetLine(
            name="reading",
            value=self.reference_own_pct,
            kind="independent",
            sensitivity_coefficient=ratio,
            degrees_of_freedom=self.uncertainty.degrees_of_freedom,
            source=f"{readings} reading{'' if readings == 1 else 's'} at {self.reference_hz:g} Hz",
        )
        return Budget(lines=(*(line.scaled_by(ratio) for line in shared), own), estimate=100.0 * (ratio - 1.0))

    def _drift_line(self) -> tuple[BudgetLine, ...]:
        line = None if self.set_up_drift is None else self.set_up_drift.line
        return () if line is None else (line,)

    def _live_zero_line(self) -> tuple[BudgetLine, ...]:
        """What the readout adds: its gain where a live zero is read (with its own line L times it), and its zero."""
        beyond = math.sqrt(max(self.reference_leverage**2 - 1.0, 0.0)) * self.uncertainty.u_readout_pct
        at = self.readings.y[self.at_reference]
        offset = 100.0 * self.uncertainty.u_offset / abs(float(at.mean())) if at.size and at.mean() else 0.0
        lines = (
            ("readout gain at the live zero", beyond, "output zero"),
            ("readout's zero", offset, "% of its span"),
        )
        return tuple(
            BudgetLine(name=name, value=value, kind="common", source=source)
            for name, value, source in lines
            if value != 0.0 and math.isfinite(value)
        )


def relative_readings(
    readings: ScaledReadings, uncertainty: ReadingUncertainty, *, reference_hz: float
) -> RelativeReadings:
    """Relate the readings to the mean of those used within 1 % of the reference frequency."""
    x = np.where(readings.x > 0.0, readings.x, np.nan)
    sensitivity = readings.y / x
    relative_y = np.divide(uncertainty.u_y, np.abs(readings.y), out=np.ones(len(readings)), where=readings.y != 0.0)
    own = 100.0 * np.hypot(relative_y, uncertainty.u_x / x)
    near = at_frequency(readings.frequency_hz, reference_hz)
    usable = readings.used & (readings.x > 0.0)
    at_reference = near & usable
    reference = float(sensitivity[at_reference].mean()) if at_reference.any() else None
    return RelativeReadings(
        readings=readings,
        uncertainty=uncertainty,
        reference_hz=reference_hz,
        sensitivity=frozen(sensitivity),
        own_pct=frozen(own),
        usable=usable,
        at_reference=at_reference,
        mean_at_reference=reference,
        reference_sensitivity=reference if reference and reference > 0.0 else None,
    )
