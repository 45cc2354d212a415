"""A sensor alone in words: its sensitivity, how flat it is, and the physics that its readings fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from vibcal_nb.analysis.judged_quantity import JudgedQuantity
from vibcal_nb.analysis.sensor_alone.low_end import SECOND_ORDER, UNKNOWN
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.phase.phase_words import phase_findings, phase_remarks
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.judged_values import value_text
from vibcal_nb.display.writing.names import capital, listed
from vibcal_nb.display.writing.numbers import (
    coverage_factor_text,
    frequency,
    percent_with_uncertainty,
    sensitivity_unit,
    true_minus,
    with_interval,
    with_uncertainty,
)


def word_sensor_alone(result: SensorAloneResult) -> Wording:
    """Say what the test of a sensor alone found."""
    phases = phase_findings(result.phase, of="The sensor")
    findings = [*phases, *_reference_finding(result), *_flatness_finding(result), *_second_order_findings(result)]
    return Wording(
        findings=failures_first(findings),
        gaps=tuple(capital(text) for text in result.not_verified),
        remarks=(*_physics_remarks(result), *phase_remarks(result.phase)),
    )


def sensitivity_and_deviation(result: SensorAloneResult) -> tuple[str, str] | None:
    """Write the sensitivity with its U and k, and the deviation from nominal with its U; None where undetermined."""
    reference = result.reference
    if reference is None:
        return None
    sensor, expanded = result.specification, reference.expanded
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    relative = replace(expanded, U=expanded.U * 100.0 / abs(sensor.nominal_sensitivity))
    return (
        f"{with_uncertainty(reference.sensitivity, expanded)} {unit} ({coverage_factor_text(expanded)})",
        percent_with_uncertainty(reference.deviation_pct, relative),
    )


def _reference_finding(result: SensorAloneResult) -> Iterator[Finding]:
    found = sensitivity_and_deviation(result)
    if found is None or result.reference is None:
        return
    sensitivity, deviation = found
    sensor = result.specification
    text = (
        f"At {frequency(sensor.reference_hz)} the sensitivity is {sensitivity}, {deviation} from nominal "
        f"(limit ±{sensor.tolerance_pct:g} %)"
    )
    yield is_against(result.reference.decision), text


def _flatness_finding(result: SensorAloneResult) -> Iterator[Finding]:
    worst = result.worst_point
    if worst is None or worst.value_pct is None:
        return
    bad = [p for p in result.points if is_against(p.decision)]
    limit = f" (limit ±{result.specification.flat_pct:g} %)" if worst.upper_pct is not None else ""
    text = (
        f"Elsewhere the sensitivity departs from that by at most {value_text(worst)}, "
        f"at {frequency(worst.reading.frequency_hz)}{limit}"
    )
    if len(bad) > 1:
        text += f"; outside at {listed([frequency(p.reading.frequency_hz) for p in bad])}"
    yield bool(bad), text


def _second_order_findings(result: SensorAloneResult) -> Iterator[Finding]:
    for item in (*result.second_order, *(() if result.hot is None else result.hot.judged)):
        if item.decision is not None:
            low, high = item.limits
            allowed = true_minus(f"{low:g} to {high:g} {item.unit}".rstrip())
            yield is_against(item.decision), f"The {item.name} is {quantity_text(item)} (allowed {allowed})"


def quantity_text(item: JudgedQuantity) -> str:
    """Write a quantity of a second-order sensor with its U and its unit; ``undetermined`` where it is."""
    if item.estimate.value is None or item.estimate.expanded is None:
        return "undetermined"
    return f"{with_uncertainty(item.estimate.value, item.estimate.expanded)} {item.unit}".rstrip()


def _physics_remarks(result: SensorAloneResult) -> Iterator[str]:
    fit, probability = result.fit, result.uncertainty.probability
    if fit is None:
        return
    if fit.inadequate is not None:
        yield capital(fit.inadequate)
        return
    physics = fit.physics
    if physics.resonance.value is not None and physics.resonance.interval is not None:
        shown = _in_hz(physics.resonance.value, physics.resonance.interval, probability)
        yield f"The rise towards high frequencies fits a resonance at {shown}"
    if physics.leak.value is not None and physics.leak.interval is not None:
        shown = _in_hz(physics.leak.value, physics.leak.interval, probability)
        yield (
            f"The droop towards low frequencies fits a time constant with its corner at {shown}, such as a leaky "
            "cable or connector"
        )
    yield from _second_order_remarks(result)


def _second_order_remarks(result: SensorAloneResult) -> Iterator[str]:
    """What the low end of a sensor shows that is, or may be, of second order."""
    fit, probability = result.fit, result.uncertainty.probability
    if fit is None or fit.low_end not in (SECOND_ORDER, UNKNOWN):
        return
    natural, damping = fit.physics.natural_frequency, fit.physics.damping_ratio
    if fit.low_end == UNKNOWN:
        yield capital(natural.why or "")
    elif natural.value is None or natural.interval is None or damping.value is None or damping.expanded is None:
        yield capital(natural.why or damping.why or "")
    elif not result.second_order:
        shown = _in_hz(natural.value, natural.interval, probability)
        yield (
            f"The droop towards low frequencies is that of a second-order sensor: natural frequency {shown}, damping "
            f"ratio {with_uncertainty(damping.value, damping.expanded)}"
        )


def _in_hz(value: float, interval: tuple[float, float], probability: float) -> str:
    scale, unit = (1000.0, "kHz") if value >= 1000.0 else (1.0, "Hz")
    low, high = interval
    return with_interval(value / scale, (low / scale, high / scale), unit=unit, probability=probability)
