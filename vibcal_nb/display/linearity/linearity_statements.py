"""A linearity test in words: slope, single readings, non-linearity, and what bends or adds to the line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.linearity.zero_error import ZeroError
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.failure_signals import signal_finding
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.judged_values import value_text
from vibcal_nb.display.writing.names import plural
from vibcal_nb.display.writing.numbers import (
    coverage_factor_text,
    frequency,
    number,
    percent,
    percent_with_uncertainty,
    sensitivity_unit,
    with_uncertainty,
)
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.model.case import Case


def word_linearity(result: LinearityResult) -> Wording:
    """Say what a linearity test found."""
    findings: list[Finding] = []
    gaps: list[str] = []
    remarks: list[str] = []
    for item in result.frequencies:
        findings += _findings(item, result.case)
        remarks += _remarks(item, result.case)
        if item.line is None:
            gaps.append(f"At {frequency(item.frequency_hz)}: {item.undetermined['sensitivity']}")
    return Wording(findings=failures_first(findings), gaps=tuple(gaps), remarks=tuple(remarks))


def _findings(item: FrequencyLinearity, case: Case) -> Iterator[Finding]:
    at = f"At {frequency(item.frequency_hz)}"
    yield from signal_finding(item.points, at=at)
    if item.line is not None:
        yield _slope_finding(item.line, case, at)
    if item.zero is not None and (item.zero.decision is not None or not case.channel.tolerance.is_of_reading):
        yield _zero_finding(item.zero, case, at)
    yield from _points_finding(item.points, case, at)
    if item.line is not None and item.line.nonlinearity_decision is not None:
        kind = case.channel.nonlinearity_kind
        value = item.line.nonlinearity_pct[kind]
        shown = percent_with_uncertainty(value, item.line.nonlinearity_expanded, signed=False)
        text = f"{at} the {kind} non-linearity is {shown} of span"
        yield (
            is_against(item.line.nonlinearity_decision),
            f"{text} (limit {case.channel.nonlinearity_pct:g} %)",
        )
    if item.max_applied is not None:
        yield False, f"{at} the highest level was {_level(item.max_applied, case)}{_share(item.max_applied, case)}"


def _slope_finding(line: LineAssessment, case: Case, at: str) -> Finding:
    unit = sensitivity_unit(case.output_unit, case.input_unit)
    text = (
        f"{at} the sensitivity is {with_uncertainty(line.sensitivity, line.expanded)} {unit} "
        f"({coverage_factor_text(line.expanded)}), "
        f"{percent_with_uncertainty(line.deviation_pct, line.deviation_expanded)} from nominal "
        f"(limit ±{case.channel.tolerance_pct:g} %{_at_full_scale(case)})"
    )
    return is_against(line.deviation_decision), text


def _at_full_scale(case: Case) -> str:
    return "" if case.channel.tolerance.is_of_reading else f", as {tolerance_text(case.channel)} allows at full scale"


def _zero_finding(zero: ZeroError, case: Case, at: str) -> Finding:
    shown = percent_with_uncertainty(zero.value_pct, zero.expanded)
    basis = "read at no level" if zero.basis == "zero reading" else "the line's intercept"
    limit = case.channel.zero_tolerance_span_pct
    limited = "" if limit is None else f"; limit ±{limit:g} %"
    return is_against(zero.decision), f"{at} the zero is off by {shown} of span ({basis}{limited})"


def _points_finding(points: tuple[JudgedPoint, ...], case: Case, at: str) -> Iterator[Finding]:
    judged = [p for p in points if p.decision is not None]
    if not judged:
        return
    bad = [p for p in judged if is_against(p.decision)]
    worst = max(bad or judged, key=lambda p: abs(p.value_pct or 0.0) / (p.upper_pct or 1.0))
    where = f"{value_text(worst)} at {_level(worst.x, case)}"
    if bad:
        limit = tolerance_text(case.channel, space="")
        words = f"{len(bad)} of {plural(len(judged), 'reading')} do not plainly pass {limit}"
        if all(p.verdict == FAIL for p in bad):
            words = f"{len(bad)} of {plural(len(judged), 'reading')} lie outside {limit}"
        yield True, f"{at} {words}, the worst {where}"
    else:
        yield False, f"{at} the worst of {plural(len(judged), 'reading')} is {where}"


def _level(x: float, case: Case) -> str:
    return f"{number(x, digits=3)} {case.input_unit.shown}"


def _share(x: float, case: Case) -> str:
    for name, level in (("trip", case.channel.trip), ("alert", case.channel.alert)):
        if level:
            return f", {100.0 * x / level:.0f} % of {name}"
    return ""


def _noise_remark(item: FrequencyLinearity, case: Case) -> Iterator[str]:
    """What an alternating output shows at no level: it meets the signal in quadrature, least of all at the top."""
    if not item.noise_points:
        return
    noise = max(point.y for point in item.noise_points)
    lowest = min((p.y for p in item.points if p.used and not p.tells_noise and p.y > 0.0), default=None)
    at, unit = frequency(item.frequency_hz), case.output_unit.shown
    text = f"At {at} the output at no level is {number(noise, digits=2)} {unit}"
    if lowest is not None and noise > 0.0:
        adds = 100.0 * (math.sqrt(1.0 + (noise / lowest) ** 2) - 1.0)
        text += f", which adds {number(adds, digits=1)} % to the lowest reading if it is noise"
    yield f"{text}; no line goes through it"


def _remarks(item: FrequencyLinearity, case: Case) -> Iterator[str]:
    yield from _noise_remark(item, case)
    line = item.line
    if line is None:
        return
    at = f"At {frequency(item.frequency_hz)}"
    if line.intercept_significant:
        what = "something adds to the signal, such as mains pick-up, a noise floor or a zero error"
        yield (
            f"{at} the line misses zero by {number(line.intercept, digits=2)} {case.output_unit.shown} "
            f"(p = {line.intercept_p_value:.1g}): {what if item.zero is None else 'the zero of the output is off'}"
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
