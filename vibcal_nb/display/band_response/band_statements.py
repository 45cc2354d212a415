"""A band response in words: the flat part, the limits, the corners, and what the band leaves of each rotor."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, JudgedRequirement
from vibcal_nb.analysis.band_response.corner import BY_INTERPOLATION
from vibcal_nb.analysis.band_response.response_at import ResponseAt
from vibcal_nb.display.phase.phase_words import phase_findings, phase_remarks
from vibcal_nb.display.writing.failure_signals import signal_finding
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.judged_values import value_text
from vibcal_nb.display.writing.names import capital
from vibcal_nb.display.writing.numbers import frequency, percent, percent_with_uncertainty, with_interval

SIDES = {"low": "lower", "high": "upper"}


def word_band_response(result: BandResponseResult) -> Wording:
    """Say what a band response found."""
    findings = [*signal_finding(result.points, at="In the band"), *_flat_finding(result)]
    findings += [_requirement_finding(item) for item in result.requirements if item.decision]
    findings += phase_findings(result.phase, of="The channel")
    remarks = [*_model_remarks(result), *_corner_remarks(result), *_rotor_remarks(result), *phase_remarks(result.phase)]
    return Wording(
        findings=failures_first(findings),
        gaps=tuple(capital(text) for text in result.not_verified),
        remarks=tuple(remarks),
    )


def _flat_finding(result: BandResponseResult) -> Iterator[Finding]:
    worst, band = result.flat_worst, result.specification
    if worst is None or worst.value_pct is None or band.flat_hz is None:
        return
    low, high = band.flat_hz
    bad = [p for p in result.points if is_against(p.decision) and low <= p.reading.frequency_hz <= high]
    text = f"From {low:g} to {frequency(high)} the response departs from the reference by at most "
    text += f"{value_text(worst, less=100.0)}, at {frequency(worst.reading.frequency_hz)} (limit ±{band.flat_pct:g} %)"
    yield bool(bad), text


def _requirement_finding(item: JudgedRequirement) -> Finding:
    required, response = item.requirement, item.response
    shown = _response(response, less=0.0, signed=False)
    by = "read" if response.source == "reading" else "by the fitted model"
    text = (
        f"{capital(required.name)}: at {frequency(required.frequency_hz)} the response is "
        f"{shown} {by} (allowed {required.min_pct:.1f} to {required.max_pct:.1f} %)"
    )
    return is_against(item.decision), text


def _response(response: ResponseAt, *, less: float, signed: bool) -> str:
    value = (response.response_pct or 0.0) - less
    if response.expanded is None:
        return percent(value, signed=signed)
    return percent_with_uncertainty(value, response.expanded, signed=signed)


def _model_remarks(result: BandResponseResult) -> Iterator[str]:
    """What is to be known of the band model before anything that may hang on it."""
    fit = result.fit
    if fit is None:
        return
    if fit.inadequate is not None:
        yield f"{capital(fit.inadequate)}: nothing rests on a model, and corners are interpolated between readings"
    elif fit.shape_refuted:
        yield "The channel states Butterworth filters, which the readings contradict: their shape was fitted"


def _corner_remarks(result: BandResponseResult) -> Iterator[str]:
    for side, name in SIDES.items():
        corner = result.corners[side]
        if corner.hz is not None and corner.interval_hz is not None:
            shown = with_interval(corner.hz, corner.interval_hz, unit="Hz", probability=result.uncertainty.probability)
            by = ", interpolated between readings" if corner.source == BY_INTERPOLATION else ""
            yield f"The {name} half-power corner lies at {shown}{by}"
        else:
            yield f"The {name} corner is undetermined: {corner.why['hz']}"


def _rotor_remarks(result: BandResponseResult) -> Iterator[str]:
    for item in result.rotors:
        at = f"{item.rotor.name} at {frequency(item.rotor.speed_hz)}"
        if item.response.response_pct is None:
            yield f"What the band leaves of {at} was not verified: {item.response.reason}"
        else:
            lost = _response(item.response, less=100.0, signed=True)
            yield f"Vibration of {at} is read {lost} re the reference frequency ({item.response.source})"
