"""The stretch of gaps in which every limit holds, in every run: the longest there is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_runs import GapRun
from vibcal_nb.analysis.gap_curve.increments import Increment
from vibcal_nb.metrology.straight_line.stated_slope import line_of_stated_slope
from vibcal_nb.model.asset import GapCurveSpecification

MOST_GAPS = 200  # ends that are tried: a table has a tenth of them


def find_linear_range(
    runs: Sequence[GapRun], increments: Sequence[Increment], specification: GapCurveSpecification, *, um: float
) -> tuple[float, float] | None:
    """Return the lowest and the highest gap of the longest stretch in which all stated limits hold.

    Increments and readings count by their values alone, without guard bands; ``um`` is a micrometre in the input unit.
    None where no increment keeps its limit, or no limit is stated.
    """
    if specification.incremental_pct is None and specification.deviation_um is None:
        return None
    ends = np.unique([value for item in increments for value in (item.low, item.high)])
    if ends.size > MOST_GAPS:
        ends = ends[np.linspace(0, ends.size - 1, MOST_GAPS).astype(int)]
    stretches = sorted(
        ((low, high) for i, low in enumerate(ends) for high in ends[i + 1 :]), key=lambda ends: ends[0] - ends[1]
    )
    for low, high in stretches:
        if _holds(float(low), float(high), runs, increments, specification, um):
            return float(low), float(high)
    return None


def _holds(
    low: float,
    high: float,
    runs: Sequence[GapRun],
    increments: Sequence[Increment],
    specification: GapCurveSpecification,
    um: float,
) -> bool:
    limit, allowed = specification.incremental_pct, specification.deviation_um
    inside = [item for item in increments if item.low < high and item.high > low]
    if limit is not None and any(abs(item.deviation_pct) > limit for item in inside):
        return False
    if allowed is None:
        return True
    parts = [run.within(low, high) for run in runs]
    found = [
        line_of_stated_slope(part.gap, part.voltage, slope=specification.nominal_sensitivity).max_deviation
        for part in parts
        if len(part)
    ]
    return all(value <= allowed * um for value in found)
