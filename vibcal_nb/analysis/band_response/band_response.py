"""Band response of a channel: flat where it must be, rolled off where it must, and what that does to each rotor.

Response relative to the reading at the reference frequency; band model and half-power corners (see ``band_model``).
Limits: a flat part, limits at the corners, a free table. The limits at the corners commonly are -4 to -2 dB (common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from vibcal_nb.analysis.band_response.band_model import BandFit, fit_band
from vibcal_nb.analysis.band_response.corner import Corner
from vibcal_nb.analysis.band_response.response_at import ResponseAt, find_response
from vibcal_nb.analysis.gates.gate import MODEL, Gate
from vibcal_nb.analysis.gates.gates import gated
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.phase.phase import PhaseResult, assess_phase, reasons_of
from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay, hidden_by_display
from vibcal_nb.analysis.readings.errors.setup_drift import SetUpDrift
from vibcal_nb.analysis.readings.flat_part import flat_part_gaps
from vibcal_nb.analysis.readings.judged_point import JudgedPoint, judge, judged_points, state_rule
from vibcal_nb.analysis.readings.over_frequency import over_frequency
from vibcal_nb.analysis.readings.point_limits import in_flat_part, point_limits
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.relative_response import RelativeReadings, relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Judged, Result, StatedSensitivity
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict, whole_verdict
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.model.asset import BandSpecification, Rotor
from vibcal_nb.model.band_requirements import Requirement, requirements_of
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BUTTERWORTH
from vibcal_nb.problems import NothingToAnalyse

CORNER_KEYS = {
    "hz": "corner_{}_hz",
    "source": "corner_{}_source",
    "interval_hz": "corner_{}_interval_hz",
    "interpolated_hz": "corner_{}_interpolated_hz",
    "interpolated_interval_hz": "corner_{}_interpolated_interval_hz",
    "order": "order_{}",
}
"""Field of a corner, and its key among the quantities of a result: the side stands for the braces."""


@dataclass(frozen=True, kw_only=True)
class JudgedRequirement:
    """A requirement, the response it was held against, and the judgement (None: not verified)."""

    requirement: Requirement
    response: ResponseAt
    decision: Decision | None


@dataclass(frozen=True, kw_only=True)
class RotorResponse:
    """What the band filter leaves of a rotor's running-speed vibration."""

    rotor: Rotor
    response: ResponseAt


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BandResponseResult(Result):
    """Band response of one channel in one condition, with the case it was made from.

    ``points`` hold the response in % (``value_pct``). ``fit`` is None where no model can be fitted; ``corners``, by
    ``low`` and ``high``, say why then. ``flat_worst`` is the reading in the flat part farthest from 100 %.
    ``phase`` is what the phases show, None where none was read and none is stated.
    """

    case: Case
    uncertainty: ReadingUncertainty
    rule: DecisionRule
    specification: BandSpecification
    reference_sensitivity: float | None
    reference_budget: Budget | None
    points: tuple[JudgedPoint, ...]
    fit: BandFit | None
    corners: Mapping[str, Corner]
    flat_worst: JudgedPoint | None
    requirements: tuple[JudgedRequirement, ...]
    rotors: tuple[RotorResponse, ...]
    undetermined: Mapping[str, str]
    not_verified: tuple[str, ...]
    verdict: Verdict
    phase: PhaseResult | None = None
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "band model fitted to the logarithm of the sensitivity; half-power corners"

    @property
    def adequate(self) -> bool | None:
        """Whether the band model describes the readings; None where none was fitted."""
        return None if self.fit is None else self.fit.adequate

    @property
    def without_model(self) -> tuple[JudgedRequirement, ...]:
        """The limits that hang on the band model where it does not describe the readings: they are not verified."""
        return tuple(item for item in self.requirements if item.response.lacks_model)

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings."""
        return hidden_by_display(self.uncertainty)

    def set_up_drift(self) -> SetUpDrift | None:
        """How the set-up drifted from the first to the last reading at the reference frequency."""
        reference_hz = self.specification.reference_hz
        return relative_readings(self.uncertainty.readings, self.uncertainty, reference_hz=reference_hz).set_up_drift

    def judged(self) -> Iterator[Judged]:
        """Yield the decisions on readings, requirements and phase."""
        yield from judged_points(self.points)
        for item in self.requirements:
            if item.decision is not None:
                yield f"{item.requirement.name} at {item.requirement.frequency_hz:.5g} Hz", item.decision
        if self.phase is not None:
            yield from self.phase.decisions

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the sensitivity at the reference frequency, for which a band response has no limit."""
        if self.reference_sensitivity is not None and self.reference_budget is not None:
            yield StatedSensitivity(
                quantity=f"band reference sensitivity at {self.specification.reference_hz:.4g} Hz",
                frequency_hz=self.specification.reference_hz,
                deviation_pct=100.0 * (self.reference_sensitivity / self.case.nominal_sensitivity - 1.0),
                budget=self.reference_budget,
                tolerance_pct=None,
            )


