"""The zero of a dc output, told apart from its span: what it puts out at no vibration against the live zero.

A zero error moves all readings by the same current, a span error in proportion to the level. The zero is read where a
reading was taken at no level; without one it is the intercept of the line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment
from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.case import Case

Basis = Literal["zero reading", "intercept"]


@dataclass(frozen=True, kw_only=True)
class ZeroError:
    """Output at no vibration less the live zero, in % of span (full scale times the nominal sensitivity).

    ``decision`` is None where the channel states no limit of the zero; ``basis`` says what it is read from, and
    ``readings`` of how many.
    """

    value_pct: float
    expanded: Expanded
    decision: Decision | None
    basis: Basis
    readings: int


def assess_zero(
    case: Case, uncertainty: ReadingUncertainty, line: LineAssessment | None, rule: DecisionRule
) -> ZeroError | None:
    """Assess the zero from the used readings at one frequency, which come with their uncertainty.

    None where the output is no direct current or voltage, where the channel states no full scale, or where neither a
    reading at no level nor a line tells it.
    """
    full_scale = case.channel.full_scale
    if case.output_unit.detector != "dc" or full_scale is None:
        return None
    used = uncertainty.readings
    to_pct = 100.0 / (full_scale * case.nominal_sensitivity)
    at_rest = used.x == 0.0
    if at_rest.any():
        value = float(used.y[at_rest].mean())
        own = math.sqrt(float((uncertainty.u_y[at_rest] ** 2).sum())) / int(at_rest.sum())
        gain = uncertainty.u_readout_pct / 100.0 * abs(float(used.output[at_rest].mean()))
        parts = ((math.hypot(gain, uncertainty.u_offset), math.inf), (own, uncertainty.degrees_of_freedom))
    elif line is not None:
        value, parts = line.intercept, ((line.u_intercept, line.nu),)  # type: ignore[assignment]
    else:
        return None
    expanded = combine(*((to_pct * u, nu) for u, nu in parts), probability=uncertainty.probability)
    limit = case.channel.zero_tolerance_span_pct
    decided = None if limit is None else judge(to_pct * value, expanded, rule, lower=-limit, upper=limit)
    return ZeroError(
        value_pct=to_pct * value,
        expanded=expanded,
        decision=decided,
        basis="zero reading" if at_rest.any() else "intercept",
        readings=int(at_rest.sum()) or len(used),
    )
