"""A result as the JSON object of the results file and of the record: see DEVELOPERS.md on its keys."""

from __future__ import annotations

import math
from functools import singledispatch
from typing import Any

from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.drift import DriftResult
from vibcal_nb.analysis.judged import JudgedPoint
from vibcal_nb.analysis.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.display.statements import Result, compose_statement
from vibcal_nb.records.digits import plain as _plain
from vibcal_nb.records.drift_quantities import drift_quantities
from vibcal_nb.records.summary import summarise


def result_entry(result: Result | DriftResult) -> dict[str, Any]:
    """Return the entry of a result: who, what, verdict, statement, quantities, why some are null, and a summary."""
    case = result.case
    return {
        "channel": case.channel.tag,
        "analysis": case.test,
        "condition": case.condition,
        "verdict": result.verdict,
        "statement": compose_statement(result),
        "quantities": quantities(result),
        "undetermined": _undetermined(result),
        "summary": summarise(result),
    }


def _undetermined(result: Result | DriftResult) -> dict[str, str]:
    if not isinstance(result, LinearityResult):
        return dict(result.undetermined)
    return {
        f"{name} at {item.frequency_hz:g} Hz": reason
        for item in result.frequencies
        for name, reason in item.undetermined.items()
    }


@singledispatch
def quantities(result: object) -> Any:
    """Return the quantities of a result under the contract's keys."""
    raise TypeError(f"no quantities for {type(result).__name__}")


@quantities.register
def _(result: LinearityResult) -> list[dict[str, Any]]:
    return [_linearity_quantities(item) for item in result.frequencies]


def _linearity_quantities(item: FrequencyLinearity) -> dict[str, Any]:
    line, worst = item.line, item.worst_point
    values: dict[str, Any] = {
        "frequency_hz": _plain(item.frequency_hz),
        "points": [_linearity_point(point) for point in item.points],
        "worst_point_deviation_pct": None if worst is None else _plain(worst.value_pct),
        "max_applied": _plain(item.max_applied),
        "levels": item.levels,
        "verdict": item.verdict,
        "undetermined": dict(item.undetermined),
    }
    names = ("sensitivity", "deviation_pct", "intercept", "u_intercept", "hysteresis_pct", "repeatability_pct")
    values |= {name: None if line is None else _plain(getattr(line, name)) for name in names}
    values["expanded_uncertainty"] = None if line is None else _plain(line.expanded.U)
    values["k"] = None if line is None else _plain(line.expanded.k)
    values["effective_degrees_of_freedom"] = None if line is None else _plain(line.expanded.nu)
    values["chi_squared"] = None if line is None else _plain(line.chi_squared.chi_squared)
    kinds = {} if line is None else {kind: _plain(value) for kind, value in line.nonlinearity_pct.items()}
    values["nonlinearity_pct"] = kinds or None
    values["bow_pct"] = None if line is None or line.bow is None else _plain(line.bow.bow_pct)
    return values


def _linearity_point(point: JudgedPoint) -> dict[str, Any]:
    return {
        **_point(point),
        "deviation_pct": _plain(point.value_pct),
        "applied": _plain(point.x),
        "output": _plain(point.y),
    }


def _point(point: JudgedPoint) -> dict[str, Any]:
    return {
        "row": point.reading.row,
        "frequency_hz": _plain(point.reading.frequency_hz),
        "expanded_uncertainty_pct": None if point.expanded is None else _plain(point.expanded.U),
        "min_pct": _plain(point.lower_pct),
        "max_pct": _plain(point.upper_pct),
        "excluded": point.reading.exclude,
        "verdict": point.verdict,
    }


@quantities.register
def _(result: BandResponseResult) -> dict[str, Any]:
    fit, worst = result.fit, result.flat_worst
    values: dict[str, Any] = {"reference_sensitivity": _plain(result.reference_sensitivity)}
    for side in ("low", "high"):
        values[f"corner_{side}_hz"] = _plain(getattr(fit, f"corner_{side}_hz", None))
        interval = getattr(fit, f"corner_{side}_interval_hz", None)
        values[f"corner_{side}_interval_hz"] = None if interval is None else [_plain(v) for v in interval]
        values[f"corner_{side}_interpolated_hz"] = _plain(getattr(fit, f"corner_{side}_interpolated_hz", None))
        values[f"order_{side}"] = getattr(fit, f"order_{side}", None)
    flat = None if worst is None or worst.value_pct is None else worst.value_pct - 100.0
    values["flat_worst_pct"] = _plain(flat)
    values["points"] = [_band_point(point) for point in result.points]
    values["rotors"] = [
        {
            "rotor": item.rotor.name,
            "frequency_hz": _plain(item.rotor.speed_hz),
            "response_pct": _plain(item.response.response_pct),
        }
        for item in result.rotors
    ]
    return values | {"verdict": result.verdict}


def _band_point(point: JudgedPoint) -> dict[str, Any]:
    value = point.value_pct
    decibels = None if value is None or value <= 0.0 else _plain(20.0 * math.log10(value / 100.0))
    return {**_point(point), "response_pct": _plain(value), "response_db": decibels}


@quantities.register
def _(result: SensorAloneResult) -> dict[str, Any]:
    worst, expanded = result.worst_point, result.expanded
    return {
        "reference_sensitivity": _plain(result.reference_sensitivity),
        "expanded_uncertainty": None if expanded is None else _plain(expanded.U),
        "k": None if expanded is None else _plain(expanded.k),
        "reference_deviation_pct": _plain(result.reference_deviation_pct),
        "worst_deviation_pct": None if worst is None else _plain(worst.value_pct),
        "worst_frequency_hz": None if worst is None else _plain(worst.reading.frequency_hz),
        "points": [
            {**_point(point), "deviation_pct": _plain(point.value_pct), "sensitivity": _plain(point.sensitivity)}
            for point in result.points
        ],
        "verdict": result.verdict,
    }


@quantities.register
def _(result: DriftResult) -> dict[str, Any]:
    return drift_quantities(result)
