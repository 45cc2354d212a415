"""The verdict of a result in words: why it is so, what was seen besides, and the one sentence of the whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import singledispatch
from typing import TYPE_CHECKING

from vibcal_nb.analysis.band_response import BandResponseResult, JudgedRequirement, ResponseAt
from vibcal_nb.analysis.conformity import Decision, DecisionRule
from vibcal_nb.analysis.drift import DriftResult
from vibcal_nb.analysis.judged import JudgedPoint
from vibcal_nb.analysis.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.linearity_line import LineAssessment
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.display.drift_statements import drift_findings, drift_gaps, drift_remarks
from vibcal_nb.display.wording import (
    coverage_factor_text,
    frequency,
    listed,
    number,
    percent,
    percent_with_uncertainty,
    plural,
    sensitivity_unit,
    subject,
    with_interval,
    with_uncertainty,
)
from vibcal_nb.inputs.case import Case

if TYPE_CHECKING:
    from vibcal_nb.analysis.channel_verdict import ChannelVerdict

Result = LinearityResult | BandResponseResult | SensorAloneResult


@dataclass(frozen=True, kw_only=True)
class Wording:
    """What is said of a result.

    ``findings``: what was measured against which limit, failures first; ``gaps``: what was not verified;
    ``remarks``: what else the readings or the equipment show.
    """

    findings: tuple[str, ...]
    gaps: tuple[str, ...]
    remarks: tuple[str, ...]


def compose_statement(result: Result | DriftResult | ChannelVerdict) -> str:
    """Compose the verdict sentence of a result: the word, then the findings and gaps, then the rule."""
    said = word_result(result)
    parts = [f"{subject(result.case)}: {result.verdict}", *said.findings, *said.gaps, *said.remarks]
    rule = basis_in_short(result)
    return ". ".join(part.rstrip(".") for part in parts) + f". {rule}."


def basis_in_short(result: Result | DriftResult | ChannelVerdict) -> str:
    """Name in a few words what the verdict's word rests on."""
    if isinstance(result, DriftResult):
        settings = result.settings
        return (
            f"Pass: within tolerance with {100.0 * settings.conformity_level:g} % at the end of "
            f"{settings.steps.current_months:g} months"
        )
    return rule_in_short(result.rule)


def rule_in_short(rule: DecisionRule) -> str:
    """Name the decision rule in a few words."""
    if rule.r == 0.0:
        return "Rule: simple acceptance"
    width = "U" if rule.r == 1.0 else f"{rule.r:g} U"
    return f"Rule: guarded acceptance, guard band {width}"


@singledispatch
def word_result(result: Result | DriftResult | ChannelVerdict) -> Wording:
    """Say what a result found, what it leaves open, and what else is to be seen in it."""
    raise TypeError(f"no wording for {type(result).__name__}")


def _bad(decision: Decision | None) -> bool:
    return decision is not None and decision.verdict != "pass"


def _order(findings: list[tuple[bool, str]]) -> tuple[str, ...]:
    """Failures first, each group in its own order."""
    return tuple(text for bad, text in findings if bad) + tuple(text for bad, text in findings if not bad)


# Linearity ---------------------------------------------------------------------------------------------------


@word_result.register
def _(result: LinearityResult) -> Wording:
    findings: list[tuple[bool, str]] = []
    gaps: list[str] = []
    remarks: list[str] = []
    for item in result.frequencies:
        findings += _linearity_findings(item, result.case)
        remarks += _linearity_remarks(item, result.case)
        if item.line is None:
            gaps.append(f"At {frequency(item.frequency_hz)}: {item.undetermined['sensitivity']}")
    for rotor in result.untested_rotors:
        gaps.append(f"Linearity was not tested at the running speed of {rotor.name} ({frequency(rotor.speed_hz)})")
    remarks += result.uncertainty.remarks
    return Wording(findings=_order(findings), gaps=tuple(gaps), remarks=tuple(remarks))


def _linearity_findings(item: FrequencyLinearity, case: Case) -> Iterator[tuple[bool, str]]:
    at = f"At {frequency(item.frequency_hz)}"
    if item.line is not None:
        yield _slope_finding(item.line, case, at)
    yield from _points_finding(item.points, case, at)
    if item.line is not None and item.line.nonlinearity_decision is not None:
        kind = case.channel.nonlinearity_kind
        value = item.line.nonlinearity_pct[kind]
        shown = percent_with_uncertainty(value, item.line.nonlinearity_expanded, signed=False)
        text = f"{at} the {kind} non-linearity is {shown} of span"
        yield (
            _bad(item.line.nonlinearity_decision),
            f"{text} (limit {case.channel.nonlinearity_pct:g} %)",
        )
    if item.max_applied is not None:
        yield False, f"{at} the highest level was {_level(item.max_applied, case)}{_share(item.max_applied, case)}"


