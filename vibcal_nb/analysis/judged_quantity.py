"""A quantity that readings determine together, beside its limits."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule
from vibcal_nb.metrology.uncertainty.estimate import Estimate


@dataclass(frozen=True, kw_only=True)
class JudgedQuantity:
    """A quantity with its limits; ``decision`` is None where it is undetermined, ``unit`` that of all numbers."""

    name: str
    unit: str
    limits: tuple[float, float]
    estimate: Estimate
    decision: Decision | None


def judge_quantity(
    name: str, unit: str, limits: tuple[float, float], estimate: Estimate, rule: DecisionRule
) -> JudgedQuantity:
    """Judge an estimate against limits (lowest, highest), where it is determined."""
    decision = None
    if estimate.value is not None and estimate.expanded is not None:
        decision = judge(estimate.value, estimate.expanded, rule, lower=limits[0], upper=limits[1])
    return JudgedQuantity(name=name, unit=unit, limits=limits, estimate=estimate, decision=decision)
