"""A gap curve in words: its increments, its distance from the line, its linear range, the rest gap, what else shows."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult, GapSensitivity, LineDeviation
from vibcal_nb.analysis.gap_curve.increments import Increment
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.names import capital, plural
from vibcal_nb.display.writing.numbers import (
    number,
    percent_with_uncertainty,
    sensitivity_unit,
    true_minus,
    with_uncertainty,
)
from vibcal_nb.metrology.straight_line.stated_slope import LEAST_SQUARES, MINIMAX
from vibcal_nb.units import convert, parse_gap_unit

_UM = parse_gap_unit("um")


def word_gap_curve(result: GapCurveResult) -> Wording:
    """Say what a gap curve found."""
    findings = [*_sign(result), *_increments(result), *_line(result), *_rest(result), *_average(result)]
    return Wording(
        findings=failures_first(findings),
        gaps=tuple(capital(text) for text in result.not_verified),
        remarks=tuple(_remarks(result)),
    )


def unit_of(result: GapCurveResult) -> str:
    """Write the unit of the sensitivity."""
    found = result.specification
    return sensitivity_unit(found.output_unit, found.input_unit).replace(" dc per ", "/")


def sensitivity_text(found: GapSensitivity, result: GapCurveResult) -> str:
    """Write a sensitivity of the whole curve with its U and unit."""
    expanded = found.expanded.times(abs(result.specification.nominal_sensitivity) / 100.0)
    return f"{with_uncertainty(found.value, expanded)} {unit_of(result)}"


def increment_text(item: Increment, result: GapCurveResult) -> str:
    """Write where an increment lies and how far it is off."""
    return f"{percent_with_uncertainty(item.deviation_pct, item.expanded)}, {between(item, result)}"


def between(item: Increment, result: GapCurveResult) -> str:
    """Write the gaps of an increment, and its way where that is told."""
    way = f", {item.direction}" if item.direction else ""
    return f"{item.low:.4g} to {item.high:.4g} {result.specification.input_unit}{way}"


def line_text(line: LineDeviation) -> str:
    """Write a deviation from the best line with its U."""
    return f"{with_uncertainty(line.value_um, line.expanded)} µm"


def range_text(result: GapCurveResult) -> str:
    """Write the linear range, or that there is none."""
    if result.linear_range is None:
        return f"none: {result.undetermined['linear_range']}"
    low, high = result.linear_range
    return f"{low:.4g} to {high:.4g} {result.specification.input_unit}"


def rest_voltage_text(result: GapCurveResult) -> str:
    """Write the voltage at the rest gap with its U; why there is none otherwise."""
    rest = result.rest
    if rest is None or rest.voltage is None or rest.expanded is None:
        return result.undetermined.get("rest_voltage", "")
    return f"{with_uncertainty(rest.voltage, rest.expanded)} {result.specification.output_unit}"


def backlash_text(result: GapCurveResult) -> str | None:
    """Write what rising and falling gaps differ by, in um; None where they were not both read."""
    found = result.backlash
    if found is None:
        return None
    um = float(convert(1.0, result.specification.input_unit, _UM))
    return f"{with_uncertainty(found.value * um, found.expanded.times(um), signed=True)} µm"


def _sign(result: GapCurveResult) -> Iterator[Finding]:
    if result.is_reversed:
        nominal = number(result.specification.nominal_sensitivity)
        yield (
            True,
            (
                f"The voltage moves the other way than the stated {nominal} {unit_of(result)} says: the sign of "
                "nominal_sensitivity, or the probe's supply, is reversed"
            ),
        )


def _increments(result: GapCurveResult) -> Iterator[Finding]:
    worst, limit = result.worst_increment, result.specification.incremental_pct
    if worst is None:
        return
    bad = [item for item in result.increments if is_against(item.decision)]
    allowed = "" if worst.decision is None or limit is None else f" (limit ±{limit:g} %)"
    text = f"The increment farthest from nominal is off by {increment_text(worst, result)}{allowed}"
    if len(bad) > 1:
        text += f"; {plural(len(bad), 'increment')} lie outside"
    yield bool(bad), text


def _line(result: GapCurveResult) -> Iterator[Finding]:
    line, limit = result.from_line.get(MINIMAX), result.specification.deviation_um
    if line is None:
        return
    allowed = "" if limit is None else f" (limit {limit:g} µm)"
    yield (
        is_against(line.decision),
        f"The readings lie within {line_text(line)} of the best straight line of the nominal slope, minimax{allowed}",
    )


def _rest(result: GapCurveResult) -> Iterator[Finding]:
    rest, found = result.rest, result.specification
    if rest is None:
        return
    if rest.gap_decision is not None:
        inside = "lies in" if not is_against(rest.gap_decision) else "lies outside"
        text = f"The rest gap of {rest.gap:g} {found.input_unit} {inside} the linear range, {range_text(result)}"
        yield is_against(rest.gap_decision), text
    if rest.voltage is not None:
        limits = found.rest_voltage
        allowed = "" if limits is None else true_minus(f" (allowed {limits[0]:g} to {limits[1]:g})")
        text = f"At the rest gap of {rest.gap:g} {found.input_unit} the voltage is {rest_voltage_text(result)}{allowed}"
        yield is_against(rest.voltage_decision), text


def _average(result: GapCurveResult) -> Iterator[Finding]:
    if result.average is not None:
        text = percent_with_uncertainty(result.average.deviation_pct, result.average.expanded)
        yield False, f"The average sensitivity is {sensitivity_text(result.average, result)}, {text} from nominal"


def _remarks(result: GapCurveResult) -> Iterator[str]:
    if not result.specification.target:
        yield "The target's material is not stated, and the slope hangs on it: give target in asset.toml"
    line = result.from_line.get(LEAST_SQUARES)
    if line is not None:
        yield f"By least squares the readings lie within {line_text(line)} of the line, which is another figure"
    found, text = result.backlash, backlash_text(result)
    if found is not None and text is not None:
        more = "more than its uncertainty" if found.significant else "within its uncertainty"
        yield (
            f"Falling gaps give {text} against rising ones, the mean of {plural(found.count, 'gap')}, {more}: each way "
            "has a line of its own, so that no increment holds it"
        )
    yield from _read_twice(result)


def _read_twice(result: GapCurveResult) -> Iterator[str]:
    twice = [members for run in result.all_runs for members in run.members if members.size > 1]
    if twice:
        rows = ", ".join(str(result.case.readings[i].row) for i in twice[0])
        yield (
            f"Gaps were read more than once without direction or repeat (rows {rows}): their mean counts, and a "
            "backlash would not show; give direction"
        )
