"""Linearity of a channel: at each frequency, the output against the level, and the line through it.

Straight line by ISO/TS 28037:2010, clause 7; non-linearity by ANSI/ISA-51.1-1979 (R1993); the tolerance on
the sensitivity applies to the line and at every point. The reference's uncertainty is common to all points:
it widens the sensitivity fully, does not average down, and does not touch the non-linearity.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import gated, verdict_behind
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.linearity.judged_reading import judge_reading
from vibcal_nb.analysis.linearity.line_assessment import LineAssessment, assess_line
from vibcal_nb.analysis.linearity.zero_error import ZeroError, assess_zero
from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay, hidden_by_display
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT, group_close, runs_at
from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judged_points, state_rule
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings, scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import DrivenSetPoint, Result, StatedSensitivity
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Decision, DecisionRule, Verdict, worst_verdict
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.case import Case

FEWEST_LEVELS = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class FrequencyLinearity:
    """Linearity at one frequency. ``line`` is None, with the reason in ``undetermined``, with too few levels.

    ``max_applied`` is the highest level used, in the input unit (None where no reading is used). ``zero`` is that of a
    dc output with a full scale, None otherwise.
    """

    frequency_hz: float
    rotors: tuple[Rotor, ...]
    points: tuple[JudgedPoint, ...]
    levels: int
    max_applied: float | None
    line: LineAssessment | None
    zero: ZeroError | None
    undetermined: Mapping[str, str]
    verdict: Verdict

    @property
    def worst_point(self) -> JudgedPoint | None:
        """The used point that takes most of its tolerance."""
        judged = [p for p in self.points if p.used and p.value_pct is not None]
        return max(judged, key=lambda p: abs(p.value_pct or 0.0) / (p.upper_pct or 1.0), default=None)

    @property
    def noise_points(self) -> tuple[JudgedPoint, ...]:
        """The readings, not left out, of an alternating output at no level: they tell the noise."""
        return tuple(p for p in self.points if p.used and p.tells_noise)

    @property
    def failure_signals(self) -> tuple[JudgedPoint, ...]:
        """The readings, not left out, at which the output signalled a failure in place of a measurement."""
        return tuple(p for p in self.points if p.failure_signal and not p.excluded)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LinearityResult(Result):
    """Linearity of one channel in one condition, with the case it was made from."""

    case: Case
    uncertainty: ReadingUncertainty
    rule: DecisionRule
    frequencies: tuple[FrequencyLinearity, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "straight line by ISO/TS 28037:2010, clause 7; kinds of non-linearity of ANSI/ISA-51.1-1979 (R1993)"

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings."""
        return hidden_by_display(self.uncertainty)

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield the decisions on readings, sensitivities and non-linearities."""
        for item in self.frequencies:
            yield from judged_points(item.points)
            if item.zero is not None and item.zero.decision is not None:
                yield f"zero at {item.frequency_hz:.4g} Hz", item.zero.decision
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

    def driven(self) -> Iterator[DrivenSetPoint]:
        """Yield each set point at each rotor's speed, and the highest level of a line there."""
        channel = self.case.channel
        reached = {r.name: item.max_applied for item in self.frequencies for r in item.rotors if item.line is not None}
        for rotor in channel.rotors:
            for name, level in channel.set_points:
                yield DrivenSetPoint(
                    rotor=rotor.name,
                    frequency_hz=rotor.speed_hz,
                    set_point=name,
                    level=level,
                    highest=reached.get(rotor.name),
                )


@refusing
def analyse_linearity(case: Case) -> LinearityResult:
    """Analyse the linearity readings of a case, frequency by frequency, and hold the gates before the verdict.

    Raises ``AnalysisRefused`` with a sentence where the visit's contributions or decision
    rule cannot be used. Fewer than three distinct levels at a frequency are ``not verified``.
    """
    readings = scale_readings(case)
    result = gated(lines_of(case, readings), readings, analyse=analyse_linearity)
    return replace(result, frequencies=tuple(_behind(item, result.gates) for item in result.frequencies))


def _behind(item: FrequencyLinearity, gates: tuple[Gate, ...]) -> FrequencyLinearity:
    held = (gate for gate in gates if gate.concerns(item.frequency_hz))
    return replace(item, verdict=verdict_behind(item.verdict, held))


def lines_of(case: Case, readings: ScaledReadings) -> LinearityResult:
    """Return what the readings of a case show by themselves, before any gate. Raises as `analyse_linearity`."""
    uncertainty = assess_readings(case, readings)
    rule = state_rule(case.visit.decision)
    groups = group_close(readings.frequency_hz, within_pct=SAME_FREQUENCY_PCT)
    frequencies = tuple(_analyse_frequency(case, readings, uncertainty, rule, group) for group in groups)
    return LinearityResult(
        case=case,
        uncertainty=uncertainty,
        rule=rule,
        frequencies=frequencies,
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
    points = tuple(judge_reading(case, readings, uncertainty, rule, int(i)) for i in group)
    used = group[readings.on_a_line[group]]
    levels = len(group_close(readings.x[used], within_pct=SAME_LEVEL_PCT))
    taken = uncertainty.at(_mask(used, len(readings)))
    line = None
    if levels >= FEWEST_LEVELS:
        line = assess_line(case, taken, rule, frequency)
    zero = assess_zero(case, taken, line, rule)
    return FrequencyLinearity(
        frequency_hz=frequency,
        rotors=tuple(r for r in case.channel.rotors if runs_at(r, frequency)),
        points=points,
        levels=levels,
        max_applied=float(readings.x[used].max()) if used.size else None,
        line=line,
        zero=zero,
        undetermined=_undetermined(line, levels, points),
        verdict=_verdict(points, line, zero),
    )


def _mask(indices: np.ndarray, size: int) -> np.ndarray:
    mask = np.zeros(size, dtype=bool)
    mask[indices] = True
    return mask


def _undetermined(line: LineAssessment | None, levels: int, points: tuple[JudgedPoint, ...]) -> dict[str, str]:
    if line is None:
        reason = f"{levels} distinct level{'' if levels == 1 else 's'} where {FEWEST_LEVELS} are needed for a line"
        signals = sum(p.failure_signal and not p.excluded for p in points)
        if signals:
            reason += f"; {signals} of {len(points)} readings are a failure signal"
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


def _verdict(points: tuple[JudgedPoint, ...], line: LineAssessment | None, zero: ZeroError | None) -> Verdict:
    words = [p.verdict for p in points if p.verdict is not None]
    if zero is not None and zero.decision is not None:
        words.append(zero.decision.verdict)
    if line is None:
        return worst_verdict([*words, NOT_VERIFIED])
    words.append(line.deviation_decision.verdict)
    if line.nonlinearity_decision is not None:
        words.append(line.nonlinearity_decision.verdict)
    return worst_verdict(words)
