"""Errors of gaps and voltages, carried to whatever is worked out of them.

Everything that is worked out of a gap curve is, near its value, a sum of voltages and gaps with weights. A micrometer's
error is another one at each gap, so that an increment holds that of both its ends, and the root of two of one; at one
gap it is the same whenever it is set there, so that more runs do not average it. The
readout's gain is one error of all readings, and its own zero cancels wherever the weights of the voltages sum to zero.
The gap is taken as set: its digits as typed tell no resolution, unless the micrometer states ``display_step``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_runs import SAME_GAP
from vibcal_nb.analysis.readings.chosen_reference import ChosenReference
from vibcal_nb.analysis.readings.contributions import READOUT_DRIFT_PCT_PER_YEAR, drift_line, state_contributions
from vibcal_nb.analysis.readings.reading_uncertainty import OF_THE_READOUT, readout_gain, readout_offset
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Reference
from vibcal_nb.units import convert, parse_gap_unit

MICROMETER = "micrometer"
_UM = parse_gap_unit("um")


@dataclass(frozen=True, kw_only=True, eq=False)
class GapErrors:
    """Standard uncertainties behind a gap curve, in the units of the case.

    ``u_gap`` of each gap, of the micrometer ``reference`` (None where none is named: 0 then); ``u_voltage`` (n,) of
    each voltage's own rounding; ``gain`` lines in % that all voltages share; ``u_offset`` of the readout's zero, which
    they share as well; ``stated`` lines in % of a sensitivity that the visit states.
    """

    readings: ScaledReadings
    reference: Reference | None
    u_gap: float
    u_voltage: FloatArray
    gain: tuple[BudgetLine, ...]
    u_offset: float
    stated: tuple[BudgetLine, ...]
    on: date
    probability: float

    def at_frequency(self, _: float) -> tuple[BudgetLine, ...]:
        """No error belongs to a frequency: nothing vibrates."""
        return ()

    def reference_at(self, _: float) -> ChosenReference | None:
        """No level is known by a certificate over frequency."""
        return None

    def budget(
        self,
        of_voltage: FloatArray,
        of_gap: FloatArray,
        *,
        scale: float = 1.0,
        stated: float = 0.0,
        both_ways: bool = False,
    ) -> Budget:
        """Return the budget of a sum of voltages and gaps with these weights, shape (n,) each, times ``scale``.

        ``stated`` is the size, in the unit of the result, of which the visit's own contributions are percentages. Of a
        gap that was set more than once the micrometer's error counts as one, which does not average; ``both_ways`` of a
        difference of ways, in which it does not cancel either.
        """
        total = float(of_voltage @ self.readings.y)
        rounding = math.sqrt(float(np.sum((of_voltage * self.u_voltage) ** 2)))
        weights = of_gap if both_ways else self._by_gap(of_gap)
        gaps = math.sqrt(float(np.sum(weights**2))) * self.u_gap
        lines = [_line(MICROMETER, abs(scale) * gaps, "independent", self._of_micrometer())]
        lines += [_line("rounding of voltages", abs(scale) * rounding, "independent", "digits as written")]
        lines += [line.scaled_by(scale * total / 100.0) for line in self.gain]
        zero = abs(scale) * abs(float(of_voltage.sum())) * self.u_offset
        lines += [_line("readout's zero", zero, "common", "% of its span")] if zero else []
        lines += [line.scaled_by(stated / 100.0) for line in self.stated]
        return Budget(lines=tuple(lines))

    def _by_gap(self, of_gap: FloatArray) -> FloatArray:
        """The weights of each gap that was set, those of all its settings together."""
        order = np.argsort(self.readings.x, kind="stable")
        gap = self.readings.x[order]
        starts = np.flatnonzero(np.diff(gap, prepend=-np.inf) > SAME_GAP * float(np.abs(gap).max(initial=0.0)))
        return np.add.reduceat(of_gap[order], starts) if gap.size else of_gap

    def expanded(
        self,
        of_voltage: FloatArray,
        of_gap: FloatArray,
        *,
        scale: float = 1.0,
        stated: float = 0.0,
        both_ways: bool = False,
    ) -> Expanded:
        """Return U of such a sum, see ``budget``."""
        budget = self.budget(of_voltage, of_gap, scale=scale, stated=stated, both_ways=both_ways)
        return expand_budget(budget, probability=self.probability)

    def of_one_gap(self) -> Expanded:
        """Return U of one gap as set, in the input unit."""
        return expand(self.u_gap, probability=self.probability)

    def _of_micrometer(self) -> str:
        item = self.reference
        return "no micrometer is named" if item is None else f"certificate of {item.id}, at each gap by itself"


def _line(name: str, u: float, kind: str, source: str) -> BudgetLine:
    return BudgetLine(name=name, value=u, kind=kind, source=source)  # type: ignore[arg-type]


def assess_gaps(case: Case, readings: ScaledReadings) -> GapErrors:
    """Derive the errors of a gap curve from certificates, digits as written and the visit's own contributions.

    Of several micrometers no reading tells which it was set with: the widest counts. Of the visit's contributions those
    of a shaker play no part, and those that it does not state are none: what a static reading adds is rounding.
    """
    reference = max(case.references, key=lambda item: (item.expanded_um or 0.0) / (item.k or 1.0), default=None)
    gain = readout_gain(case)
    drift = (
        ()
        if gain is None
        else (drift_line(OF_THE_READOUT[1], gain[1], case.visit.date, usual=READOUT_DRIFT_PCT_PER_YEAR),)
    )
    stated = state_contributions(case.visit, electrical=True)
    return GapErrors(
        readings=readings,
        reference=reference,
        u_gap=_u_gap(case, reference),
        u_voltage=readings.resolution_y / math.sqrt(12.0),
        gain=() if gain is None else (gain[0], *drift),
        u_offset=readout_offset(case),
        stated=tuple(item.line for item in stated if item.edited),
        on=case.visit.date,
        probability=case.visit.decision.coverage_probability,
    )


def _u_gap(case: Case, reference: Reference | None) -> float:
    if reference is None or reference.expanded_um is None or reference.k is None:
        return 0.0
    return float(convert(reference.expanded_um / reference.k, _UM, case.input_unit))
