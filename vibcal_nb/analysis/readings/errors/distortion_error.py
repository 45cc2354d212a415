"""What the distortion of the level does to a reading: as much as the detector that reads it takes in of the harmonics.

Where the output is a direct current or voltage that stands for a level, the channel itself detects, as its input unit
says. A sine approximation reads the fundamental alone (IEEE Std 1057-2017). Where no distortion was measured or stated
the usual contribution stands, which is judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.metrology.sine.detectors import peak_error, rms_error
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading

DC = "dc"
RMS = "rms"


@dataclass(frozen=True, kw_only=True, eq=False)
class DistortionError:
    """The contribution of distortion by frequency: ``usual`` where nothing is known of it there.

    ``detector`` is what the level is read with, ``is_detected_in_channel`` whether the channel itself does so.
    ``stated_thd_pct`` is the shaker's (None: not stated).
    """

    usual: BudgetLine
    detector: str
    is_detected_in_channel: bool
    stated_thd_pct: float | None
    readings: ScaledReadings

    def line(self, frequency_hz: float) -> BudgetLine:
        """Return the budget line at a frequency, in % of the level."""
        here = self._at(frequency_hz)
        measured = [r for r in here if r.thd_pct is not None]
        if measured and not self.is_detected_in_channel and all(r.u_pct is not None for r in here):
            return replace(self.usual, value=0.0, source="none: the sine approximation reads the fundamental alone")
        if measured:
            worst = max(measured, key=lambda r: self._error_pct(r.thd_pct or 0.0, r.harmonics_pct))
            return self._line(worst.thd_pct or 0.0, worst.harmonics_pct, "measured at this frequency")
        if self.stated_thd_pct is not None:
            return self._line(self.stated_thd_pct, None, "of the shaker, equipment.toml")
        return self.usual

    def _at(self, frequency_hz: float) -> list[Reading]:
        if not self._is_measured:  # a table of thousands of readings asks at each of them
            return []
        chosen = at_frequency(self.readings.frequency_hz, frequency_hz) & self.readings.used
        return [self.readings.readings[i] for i in np.flatnonzero(chosen)]

    @cached_property
    def _is_measured(self) -> bool:
        return any(r.thd_pct is not None for r in self.readings.readings)

    def _error_pct(self, thd_pct: float, harmonics_pct: float | None) -> float:
        if self.detector == RMS:
            return 100.0 * rms_error(thd_pct / 100.0)
        summed = None if harmonics_pct is None else harmonics_pct / 100.0
        return 100.0 * peak_error(thd_pct / 100.0, harmonics=summed)

    def _line(self, thd_pct: float, harmonics_pct: float | None, whose: str) -> BudgetLine:
        how = "half its square" if self.detector == RMS else "up to the sum of harmonics"
        return replace(
            self.usual,
            value=self._error_pct(thd_pct, harmonics_pct),
            distribution="rectangular",
            k=1.0,
            beta=None,
            source=f"THD {thd_pct:.2g} % {whose}; a {self.detector} detector sees {how}",
        )


def distortion_error(case: Case, scaled: ScaledReadings, usual: BudgetLine) -> DistortionError:
    """Return what the distortion does to the readings of a case."""
    in_channel = case.output_unit.detector == DC
    stated = [shaker.thd_pct for shaker in case.shakers if shaker.thd_pct is not None]
    return DistortionError(
        usual=usual,
        detector=(case.input_unit if in_channel else case.output_unit).detector,
        is_detected_in_channel=in_channel,
        stated_thd_pct=max(stated, default=None),
        readings=scaled,
    )
