"""Linearity of a channel: at each frequency, the output against the level, and the line through it.

Straight line by ISO/TS 28037:2010, clause 7; non-linearity by ANSI/ISA-51.1-1979 (R1993); the tolerance on
the sensitivity applies to the line and at every point. The reference's uncertainty is common to all points:
it widens the sensitivity fully, does not average down, and does not touch the non-linearity.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment, assess_line
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT, group_close, same_speed
from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judge, judged_points, state_rule
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings, scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Result, StatedSensitivity
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Decision, DecisionRule, Verdict, worst_verdict
from vibcal_nb.metrology.uncertainty.coverage import combine
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.case import Case

FEWEST_LEVELS = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class FrequencyLinearity:
    """Linearity at one frequency. ``line`` is None, with the reason in ``undetermined``, with too few levels.

    ``max_applied`` is the highest level used, in the input unit (None where no reading is used).
    """

    frequency_hz: float
    rotors: tuple[Rotor, ...]
    points: tuple[JudgedPoint, ...]
    levels: int
    max_applied: float | None
    line: LineAssessment | None
    undetermined: Mapping[str, str]
    verdict: Verdict

    @property
    def worst_point(self) -> JudgedPoint | None:
        """The used point farthest from the nominal sensitivity."""
        judged = [p for p in self.points if p.used and p.value_pct is not None]
        return max(judged, key=lambda p: abs(p.value_pct or 0.0), default=None)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LinearityResult(Result):
    """Linearity of one channel in one condition, with the case it was made from."""

    case: Case
    uncertainty: ReadingUncertainty
    rule: DecisionRule
    frequencies: tuple[FrequencyLinearity, ...]
    untested_rotors: tuple[Rotor, ...]
    verdict: Verdict
    method: str = "straight line by ISO/TS 28037:2010, clause 7; kinds of non-linearity of ANSI/ISA-51.1-1979 (R1993)"

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield the decisions on readings, sensitivities and non-linearities."""
        for item in self.frequencies:
            yield from judged_points(item.points)
            if item.line is None:
                continue
            yield f"sensitivity at {item.frequency_hz:.4g} Hz", item.line.deviation_decision
            if item.line.nonlinearity_decision is not None:
                yield f"non-linearity at {item.frequency_hz:.4g} Hz", item.line.nonlinearity_decision

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the slope at each frequency that has a line."""
        for item in self.frequencies:
            if item.line is not None:
                yield StatedSensitivity(
                    quantity=f"sensitivity at {item.frequency_hz:.4g} Hz",
                    frequency_hz=item.frequency_hz,
                    deviation_pct=item.line.deviation_pct,
                    budget=item.line.budget,
                    tolerance_pct=self.case.channel.tolerance_pct,
                )

    def driven(self) -> Iterator[tuple[Rotor, str, float, float | None]]:
        """Yield each set point at each rotor's speed, and the highest level of a line there."""
        channel = self.case.channel
        reached = {r.name: item.max_applied for item in self.frequencies for r in item.rotors if item.line is not None}
        for rotor in channel.rotors:
            for name, level in channel.set_points:
                yield rotor, name, level, reached.get(rotor.name)


@refusing
def analyse_linearity(case: Case) -> LinearityResult:
    """Analyse the linearity readings of a case, frequency by frequency.

    Raises ``AnalysisRefused`` with a sentence where the visit's contributions or decision
    rule cannot be used. Fewer than three distinct levels at a frequency are ``not verified``.
    """
    readings = scale_readings(case)
    uncertainty = assess_readings(case, readings)
    rule = state_rule(case.visit.decision)
    groups = group_close(readings.frequency_hz, within_pct=SAME_FREQUENCY_PCT)
    frequencies = tuple(_analyse_frequency(case, readings, uncertainty, rule, group) for group in groups)
    tested = {rotor.name for item in frequencies if item.max_applied is not None for rotor in item.rotors}
    return LinearityResult(
        case=case,
        uncertainty=uncertainty,
        rule=rule,
        frequencies=frequencies,
        untested_rotors=tuple(r for r in case.channel.rotors if r.name not in tested),
        verdict=worst_verdict([item.verdict for item in frequencies]),
    )


