"""A sensor alone in words: its sensitivity, how flat it is, and the physics that its readings fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.judged_values import value_text
from vibcal_nb.display.writing.names import capital, listed
from vibcal_nb.display.writing.numbers import (
    coverage_factor_text,
    frequency,
    percent_with_uncertainty,
    sensitivity_unit,
    with_interval,
    with_uncertainty,
)


def word_sensor_alone(result: SensorAloneResult) -> Wording:
    """Say what the test of a sensor alone found."""
    findings = [*_reference_finding(result), *_flatness_finding(result)]
    return Wording(
        findings=failures_first(findings),
        gaps=tuple(capital(text) for text in result.not_verified),
        remarks=tuple(_physics_remarks(result)),
    )


def sensitivity_and_deviation(result: SensorAloneResult) -> tuple[str, str] | None:
    """Write the sensitivity with its U and k, and the deviation from nominal with its U; None where undetermined."""
    if result.reference_sensitivity is None or result.expanded is None or result.reference_deviation_pct is None:
        return None
    sensor, expanded = result.specification, result.expanded
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    relative = replace(expanded, U=expanded.U * 100.0 / abs(sensor.nominal_sensitivity))
    return (
        f"{with_uncertainty(result.reference_sensitivity, expanded)} {unit} ({coverage_factor_text(expanded)})",
        percent_with_uncertainty(result.reference_deviation_pct, relative),
    )


def _reference_finding(result: SensorAloneResult) -> Iterator[Finding]:
    found = sensitivity_and_deviation(result)
    if found is None:
        return
    sensitivity, deviation = found
    sensor = result.specification
    text = (
        f"At {frequency(sensor.reference_hz)} the sensitivity is {sensitivity}, {deviation} from nominal "
        f"(limit ±{sensor.tolerance_pct:g} %)"
    )
    yield is_against(result.reference_decision), text


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