def _slope_finding(line: LineAssessment, case: Case, at: str) -> tuple[bool, str]:
    unit = sensitivity_unit(case.output_unit, case.input_unit)
    text = (
        f"{at} the sensitivity is {with_uncertainty(line.sensitivity, line.expanded)} {unit} "
        f"({coverage_factor_text(line.expanded)}), "
        f"{percent_with_uncertainty(line.deviation_pct, line.deviation_expanded)} from nominal "
        f"(limit ±{case.channel.tolerance_pct:g} %)"
    )
    return _bad(line.deviation_decision), text


def _points_finding(points: tuple[JudgedPoint, ...], case: Case, at: str) -> Iterator[tuple[bool, str]]:
    judged = [p for p in points if p.decision is not None]
    if not judged:
        return
    bad = [p for p in judged if _bad(p.decision)]
    worst = max(bad or judged, key=lambda p: abs(p.value_pct or 0.0))
    where = f"{_value(worst)} at {_level(worst.x, case)}"
    if bad:
        words = f"{len(bad)} of {plural(len(judged), 'reading')} do not plainly pass ±{case.channel.tolerance_pct:g} %"
        if all(p.verdict == "fail" for p in bad):
            words = f"{len(bad)} of {plural(len(judged), 'reading')} lie outside ±{case.channel.tolerance_pct:g} %"
        yield True, f"{at} {words}, the worst {where}"
    else:
        yield False, f"{at} the worst of {plural(len(judged), 'reading')} is {where}"


def _value(point: JudgedPoint, *, less: float = 0.0) -> str:
    value = (point.value_pct or 0.0) - less
    return percent(value) if point.expanded is None else percent_with_uncertainty(value, point.expanded)


def _level(x: float, case: Case) -> str:
    return f"{number(x, digits=3)} {case.input_unit.text}"


def _share(x: float, case: Case) -> str:
    for name, level in (("trip", case.channel.trip), ("alert", case.channel.alert)):
        if level:
            return f", {100.0 * x / level:.0f} % of {name}"
    return ""


def _linearity_remarks(item: FrequencyLinearity, case: Case) -> Iterator[str]:
    line = item.line
    if line is None:
        return
    at = f"At {frequency(item.frequency_hz)}"
    if line.intercept_significant:
        yield (
            f"{at} the line misses zero by {number(line.intercept, digits=2)} {case.output_unit.text} "
            f"(p = {line.intercept_p_value:.1g}): something adds to the signal, such as mains pick-up, a noise "
            "floor or a zero error"
        )
    if line.bow is not None and line.bow.significant:
        way = "sags towards the top, as saturation does" if line.bow.bow_pct < 0 else "rises towards the top"
        size = f"{percent(line.bow.bow_pct)} of span, p = {line.bow.p_value:.1g}"
        yield f"{at} the readings bend: the output {way} ({size})"
    if line.widened:
        yield (
            f"{at} the readings scatter about the line more than was stated for them (chi-squared "
            f"{line.chi_squared.chi_squared:.1f}, limit {line.chi_squared.limit:.1f}); the line's uncertainty is "
            "taken from the scatter"
        )


# Band response -----------------------------------------------------------------------------------------------


@word_result.register
def _(result: BandResponseResult) -> Wording:
    findings = [*_flat_finding(result), *(_requirement_finding(item) for item in result.requirements if item.decision)]
    remarks = [*_corner_remarks(result), *_rotor_remarks(result), *result.uncertainty.remarks]
    return Wording(
        findings=_order(findings),
        gaps=tuple(text[0].upper() + text[1:] for text in result.not_verified),
        remarks=tuple(remarks),
    )


def _flat_finding(result: BandResponseResult) -> Iterator[tuple[bool, str]]:
    worst, band = result.flat_worst, result.specification
    if worst is None or worst.value_pct is None or band.flat_hz is None:
        return
    bad = [
        p for p in result.points if _bad(p.decision) and band.flat_hz[0] <= p.reading.frequency_hz <= band.flat_hz[1]
    ]
    low, high = band.flat_hz
    text = f"From {low:g} to {frequency(high)} the response departs from the reference by at most "
    text += f"{_value(worst, less=100.0)}, at {frequency(worst.reading.frequency_hz)} (limit ±{band.flat_pct:g} %)"
    yield bool(bad), text


def _requirement_finding(item: JudgedRequirement) -> tuple[bool, str]:
    required, response = item.requirement, item.response
    shown = _response(response, less=0.0, signed=False)
    by = "read" if response.source == "reading" else "by the fitted model"
    text = (
        f"{required.name[0].upper()}{required.name[1:]}: at {frequency(required.frequency_hz)} the response is "
        f"{shown} {by} (allowed {required.min_pct:.1f} to {required.max_pct:.1f} %)"
    )
    return _bad(item.decision), text


