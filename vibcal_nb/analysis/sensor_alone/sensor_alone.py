"""The sensor alone: its sensitivity at the reference frequency, and how flat it is from there.

Sensitivity at the reference frequency against nominal; deviation elsewhere **from the sensitivity at the
reference frequency** (common practice, no source). Physics fitted where the readings show it: see
``sensor_model``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import gated
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.judged_quantity import JudgedQuantity, judge_quantity
from vibcal_nb.analysis.phase.known_lead import KnownLead, known_lead
from vibcal_nb.analysis.phase.phase import PhaseResult, assess_phase, reasons_of
from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay, hidden_by_display
from vibcal_nb.analysis.readings.errors.setup_drift import SetUpDrift
from vibcal_nb.analysis.readings.flat_part import FEWEST_FREQUENCIES, flat_part_gaps
from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judge, judged_points, state_rule
from vibcal_nb.analysis.readings.over_frequency import over_frequency
from vibcal_nb.analysis.readings.point_limits import in_flat_part
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.relative_response import RelativeReadings, relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Judged, Result, StatedSensitivity
from vibcal_nb.analysis.sensor_alone.hot_sensor import HotSensor, assess_hot
from vibcal_nb.analysis.sensor_alone.low_end import FIRST_ORDER, SECOND_ORDER
from vibcal_nb.analysis.sensor_alone.sensor_model import SensorFit, fit_sensor
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict, whole_verdict
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.model.asset import PhaseSpecification, SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.problems import NothingToAnalyse


@dataclass(frozen=True, kw_only=True, eq=False)
class JudgedReference:
    """The mean sensitivity at the reference frequency, 0 of a dead sensor, to which nothing can be related.

    ``expanded`` is of ``sensitivity``; ``budget`` of ``deviation_pct``, its deviation from nominal.
    """

    sensitivity: float
    expanded: Expanded
    budget: Budget
    deviation_pct: float
    decision: Decision | None


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SensorAloneResult(Result):
    """The sensor alone in one condition, with the case it was made from.

    ``reference`` is the sensitivity at the reference frequency, None where it was not read. ``points`` hold the
    deviation from it, in % (``value_pct``). ``second_order`` is what the channel states of a second-order sensor.
    ``phase`` is what the phases show, None where none was read and the sensor states none; ``hot`` what it does at
    other temperatures, None where neither a reading nor a limit is there.
    """

    case: Case
    uncertainty: ReadingUncertainty
    rule: DecisionRule
    specification: SensorSpecification
    reference: JudgedReference | None
    points: tuple[JudgedPoint, ...]
    worst_point: JudgedPoint | None
    fit: SensorFit | None
    second_order: tuple[JudgedQuantity, ...]
    undetermined: Mapping[str, str]
    not_verified: tuple[str, ...]
    verdict: Verdict
    phase: PhaseResult | None = None
    hot: HotSensor | None = None
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "deviation from the sensitivity at the reference frequency"

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings."""
        return hidden_by_display(self.uncertainty)

    def set_up_drift(self) -> SetUpDrift | None:
        """How the set-up drifted from the first to the last reading at the reference frequency."""
        reference_hz = self.specification.reference_hz
        return relative_readings(self.uncertainty.readings, self.uncertainty, reference_hz=reference_hz).set_up_drift

    def judged(self) -> Iterator[Judged]:
        """Yield the decisions on readings, the sensitivity at the reference frequency, a second order and a phase."""
        yield from judged_points(self.points)
        if self.reference is not None and self.reference.decision is not None:
            yield f"sensor sensitivity at {self.specification.reference_hz:.4g} Hz", self.reference.decision
        yield from ((item.name, item.decision, item.unit) for item in self.second_order if item.decision is not None)
        if self.phase is not None:
            yield from self.phase.decisions
        for item in () if self.hot is None else self.hot.judged:
            if item.decision is not None:
                yield item.name, item.decision, item.unit

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the sensitivity at the reference frequency."""
        if self.reference is not None:
            yield StatedSensitivity(
                quantity=f"sensor sensitivity at {self.specification.reference_hz:.4g} Hz",
                frequency_hz=self.specification.reference_hz,
                deviation_pct=self.reference.deviation_pct,
                budget=self.reference.budget,
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
    relative = relative_readings(readings, uncertainty, reference_hz=sensor.reference_hz)
    points = tuple(_judge_point(relative, sensor, rule, i) for i in range(len(readings)))
    fit, reason = _fit(relative, sensor)
    second_order = tuple(_judge_second_order(fit, reason, sensor, rule))
    lead = None if fit is None else known_lead(fit.physics.natural_frequency, fit.physics.damping_ratio)
    phase = _assess_phase(case, sensor, rule, lead, uncertainty.probability)
    hot = assess_hot(case, sensor, rule)
    gaps = (
        *_gaps(relative, sensor, second_order),
        *(() if phase is None else phase.gaps),
        *(() if hot is None else hot.gaps),
    )
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
        reference=reference,
        second_order=second_order,
        undetermined=_undetermined(fit, reason, relative, worst) | reasons_of(phase) | _hot_reason(hot),
        not_verified=gaps,
        verdict=_verdict(points, reference, (*second_order, *(() if hot is None else hot.judged)), phase, gaps),
        phase=phase,
        hot=hot,
    )
    return gated(result, readings, analyse=analyse_sensor_alone)


def _assess_phase(
    case: Case, sensor: SensorSpecification, rule: DecisionRule, lead: KnownLead | None, probability: float
) -> PhaseResult | None:
    """What the phases show; a sensor that states none is asked for the polarity of its channel."""
    if sensor.phase is not None:
        return assess_phase(case, sensor.phase, rule, probability=probability, lead=lead)
    of_channel = PhaseSpecification(polarity=None if case.channel.phase is None else case.channel.phase.polarity)
    return assess_phase(case, of_channel, rule, probability=probability, of_channel=True, lead=lead)


def _judge_reference(
    relative: RelativeReadings, sensor: SensorSpecification, rule: DecisionRule
) -> JudgedReference | None:
    sensitivity = relative.mean_at_reference  # of a dead sensor 0, which is judged as well
    if sensitivity is None:
        return None
    budget = relative.reference_budget(nominal=sensor.nominal_sensitivity)
    expanded = expand_budget(budget, probability=relative.uncertainty.probability)
    deviation = 100.0 * (sensitivity / sensor.nominal_sensitivity - 1.0)
    return JudgedReference(
        sensitivity=sensitivity,
        expanded=expanded.times(abs(sensor.nominal_sensitivity) / 100.0),
        budget=budget,
        deviation_pct=deviation,
        decision=judge(deviation, expanded, rule, lower=-sensor.tolerance_pct, upper=sensor.tolerance_pct),
    )


def _judge_second_order(
    fit: SensorFit | None, reason: str | None, sensor: SensorSpecification, rule: DecisionRule
) -> Iterator[JudgedQuantity]:
    """Judge what the channel states of a second-order sensor."""
    missing = Estimate(why=reason)
    shown = (missing, missing) if fit is None else (fit.physics.natural_frequency, fit.physics.damping_ratio)
    stated = (
        ("natural frequency", "Hz", sensor.natural_frequency_hz),
        ("damping ratio", "", sensor.damping_ratio),
    )
    for (name, unit, limits), estimate in zip(stated, shown, strict=True):
        if limits is not None:
            yield judge_quantity(name, unit, limits, estimate, rule)


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


def _fit(relative: RelativeReadings, sensor: SensorSpecification) -> tuple[SensorFit | None, str | None]:
    swept = over_frequency(relative)
    if swept.frequency_hz.size < FEWEST_FREQUENCIES:
        found = f"{swept.frequency_hz.size} {'frequency' if swept.frequency_hz.size == 1 else 'frequencies'}"
        return None, f"usable readings at {found}, where {FEWEST_FREQUENCIES} are needed for a fit"
    fit = fit_sensor(
        swept.frequency_hz,
        swept.sensitivity,
        u_rel=swept.errors,
        low_end=_known_low_end(sensor),
        errors_nu=swept.errors_nu,
        probability=relative.uncertainty.probability,
    )
    return fit, None


def _known_low_end(sensor: SensorSpecification) -> str | None:
    """The kind of low end that a sensor is known to have by what its channel states; None where it may be either.

    A sensor of acceleration, or of charge, is piezoelectric: of first order (common practice, no source).
    """
    if sensor.natural_frequency_hz is not None or sensor.damping_ratio is not None:
        return SECOND_ORDER
    if sensor.input_unit.quantity == "acceleration" or sensor.output_unit.quantity == "charge":
        return FIRST_ORDER
    return None


def _gaps(
    relative: RelativeReadings, sensor: SensorSpecification, second_order: tuple[JudgedQuantity, ...]
) -> Iterator[str]:
    if relative.why_no_reference is not None:
        yield relative.why_no_reference
    elif sensor.flat_pct is not None:
        yield from flat_part_gaps(relative, sensor.flat_hz)
    for item in second_order:
        if item.decision is None:
            yield f"{item.name}: {item.estimate.why}"


def _hot_reason(hot: HotSensor | None) -> dict[str, str]:
    return {"hot": "the sensor was read at room temperature alone"} if hot is None or not hot.points else {}


QUANTITIES = {
    "resonance": ("resonance_hz", "resonance_interval_hz"),
    "leak": ("leak_hz", "leak_interval_hz"),
    "natural_frequency": ("natural_frequency_hz", "natural_frequency_expanded_uncertainty_hz"),
    "damping_ratio": ("damping_ratio", "damping_ratio_expanded_uncertainty"),
}
"""Quantity of the physics, and its keys among the quantities of a result."""


def _undetermined(
    fit: SensorFit | None, reason: str | None, relative: RelativeReadings, worst: JudgedPoint | None
) -> dict[str, str]:
    physics = dict.fromkeys(QUANTITIES, reason or "") if fit is None else fit.physics.reasons()
    reasons = {key: why for name, why in physics.items() for key in QUANTITIES.get(name, ())}
    if fit is None:
        reasons |= dict.fromkeys(("fit", "low_end"), reason or "")
    if relative.mean_at_reference is None:
        names = ("reference_sensitivity", "expanded_uncertainty", "k", "reference_deviation_pct")
        reasons |= dict.fromkeys(names, relative.why_no_reference or "")
    if worst is None:
        missing = relative.why_no_reference or "no reading at another frequency than the reference frequency"
        reasons |= dict.fromkeys(("worst_deviation_pct", "worst_frequency_hz"), missing)
    return reasons


def _verdict(
    points: tuple[JudgedPoint, ...],
    reference: JudgedReference | None,
    second_order: tuple[JudgedQuantity, ...],
    phase: PhaseResult | None,
    gaps: tuple[str, ...],
) -> Verdict:
    decisions = [p.decision for p in points] + [item.decision for item in second_order]
    decisions += [] if reference is None else [reference.decision]
    decisions += [] if phase is None else [decision for _, decision, _ in phase.decisions]
    return whole_verdict((decision.verdict for decision in decisions if decision is not None), gaps)