@refusing
def analyse_band_response(case: Case) -> BandResponseResult:
    """Analyse the band-response readings of a case.

    Raises ``NothingToAnalyse`` with a sentence where the channel states no band. Without a reading at the
    reference frequency nothing can be related to it and the verdict is ``not verified``.
    """
    band = case.channel.band
    if band is None:
        raise NothingToAnalyse(
            f"Channel {case.channel.tag} has no [band] table in asset.toml; add it to judge its band."
        )
    readings = scale_readings(case)
    uncertainty = assess_readings(case, readings)
    rule = state_rule(case.visit.decision)
    relative = relative_readings(readings, uncertainty, reference_hz=band.reference_hz)
    required = tuple(requirements_of(band))
    points = tuple(_judge_point(relative, band, required, rule, i) for i in range(len(readings)))
    fit, reason = _fit(relative, band)
    none = Corner(why=dict.fromkeys(CORNER_KEYS, reason or ""), damping=Estimate(why=reason))
    corners = {"low": none, "high": none} if fit is None else fit.corners
    requirements = tuple(_judged_requirement(item, relative, points, fit, rule) for item in required)
    phase = assess_phase(case, case.channel.phase, rule, probability=uncertainty.probability)
    gaps = (*_gaps(relative, band, requirements), *(() if phase is None else phase.gaps))
    result = BandResponseResult(
        case=case,
        uncertainty=uncertainty,
        rule=rule,
        specification=band,
        reference_sensitivity=relative.reference_sensitivity,
        reference_budget=_reference_budget(relative, case),
        points=points,
        fit=fit,
        corners=corners,
        flat_worst=_flat_worst(points, band),
        requirements=requirements,
        rotors=tuple(
            RotorResponse(rotor=rotor, response=find_response(rotor.speed_hz, relative, points, fit))
            for rotor in case.channel.rotors
        ),
        undetermined=_undetermined(fit, corners, relative, band, points) | reasons_of(phase),
        not_verified=gaps,
        verdict=_verdict(points, requirements, phase, gaps),
        phase=phase,
    )
    return gated(result, readings, analyse=analyse_band_response, shown=_model_gates(result))


def _model_gates(result: BandResponseResult) -> Iterator[Gate]:
    """The gates of limits that hang on a model which does not describe the readings."""
    for item in result.without_model:
        hz = item.requirement.frequency_hz
        yield Gate(
            gate=MODEL,
            found=f"{item.requirement.name}: {item.response.reason}",
            remedy=f"read the response at {hz:g} Hz",
            frequency_hz=hz,
        )


def _judge_point(
    relative: RelativeReadings, band: BandSpecification, required: tuple[Requirement, ...], rule: DecisionRule, i: int
) -> JudgedPoint:
    value = relative.ratio_pct(i)
    expanded = None if value is None else relative.ratio_expanded(i, value)
    lower, upper = point_limits(float(relative.readings.frequency_hz[i]), band, required)
    judged = relative.readings.used[i] and not relative.at_reference[i] and value is not None and expanded
    return JudgedPoint(
        reading=relative.readings.readings[i],
        x=float(relative.readings.x[i]),
        y=float(relative.readings.y[i]),
        sensitivity=relative.sensitivity_of(i),
        value_pct=value,
        expanded=expanded,
        lower_pct=lower,
        upper_pct=upper,
        common_u_pct=None if value is None else relative.ratio_common_pct(value),
        failure_signal=bool(relative.readings.failure_signal[i]),
        decision=judge(value, expanded, rule, lower=lower, upper=upper) if judged else None,  # type: ignore[arg-type]
    )