def _response(response: ResponseAt, *, less: float, signed: bool) -> str:
    value = (response.response_pct or 0.0) - less
    if response.expanded is None:
        return percent(value, signed=signed)
    return percent_with_uncertainty(value, response.expanded, signed=signed)


def _corner_remarks(result: BandResponseResult) -> Iterator[str]:
    fit = result.fit
    for side, name in (("low", "lower"), ("high", "upper")):
        corner = getattr(fit, f"corner_{side}_hz", None)
        interval = getattr(fit, f"corner_{side}_interval_hz", None)
        if corner is not None and interval is not None:
            shown = with_interval(corner, interval, unit="Hz", probability=result.uncertainty.probability)
            yield f"The {name} half-power corner lies at {shown}"
        elif f"corner_{side}_hz" in result.undetermined:
            yield f"The {name} corner is undetermined: {result.undetermined[f'corner_{side}_hz']}"


def _rotor_remarks(result: BandResponseResult) -> Iterator[str]:
    for item in result.rotors:
        at = f"{item.rotor.name} at {frequency(item.rotor.speed_hz)}"
        if item.response.response_pct is None:
            yield f"What the band leaves of {at} was not verified: {item.response.reason}"
        else:
            lost = _response(item.response, less=100.0, signed=True)
            yield f"Vibration of {at} is read {lost} re the reference frequency ({item.response.source})"


# Sensor alone ------------------------------------------------------------------------------------------------


@word_result.register
def _(result: SensorAloneResult) -> Wording:
    findings = [*_reference_finding(result), *_flatness_finding(result)]
    remarks = [*_physics_remarks(result), *result.uncertainty.remarks]
    return Wording(
        findings=_order(findings),
        gaps=tuple(text[0].upper() + text[1:] for text in result.not_verified),
        remarks=tuple(remarks),
    )


def _reference_finding(result: SensorAloneResult) -> Iterator[tuple[bool, str]]:
    if result.reference_sensitivity is None or result.expanded is None or result.reference_deviation_pct is None:
        return
    sensor = result.specification
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    relative = result.expanded.U * 100.0 / abs(sensor.nominal_sensitivity)
    deviation = percent_with_uncertainty(result.reference_deviation_pct, replace(result.expanded, U=relative))
    text = (
        f"At {frequency(sensor.reference_hz)} the sensitivity is "
        f"{with_uncertainty(result.reference_sensitivity, result.expanded)} {unit} "
        f"({coverage_factor_text(result.expanded)}), {deviation} from nominal (limit ±{sensor.tolerance_pct:g} %)"
    )
    yield _bad(result.reference_decision), text


def _flatness_finding(result: SensorAloneResult) -> Iterator[tuple[bool, str]]:
    worst = result.worst_point
    if worst is None or worst.value_pct is None:
        return
    bad = [p for p in result.points if _bad(p.decision)]
    limit = f" (limit ±{result.specification.flat_pct:g} %)" if worst.upper_pct is not None else ""
    text = (
        f"Elsewhere the sensitivity departs from that by at most {_value(worst)}, "
        f"at {frequency(worst.reading.frequency_hz)}{limit}"
    )
    if len(bad) > 1:
        text += f"; outside at {listed([frequency(p.reading.frequency_hz) for p in bad])}"
    yield bool(bad), text


def _physics_remarks(result: SensorAloneResult) -> Iterator[str]:
    fit = result.fit
    if fit is None:
        return
    coverage_probability = result.uncertainty.probability
    if fit.fn is not None and fit.fn_interval is not None:
        shown = _in_hz(fit.fn, fit.fn_interval, coverage_probability)
        yield f"The rise towards high frequencies fits a resonance at {shown}"
    if fit.f1 is not None and fit.f1_interval is not None:
        shown = _in_hz(fit.f1, fit.f1_interval, coverage_probability)
        yield (
            f"The droop towards low frequencies fits a time constant with its corner at {shown}, such as a leaky "
            "cable or connector"
        )


def _in_hz(value: float, interval: tuple[float, float], probability: float) -> str:
    scale, unit = (1000.0, "kHz") if value >= 1000.0 else (1.0, "Hz")
    low, high = interval
    return with_interval(value / scale, (low / scale, high / scale), unit=unit, probability=probability)


# Drift -------------------------------------------------------------------------------------------------------


@word_result.register
def _(result: DriftResult) -> Wording:
    return Wording(
        findings=_order(list(drift_findings(result))),
        gaps=tuple(drift_gaps(result)),
        remarks=tuple(drift_remarks(result)),
    )
