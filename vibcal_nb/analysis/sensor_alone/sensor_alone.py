"""The sensor alone: its sensitivity at the reference frequency, and how flat it is from there.

Sensitivity at the reference frequency against nominal; deviation elsewhere **from the sensitivity at the
reference frequency** (common practice, no source). Physics fitted where the readings show it: see
``sensor_model``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import gated
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay, hidden_by_display
from vibcal_nb.analysis.readings.errors.setup_drift import SetUpDrift
from vibcal_nb.analysis.readings.flat_part import FEWEST_FREQUENCIES, flat_part_gaps
from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judge, judged_points, state_rule
from vibcal_nb.analysis.readings.point_limits import in_flat_part
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.relative_response import RelativeReadings, relate
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Result, StatedSensitivity
from vibcal_nb.analysis.sensor_alone.sensor_model import SensorFit, fit_sensor
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Decision, DecisionRule, Verdict, worst_verdict
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget
from vibcal_nb.model.asset import SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.problems import NothingToAnalyse


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SensorAloneResult(Result):
    """The sensor alone in one condition, with the case it was made from.

    ``reference_sensitivity`` is the mean at the reference frequency, 0 of a dead sensor, to which nothing can be
    related. ``points`` hold the deviation from the sensitivity at the reference frequency, in % (``value_pct``).
    ``expanded`` is of ``reference_sensitivity``; ``reference_budget`` of its deviation from nominal, in %.
    """

    case: Case
    uncertainty: ReadingUncertainty
    rule: DecisionRule
    specification: SensorSpecification
    reference_sensitivity: float | None
    expanded: Expanded | None
    reference_budget: Budget | None
    reference_deviation_pct: float | None
    reference_decision: Decision | None
    points: tuple[JudgedPoint, ...]
    worst_point: JudgedPoint | None
    fit: SensorFit | None
    undetermined: Mapping[str, str]
    not_verified: tuple[str, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "deviation from the sensitivity at the reference frequency"

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings."""
        return hidden_by_display(self.uncertainty)

    def set_up_drift(self) -> SetUpDrift | None:
        """How the set-up drifted from the first to the last reading at the reference frequency."""
        reference_hz = self.specification.reference_hz
        return relate(self.uncertainty.readings, self.uncertainty, reference_hz=reference_hz).set_up_drift

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield the decisions on readings and on the sensitivity at the reference frequency."""
        yield from judged_points(self.points)
        if self.reference_decision is not None:
            yield f"sensor sensitivity at {self.specification.reference_hz:.4g} Hz", self.reference_decision

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the sensitivity at the reference frequency."""
        if self.reference_deviation_pct is not None and self.reference_budget is not None:
            yield StatedSensitivity(
                quantity=f"sensor sensitivity at {self.specification.reference_hz:.4g} Hz",
                frequency_hz=self.specification.reference_hz,
                deviation_pct=self.reference_deviation_pct,
                budget=self.reference_budget,
                tolerance_pct=self.specification.tolerance_pct,
            )


@refusing
def analyse_sensor_alone(case: Case) -> SensorAloneResult:
    """Analyse the sensor-alone readings of a case.

    Raises ``NothingToAnalyse`` with a sentence where the channel states no sensor.
    """
    sensor = case.channel.sensor
    if sensor is None:
        raise NothingToAnalyse(
            f"Channel {case.channel.tag} has no [sensor] table in asset.toml; add it to judge the sensor alone."
        )
    readings = scale_readings(case)
    uncertainty = assess_readings(case, readings)
    rule = state_rule(case.visit.decision)
    relative = relate(readings, uncertainty, reference_hz=sensor.reference_hz)
    points = tuple(_judge_point(relative, sensor, rule, i) for i in range(len(readings)))
    fit, reason = _fit(relative)
    gaps = tuple(_gaps(relative, sensor))
    worst = _worst(points, relative)
    reference = _judge_reference(relative, sensor, rule)
    result = SensorAloneResult(
        case=case,
        uncertainty=uncertainty,
        rule=rule,
        specification=sensor,
        points=points,
        worst_point=worst,
        fit=fit,
        undetermined=_undetermined(fit, reason, relative, worst),
        not_verified=gaps,
        verdict=_verdict(points, reference["reference_decision"], gaps),  # type: ignore[arg-type]
        **reference,  # type: ignore[arg-type]
    )
    return gated(result, readings, analyse=analyse_sensor_alone)