def _fit(relative: RelativeReadings, band: BandSpecification) -> tuple[BandFit | None, str | None]:
    if relative.why_no_reference is not None:
        return None, relative.why_no_reference
    swept = over_frequency(relative)
    if swept.frequency_hz.size < 3:
        return None, f"usable readings at {swept.frequency_hz.size} frequencies, where a band model needs at least 3"
    fit = fit_band(
        swept.frequency_hz,
        swept.sensitivity,
        u_rel=swept.errors,
        reference_hz=relative.reference_hz,
        is_butterworth=band.filter == BUTTERWORTH,
        errors_nu=swept.errors_nu,
        probability=relative.uncertainty.probability,
    )
    return fit, None


def _judged_requirement(
    requirement: Requirement,
    relative: RelativeReadings,
    points: tuple[JudgedPoint, ...],
    fit: BandFit | None,
    rule: DecisionRule,
) -> JudgedRequirement:
    response = find_response(requirement.frequency_hz, relative, points, fit)
    decision = None
    if response.response_pct is not None and response.expanded is not None:
        decision = judge(
            response.response_pct, response.expanded, rule, lower=requirement.min_pct, upper=requirement.max_pct
        )
    return JudgedRequirement(requirement=requirement, response=response, decision=decision)


def response_at(result: BandResponseResult, frequency_hz: float) -> ResponseAt:
    """Return the response of a result at a frequency, re the reference: read there, or by the fitted model."""
    readings = scale_readings(result.case)
    relative = relative_readings(readings, result.uncertainty, reference_hz=result.specification.reference_hz)
    return find_response(frequency_hz, relative, result.points, result.fit)


def _reference_budget(relative: RelativeReadings, case: Case) -> Budget | None:
    if relative.reference_sensitivity is None:
        return None
    return relative.reference_budget(nominal=case.nominal_sensitivity)


def _flat_worst(points: tuple[JudgedPoint, ...], band: BandSpecification) -> JudgedPoint | None:
    inside = [p for p in points if p.decision is not None and in_flat_part(p.reading.frequency_hz, band)]
    return max(inside, key=lambda p: abs((p.value_pct or 0.0) - 100.0), default=None)


def _gaps(
    relative: RelativeReadings, band: BandSpecification, requirements: tuple[JudgedRequirement, ...]
) -> Iterator[str]:
    """What the readings leave open of what the channel is asked for."""
    if relative.why_no_reference is not None:
        yield f"{relative.why_no_reference}, so no response can be stated"
        return
    if band.flat_hz is not None and band.flat_pct is not None:
        yield from flat_part_gaps(relative, band.flat_hz)
    elif not requirements:
        yield "no limit for the band response is stated in asset.toml"
    for item in requirements:
        if item.decision is None and not item.response.lacks_model:
            yield f"{item.requirement.name}: {item.response.reason}"


def _corner_reasons(corners: Mapping[str, Corner]) -> Iterator[tuple[str, str]]:
    """Why quantities of the corners are null, by their keys."""
    for side, corner in corners.items():
        yield from (
            (name.format(side), corner.why[field]) for field, name in CORNER_KEYS.items() if field in corner.why
        )
        if corner.damping.why is not None:
            yield from ((name, corner.damping.why) for name in (f"damping_{side}", f"damping_{side}_interval"))


def _undetermined(
    fit: BandFit | None,
    corners: Mapping[str, Corner],
    relative: RelativeReadings,
    band: BandSpecification,
    points: tuple[JudgedPoint, ...],
) -> dict[str, str]:
    reasons = dict(_corner_reasons(corners))
    if fit is None:
        reasons["adequate"] = corners["low"].why["hz"]
    if relative.why_no_reference is not None:
        reasons |= dict.fromkeys(("reference_sensitivity", "flat_worst_pct"), relative.why_no_reference)
    elif _flat_worst(points, band) is None:
        stated = band.flat_hz is not None and band.flat_pct is not None
        reasons["flat_worst_pct"] = "no reading in it to judge" if stated else "no flat part is stated in asset.toml"
    return reasons


def _verdict(
    points: tuple[JudgedPoint, ...],
    requirements: tuple[JudgedRequirement, ...],
    phase: PhaseResult | None,
    gaps: tuple[str, ...],
) -> Verdict:
    words = [point.verdict for point in points]
    words += [item.decision.verdict for item in requirements if item.decision is not None]
    words += [] if phase is None else [decision.verdict for _, decision, _ in phase.decisions]
    return whole_verdict(words, gaps)
