"""One reading of a line, judged on the scale of its tolerance: in % of the reading, or in % of span.

A tolerance that is a part of the reading allows the same percentage at every level, and says nothing at no level. Any
other is judged in % of span, which is full scale: there it has a size at every level, at zero, too.
"""

from __future__ import annotations

import math

from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judge
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.metrology.conformity.decision import DecisionRule
from vibcal_nb.metrology.uncertainty.coverage import combine
from vibcal_nb.model.case import Case


def judge_reading(
    case: Case, readings: ScaledReadings, uncertainty: ReadingUncertainty, rule: DecisionRule, i: int
) -> JudgedPoint:
    """Judge reading ``i``: its indication (output over nominal sensitivity) against the level, in % of the scale."""
    x, y = float(readings.x[i]), float(readings.y[i])
    tolerance, full_scale = case.channel.tolerance, case.channel.full_scale
    of_span = not tolerance.is_of_reading and full_scale is not None
    scale = float(full_scale or 0.0) if of_span else x
    value = expanded = common = decision = limit = None
    if tolerance.is_of_reading:
        limit = tolerance.allowed_pct(x, full_scale=full_scale)
    elif scale > 0.0:
        limit = 100.0 * tolerance.allowed(x, full_scale=full_scale) / scale
    if scale > 0.0 and not readings.failure_signal[i]:
        indicated = y / case.nominal_sensitivity
        value = 100.0 * (indicated - x) / scale if of_span else 100.0 * (y / x / case.nominal_sensitivity - 1.0)
        in_percent = 100.0 / case.nominal_sensitivity / scale
        common = in_percent * _common(readings, uncertainty, i)
        own = in_percent * _own(readings, uncertainty, i, slope=case.nominal_sensitivity)
        expanded = combine(
            (common, math.inf), (own, uncertainty.degrees_of_freedom), probability=uncertainty.probability
        )
        if readings.used[i] and limit is not None:
            decision = judge(value, expanded, rule, lower=-limit, upper=limit)
    return JudgedPoint(
        reading=readings.readings[i],
        x=x,
        y=y,
        sensitivity=y / x if x > 0.0 else None,
        value_pct=value,
        expanded=expanded,
        lower_pct=None if limit is None else -limit,
        upper_pct=limit,
        decision=decision,
        common_u_pct=common,
        of_span=of_span,
        failure_signal=bool(readings.failure_signal[i]),
        beyond_scale=full_scale is not None and x > full_scale,
    )


def _common(readings: ScaledReadings, uncertainty: ReadingUncertainty, i: int) -> float:
    """What all points at the frequency share, in output units; a live zero is read with the readout's gain, too."""
    y, output = abs(float(readings.y[i])), float(readings.output[i])
    hz = float(readings.frequency_hz[i])
    shared_pct = math.hypot(uncertainty.u_common_pct(hz), uncertainty.u_frequency_pct(hz))
    zero = uncertainty.u_readout_pct * math.sqrt(max(output**2 - y**2, 0.0))
    return math.hypot(shared_pct * y / 100.0, zero / 100.0, uncertainty.u_offset)


def _own(readings: ScaledReadings, uncertainty: ReadingUncertainty, i: int, *, slope: float) -> float:
    """The reading's own part, in output units; at no level the level's step counts by the nominal ``slope``."""
    x, y = float(readings.x[i]), float(readings.y[i])
    return math.hypot(float(uncertainty.u_y[i]), (y / x if x > 0.0 else slope) * float(uncertainty.u_x[i]))