def _analyse_frequency(
    case: Case,
    readings: ScaledReadings,
    uncertainty: ReadingUncertainty,
    rule: DecisionRule,
    group: np.ndarray,
) -> FrequencyLinearity:
    frequency = float(np.median(readings.frequency_hz[group]))
    points = tuple(_judge_point(case, readings, uncertainty, rule, int(i)) for i in group)
    used = group[readings.used[group]]
    levels = len(group_close(readings.x[used], within_pct=SAME_LEVEL_PCT))
    line = None
    if levels >= FEWEST_LEVELS:
        line = assess_line(case, readings.at(_mask(used, len(readings))), uncertainty, rule, frequency, used)
    return FrequencyLinearity(
        frequency_hz=frequency,
        rotors=tuple(r for r in case.channel.rotors if same_speed(frequency, r.speed_hz)),
        points=points,
        levels=levels,
        max_applied=float(readings.x[used].max()) if used.size else None,
        line=line,
        undetermined=_undetermined(line, levels),
        verdict=_verdict(points, line),
    )


def _mask(indices: np.ndarray, size: int) -> np.ndarray:
    mask = np.zeros(size, dtype=bool)
    mask[indices] = True
    return mask


def _judge_point(
    case: Case, readings: ScaledReadings, uncertainty: ReadingUncertainty, rule: DecisionRule, i: int
) -> JudgedPoint:
    x, y = float(readings.x[i]), float(readings.y[i])
    tolerance = case.channel.tolerance_pct
    sensitivity = y / x if x > 0.0 else None
    value = expanded = common = decision = None
    if sensitivity is not None:
        ratio = sensitivity / case.nominal_sensitivity
        value = 100.0 * (ratio - 1.0)
        common = abs(ratio) * _common_pct(readings, uncertainty, i)
        own = abs(ratio) * _own_pct(readings, uncertainty, i)
        expanded = combine(
            (common, math.inf), (own, uncertainty.degrees_of_freedom), probability=uncertainty.probability
        )
        decision = judge(value, expanded, rule, lower=-tolerance, upper=tolerance) if readings.used[i] else None
    return JudgedPoint(
        reading=readings.readings[i],
        x=x,
        y=y,
        sensitivity=sensitivity,
        value_pct=value,
        expanded=expanded,
        lower_pct=-tolerance,
        upper_pct=tolerance,
        decision=decision,
        common_u_pct=common,
    )


def _common_pct(readings: ScaledReadings, uncertainty: ReadingUncertainty, i: int) -> float:
    """What all points at the frequency share, in % of the sensitivity; a live zero is read with the readout's gain."""
    zero = uncertainty.u_readout_pct * math.sqrt(max(float(uncertainty.zero_leverage[i]) ** 2 - 1.0, 0.0))
    return math.hypot(uncertainty.u_common_pct(float(readings.frequency_hz[i])), uncertainty.u_frequency_pct, zero)


def _own_pct(readings: ScaledReadings, uncertainty: ReadingUncertainty, i: int) -> float:
    """The reading's own part, in % of the sensitivity."""
    x, y = float(readings.x[i]), float(readings.y[i])
    return 100.0 * math.hypot(float(uncertainty.u_y[i]) / abs(y) if y else 0.0, float(uncertainty.u_x[i]) / x)


def _undetermined(line: LineAssessment | None, levels: int) -> dict[str, str]:
    if line is None:
        reason = f"{levels} distinct level{'' if levels == 1 else 's'} where {FEWEST_LEVELS} are needed for a line"
        names = ("sensitivity", "expanded_uncertainty", "k", "deviation_pct", "intercept", "u_intercept")
        return dict.fromkeys(
            (*names, "chi_squared", "nonlinearity_pct", "bow_pct", "hysteresis_pct", "repeatability_pct"), reason
        )
    reasons = {}
    if line.bow is None:
        reasons["bow_pct"] = "fewer than four readings leave no scatter to test a bow against"
    if line.hysteresis_pct is None:
        reasons["hysteresis_pct"] = "no level was read both rising and falling"
    if line.repeatability_pct is None:
        reasons["repeatability_pct"] = "no level was read twice in the same direction"
    return reasons


def _verdict(points: tuple[JudgedPoint, ...], line: LineAssessment | None) -> Verdict:
    words = [p.decision.verdict for p in points if p.decision is not None]
    if line is None:
        return worst_verdict([*words, NOT_VERIFIED])
    words.append(line.deviation_decision.verdict)
    if line.nonlinearity_decision is not None:
        words.append(line.nonlinearity_decision.verdict)
    return worst_verdict(words)
