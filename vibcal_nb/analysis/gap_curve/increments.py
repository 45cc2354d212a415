"""Sensitivity from gap to gap: of steps of the stated size, or from each reading to the next where none is stated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_errors import GapErrors
from vibcal_nb.analysis.gap_curve.gap_runs import GapRun
from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.asset import GapCurveSpecification

STEP_SHARE = 0.1  # by so much of a step its ends may be off, as a person sets a micrometer; judgement, no source
ARITHMETIC_PCT = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class Increment:
    """The sensitivity from one gap to the next of one run.

    ``low`` and ``high`` are the gaps in the input unit, ``sensitivity`` in output unit per input unit with its sign,
    ``deviation_pct`` from nominal, ``expanded`` its U in %. ``decision`` is None where no limit holds; ``too_wide``
    says that the gaps lie farther apart than the stated step.
    """

    direction: str | None
    repeat: int | None
    low: float
    high: float
    sensitivity: float
    deviation_pct: float
    expanded: Expanded
    decision: Decision | None
    too_wide: bool = False

    @property
    def verdict(self) -> Verdict | None:
        """The verdict's word; None where it was not judged."""
        return None if self.decision is None else self.decision.verdict


def increments_of(
    run: GapRun, errors: GapErrors, specification: GapCurveSpecification, rule: DecisionRule
) -> Iterator[Increment]:
    """Yield the increments of a run, gaps ascending; those within the stated range are judged."""
    for first, last in steps_of(run, specification.step):
        yield _increment(run, first, last, errors, specification, rule)


def steps_of(run: GapRun, step: float | None) -> Iterator[tuple[int, int]]:
    """Yield the places of both ends of each increment; readings within a step are passed over."""
    first = 0
    for place in range(1, len(run)):
        if step is None or run.gap[place] - run.gap[first] >= step * (1.0 - STEP_SHARE):
            yield first, place
            first = place


def _increment(
    run: GapRun, first: int, last: int, errors: GapErrors, specification: GapCurveSpecification, rule: DecisionRule
) -> Increment:
    nominal, step = specification.nominal_sensitivity, specification.step
    low, high = float(run.gap[first]), float(run.gap[last])
    sensitivity = float(run.voltage[last] - run.voltage[first]) / (high - low)
    weights = np.zeros(len(run))
    weights[first], weights[last] = -1.0 / (high - low), 1.0 / (high - low)
    of_voltage = run.spread(weights, len(errors.readings))
    deviation = deviation_pct(sensitivity, nominal)
    expanded = errors.expanded(
        of_voltage, -sensitivity * of_voltage, scale=100.0 / nominal, stated=100.0 * sensitivity / nominal
    )
    too_wide = step is not None and high - low > step * (1.0 + STEP_SHARE)
    limit = specification.incremental_pct if is_within(low, high, specification.range) and not too_wide else None
    return Increment(
        direction=run.direction,
        repeat=run.repeat,
        low=low,
        high=high,
        sensitivity=sensitivity,
        deviation_pct=deviation,
        expanded=expanded,
        decision=None if limit is None else judge(deviation, expanded, rule, lower=-limit, upper=limit),
        too_wide=too_wide,
    )


def is_within(low: float, high: float, stated: tuple[float, float] | None) -> bool:
    """Whether a stretch of gaps lies within the stated range, as a person sets a micrometer."""
    if stated is None:
        return True
    margin = STEP_SHARE * (high - low)
    return low >= stated[0] - margin and high <= stated[1] + margin


def deviation_pct(sensitivity: float, nominal: float) -> float:
    """Return the deviation from nominal, in %; what is left of arithmetic alone is 0."""
    found = 100.0 * (sensitivity / nominal - 1.0)
    return 0.0 if abs(found) < ARITHMETIC_PCT else found