def _judge_reference(relative: RelativeReadings, sensor: SensorSpecification, rule: DecisionRule) -> dict[str, object]:
    sensitivity = relative.mean_at_reference  # of a dead sensor 0, which is judged as well
    if sensitivity is None:
        names = ("reference_sensitivity", "expanded", "reference_budget")
        return dict.fromkeys((*names, "reference_deviation_pct", "reference_decision"))
    budget = relative.reference_budget(nominal=sensor.nominal_sensitivity)
    expanded = expand_budget(budget, probability=relative.uncertainty.probability)
    deviation = 100.0 * (sensitivity / sensor.nominal_sensitivity - 1.0)
    return {
        "reference_sensitivity": sensitivity,
        "expanded": expanded.times(abs(sensor.nominal_sensitivity) / 100.0),
        "reference_budget": budget,
        "reference_deviation_pct": deviation,
        "reference_decision": judge(deviation, expanded, rule, lower=-sensor.tolerance_pct, upper=sensor.tolerance_pct),
    }


def _judge_point(relative: RelativeReadings, sensor: SensorSpecification, rule: DecisionRule, i: int) -> JudgedPoint:
    ratio = relative.ratio_pct(i)
    expanded = None if ratio is None else relative.ratio_expanded(i, ratio)
    limit = sensor.flat_pct if in_flat_part(float(relative.readings.frequency_hz[i]), sensor) else None
    lower, upper = (None, None) if limit is None else (-limit, limit)
    judged = relative.readings.used[i] and not relative.at_reference[i] and ratio is not None and expanded
    return JudgedPoint(
        reading=relative.readings.readings[i],
        x=float(relative.readings.x[i]),
        y=float(relative.readings.y[i]),
        sensitivity=relative.sensitivity_of(i),
        value_pct=None if ratio is None else ratio - 100.0,
        expanded=expanded,
        lower_pct=lower,
        upper_pct=upper,
        common_u_pct=None if ratio is None else relative.ratio_common_pct(ratio),
        decision=judge(ratio - 100.0, expanded, rule, lower=lower, upper=upper) if judged else None,  # type: ignore[operator,arg-type]
    )


def _worst(points: tuple[JudgedPoint, ...], relative: RelativeReadings) -> JudgedPoint | None:
    """The used reading farthest from the reference: within the flat part where one is stated, else of all."""
    elsewhere = zip(points, relative.at_reference, strict=True)
    used = [p for p, at_reference in elsewhere if p.used and not at_reference and p.value_pct is not None]
    limited = [p for p in used if p.upper_pct is not None]
    return max(limited or used, key=lambda p: abs(p.value_pct or 0.0), default=None)


def _fit(relative: RelativeReadings) -> tuple[SensorFit | None, str | None]:
    usable = relative.readings.used & (np.nan_to_num(relative.sensitivity) > 0.0)
    if usable.sum() < FEWEST_FREQUENCIES:
        return None, f"usable readings: {int(usable.sum())}, where {FEWEST_FREQUENCIES} are needed for a fit"
    frequency, sensitivity = relative.readings.frequency_hz[usable], relative.sensitivity[usable]
    u_rel, probability = relative.fit_u_relative[usable], relative.uncertainty.probability
    return fit_sensor(frequency, sensitivity, u_rel=u_rel, probability=probability), None


def _gaps(relative: RelativeReadings, sensor: SensorSpecification) -> Iterator[str]:
    if relative.why_no_reference is not None:
        yield relative.why_no_reference
    elif sensor.flat_pct is not None:
        yield from flat_part_gaps(relative, sensor.flat_hz)


def _undetermined(
    fit: SensorFit | None, reason: str | None, relative: RelativeReadings, worst: JudgedPoint | None
) -> dict[str, str]:
    reasons = dict(fit.undetermined) if fit is not None else {"fit": reason or ""}
    if relative.mean_at_reference is None:
        names = ("reference_sensitivity", "expanded_uncertainty", "k", "reference_deviation_pct")
        reasons |= dict.fromkeys(names, relative.why_no_reference or "")
    if worst is None:
        missing = relative.why_no_reference or "no reading at another frequency than the reference frequency"
        reasons |= dict.fromkeys(("worst_deviation_pct", "worst_frequency_hz"), missing)
    return reasons


def _verdict(points: tuple[JudgedPoint, ...], reference: Decision | None, gaps: tuple[str, ...]) -> str:
    words = [p.decision.verdict for p in points if p.decision is not None]
    words += [] if reference is None else [reference.verdict]
    return worst_verdict([*words, *([NOT_VERIFIED] if gaps or not words else [])])  # type: ignore[list-item]
