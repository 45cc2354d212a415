"""The probe at the gap at which it stands when the machine is at rest: its voltage, and whether that is in range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_errors import GapErrors
from vibcal_nb.analysis.gap_curve.gap_runs import GapRun
from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.asset import GapCurveSpecification


@dataclass(frozen=True, kw_only=True, eq=False)
class RestGap:
    """``gap`` in the input unit, ``voltage`` there in the output unit with its U; None, with ``why``, where unknown.

    ``voltage_decision`` judges the voltage, ``gap_decision`` whether the gap lies in the linear range; None without
    limits.
    """

    gap: float
    voltage: float | None
    expanded: Expanded | None
    voltage_decision: Decision | None
    gap_decision: Decision | None
    why: str | None = None


def find_rest_gap(
    runs: Sequence[GapRun],
    errors: GapErrors,
    specification: GapCurveSpecification,
    rule: DecisionRule,
    *,
    linear_range: tuple[float, float] | None,
) -> RestGap | None:
    """Return what the curve gives at the rest gap: between the readings beside it, the mean of the runs that hold it.

    None where the channel states no rest gap.
    """
    gap = specification.rest_gap
    if gap is None:
        return None
    holding = [run for run in runs if len(run) > 1 and run.gap[0] <= gap <= run.gap[-1]]
    of_gap = errors.of_one_gap()
    judged = None
    if linear_range is not None:
        judged = judge(gap, of_gap, rule, lower=linear_range[0], upper=linear_range[1])
    if not holding:
        why = f"no readings on both sides of the rest gap of {gap:g} {specification.input_unit}"
        return RestGap(gap=gap, voltage=None, expanded=None, voltage_decision=None, gap_decision=judged, why=why)
    count = len(errors.readings)
    of_voltage, of_gaps = np.zeros(count), np.zeros(count)
    for run in holding:
        weights, slope = _between(run, gap)
        spread = run.spread(weights, count) / len(holding)
        of_voltage += spread
        of_gaps -= slope * spread
    voltage = float(of_voltage @ errors.readings.y)
    expanded = errors.expanded(of_voltage, of_gaps)
    limits = specification.rest_voltage
    return RestGap(
        gap=gap,
        voltage=voltage,
        expanded=expanded,
        voltage_decision=None if limits is None else judge(voltage, expanded, rule, lower=limits[0], upper=limits[1]),
        gap_decision=judged,
    )


def _between(run: GapRun, gap: float) -> tuple[np.ndarray, float]:
    """The weights (n,) of the readings beside a gap, and the slope between them."""
    last = min(max(int(np.searchsorted(run.gap, gap)), 1), len(run) - 1)
    width = float(run.gap[last] - run.gap[last - 1])
    share = (gap - float(run.gap[last - 1])) / width
    weights = np.zeros(len(run))
    weights[last - 1], weights[last] = 1.0 - share, share
    return weights, float(run.voltage[last] - run.voltage[last - 1]) / width
