"""The straight line through the readings at one frequency, and all that it shows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from vibcal_nb.analysis.linearity.line_shape import (
    SIGNIFICANCE,
    Bow,
    assess_bow,
    hysteresis_pct,
    nonlinearity_lines,
    repeatability_pct,
    span_of,
)
from vibcal_nb.analysis.readings.errors.repeat_scatter import repeat_groups
from vibcal_nb.analysis.readings.grouping import SAME_LEVEL_PCT
from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule
from vibcal_nb.metrology.straight_line.nonlinearity import MinimaxLine
from vibcal_nb.metrology.straight_line.straight_line import (
    ChiSquaredTest,
    LineFit,
    chi_squared_test,
    fit_straight_line,
    scaled,
)
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget
from vibcal_nb.model.case import Case


@dataclass(frozen=True, kw_only=True, eq=False)
class LineAssessment:
    """What the line at one frequency shows; sensitivities in output unit per input unit, percentages of them.

    ``budget`` is of ``deviation_pct``, in %. ``fit`` rests on the independent part of the uncertainty alone,
    with ``nu`` degrees of freedom.
    ``nonlinearity_pct`` holds every kind, in % of ``span``. ``widened`` says that the readings scatter more
    than was stated for them, so that the line's uncertainty was taken from the scatter.
    """

    fit: LineFit
    nu: float
    widened: bool
    chi_squared: ChiSquaredTest
    sensitivity: float
    expanded: Expanded
    deviation_pct: float
    deviation_expanded: Expanded
    deviation_decision: Decision
    budget: Budget
    intercept: float
    u_intercept: float
    intercept_p_value: float
    bow: Bow | None
    span: float
    nonlinearity: Mapping[str, MinimaxLine]
    nonlinearity_pct: Mapping[str, float]
    nonlinearity_expanded: Expanded
    nonlinearity_decision: Decision | None
    hysteresis_pct: float | None
    repeatability_pct: float | None

    @property
    def bends(self) -> bool:
        """Whether the readings are curved beyond their scatter."""
        return self.bow is not None and self.bow.significant

    @property
    def intercept_significant(self) -> bool:
        """Whether something adds to the signal beyond the scatter."""
        return self.intercept_p_value < SIGNIFICANCE


def assess_line(case: Case, uncertainty: ReadingUncertainty, rule: DecisionRule, frequency_hz: float) -> LineAssessment:
    """Fit the line to the used readings at one frequency, which come with their uncertainty, and assess it."""
    used, u_x, u_y = uncertainty.readings, uncertainty.u_x, uncertainty.u_y
    span = span_of(used.y) or abs(case.nominal_sensitivity) * float(used.x.max())  # a dead channel has none
    stated = fit_straight_line(used.x, used.y, u_x=u_x, u_y=u_y)
    groups = repeat_groups(used)
    test = chi_squared_test(stated, variance=uncertainty.estimated_variance(groups))
    widened = test.passed is False
    fit = scaled(stated, repeats=groups) if widened else stated
    nu = float(fit.scale_degrees_of_freedom) if widened else uncertainty.degrees_of_freedom
    budget = _budget(case, fit, uncertainty, frequency_hz, nu)
    deviation = expand_budget(budget, probability=uncertainty.probability)
    deviation_pct = 100.0 * (fit.slope / case.nominal_sensitivity - 1.0)
    u_intercept = math.hypot(
        fit.u_intercept, uncertainty.u_readout_pct / 100.0 * case.output_zero, uncertainty.u_offset
    )
    # as stated even where the line is widened: scatter about a line that bends is the non-linearity itself
    scatter = np.hypot(u_y, fit.slope * u_x)
    return LineAssessment(
        fit=fit,
        nu=nu,
        widened=widened,
        chi_squared=test,
        sensitivity=fit.slope,
        expanded=deviation.times(abs(case.nominal_sensitivity) / 100.0),
        deviation_pct=deviation_pct,
        deviation_expanded=deviation,
        deviation_decision=_within(deviation_pct, deviation, rule, case.channel.tolerance_pct),
        budget=budget,
        intercept=fit.intercept,
        u_intercept=u_intercept,
        intercept_p_value=2.0 * float(ndtr(-abs(fit.intercept) / u_intercept)),
        bow=assess_bow(used.x, used.y, u=u_y, span=span),
        **_shape(case, used, fit, scatter, rule, span, uncertainty),  # type: ignore[arg-type]
    )


def _within(value: float, expanded: Expanded, rule: DecisionRule, tolerance: float) -> Decision:
    decision = judge(value, expanded, rule, lower=-tolerance, upper=tolerance)
    assert decision is not None  # both limits are given
    return decision


def _budget(case: Case, fit: LineFit, uncertainty: ReadingUncertainty, frequency_hz: float, nu: float) -> Budget:
    """Budget of the deviation of the sensitivity from nominal, in %."""
    ratio = fit.slope / case.nominal_sensitivity
    common = (*uncertainty.common(frequency_hz), *uncertainty.at_frequency(frequency_hz))
    lines = [line.scaled_by(ratio) for line in common]
    lines.append(
        BudgetLine(
            name="straight line",
            value=100.0 * fit.u_slope / abs(fit.slope) if fit.slope else 0.0,
            sensitivity_coefficient=ratio,
            kind="independent",
            degrees_of_freedom=nu,
            source=f"{fit.x.size} readings, {fit.method}",
        )
    )
    return Budget(lines=tuple(lines), estimate=100.0 * (ratio - 1.0))


def _shape(
    case: Case,
    used: ScaledReadings,
    fit: LineFit,
    scatter: FloatArray,
    rule: DecisionRule,
    span: float,
    uncertainty: ReadingUncertainty,
) -> dict[str, object]:
    lines = nonlinearity_lines(used.x, used.y)
    percent = {kind: 100.0 * line.max_deviation / span for kind, line in lines.items()}
    nu, probability = uncertainty.degrees_of_freedom, uncertainty.probability
    expanded = expand(100.0 * float(scatter.max()) / span, nu, probability=probability)
    limit = case.channel.nonlinearity_pct
    return {
        "span": span,
        "nonlinearity": lines,
        "nonlinearity_pct": percent,
        "nonlinearity_expanded": expanded,
        "nonlinearity_decision": judge(
            percent[case.channel.nonlinearity_kind], expanded, rule, lower=None, upper=limit
        ),
        "hysteresis_pct": hysteresis_pct(used, fit.residuals, span=span, same_level_pct=SAME_LEVEL_PCT),
        "repeatability_pct": repeatability_pct(used, fit.residuals, span=span, same_level_pct=SAME_LEVEL_PCT),
    }
