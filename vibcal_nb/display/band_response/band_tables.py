"""Tables of a band response: the response at each reading, and the corners and errors that follow from it."""

from __future__ import annotations

import math
from dataclasses import replace

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.band_response.corner import BY_INTERPOLATION, Corner
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.band_response.band_statements import SIDES
from vibcal_nb.display.phase.phase_tables import phase_points, phase_rows
from vibcal_nb.display.readings.readings_table import Column, readings_table
from vibcal_nb.display.writing.judged_values import worst_text
from vibcal_nb.display.writing.numbers import (
    NONE,
    coverage,
    coverage_factor_text,
    fixed,
    frequency,
    number,
    percent_with_uncertainty,
    sensitivity_unit,
    uncertainty_text,
    with_interval,
    with_uncertainty,
)
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget


def band_points(result: BandResponseResult) -> tuple[Table, ...]:
    """Each reading's response re the reference reading, in % and dB, the worst first; then phases."""

    def decibels(point: JudgedPoint) -> str:
        value = point.value_pct
        return NONE if value is None or value <= 0.0 else decibel_text(value)

    at = frequency(result.specification.reference_hz)
    table = readings_table(
        result.points,
        caption=f"Readings, from {result.case.table_file}; response re that at {at}",
        value="response, %",
        signed=False,
        further=(Column(heading="dB", text=decibels),),
        note="Readings without a limit are shown and not judged. U of the ratio and limits in %, "
        f"{coverage(result.uncertainty.probability)}.",
    )
    return (table, *phase_points(result.phase, input_unit=result.case.input_unit))


def decibel_text(response_pct: float) -> str:
    """Write a response in % as decibels: 20 log10 of the ratio."""
    return fixed(20.0 * math.log10(response_pct / 100.0))


def band_summary(result: BandResponseResult) -> Table:
    """The figures of the band: reference sensitivity, corners and orders, the worst reading, the rotors' errors."""
    rows = [Row(cells=("reference sensitivity", _reference(result)))]
    for side, name in SIDES.items():
        corner = result.corners[side]
        if corner.source != BY_INTERPOLATION:
            rows.append(Row(cells=(f"{name} corner, fitted", _corner(corner))))
        rows.append(Row(cells=(f"{name} corner, interpolated", _interpolated(result, corner))))
        rows.append(Row(cells=(f"{name} order", _order(corner))))
    if result.flat_worst is not None and result.flat_worst.value_pct is not None:
        worst = result.flat_worst
        rows.append(Row(cells=("worst in the flat part", worst_text(worst, less=100.0))))
    for item in result.rotors:
        at = f"{item.rotor.name}, {frequency(item.rotor.speed_hz)}"
        lost = item.response.response_pct
        text = NOT_VERIFIED
        if lost is not None and item.response.expanded is not None:
            text = f"{percent_with_uncertainty(lost - 100.0, item.response.expanded)} ({item.response.source})"
        rows.append(Row(cells=(f"reading error at {at}", text)))
    rows += phase_rows(result.phase)
    return Table(
        caption="The band",
        headings=("", ""),
        rows=tuple(rows),
        text_columns=(0, 1),
        note="Corners: half power, 70.71 % of the fitted plateau, with their U in %; intervals also hold half power "
        "of the response at the reference frequency. The interpolated corner uses no model: it is where the response "
        "re the reference reading passes 70.71 % between readings, with what interpolation leaves open.",
    )


def _reference(result: BandResponseResult) -> str:
    if result.reference_sensitivity is None:
        return "undetermined"
    unit = sensitivity_unit(result.case.output_unit, result.case.input_unit)
    if result.reference_budget is None:
        return f"{number(result.reference_sensitivity)} {unit}"
    relative = expand_budget(result.reference_budget, probability=result.uncertainty.probability)
    expanded = replace(relative, U=relative.U / 100.0 * abs(result.case.nominal_sensitivity))
    return f"{with_uncertainty(result.reference_sensitivity, expanded)} {unit} ({coverage_factor_text(relative)})"


def _interpolated(result: BandResponseResult, corner: Corner) -> str:
    if corner.interpolated_hz is None or corner.interpolated_interval_hz is None:
        return f"undetermined: {corner.why['interpolated_hz']}"
    probability = result.uncertainty.probability
    return with_interval(corner.interpolated_hz, corner.interpolated_interval_hz, unit="Hz", probability=probability)


def _order(corner: Corner) -> str:
    if corner.order is None:
        return f"undetermined: {corner.why['order']}"
    damping = corner.damping
    if damping.value is None or damping.expanded is None:
        return str(corner.order)
    return f"{corner.order}, damping {with_uncertainty(damping.value, damping.expanded)}"


def _corner(corner: Corner) -> str:
    if corner.hz is None or corner.interval_hz is None or corner.expanded is None:
        return f"undetermined: {corner.why['hz']}"
    shown = with_interval(corner.hz, corner.interval_hz, unit="Hz", probability=corner.expanded.probability)
    return f"{shown}, U = {uncertainty_text(100.0 * corner.expanded.U)} % ({coverage_factor_text(corner.expanded)})"
