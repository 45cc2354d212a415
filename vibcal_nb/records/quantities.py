"""A result as the JSON object of the results file and of the record: see DEVELOPERS.md on its keys."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import singledispatch
from typing import TYPE_CHECKING, Any

from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.conformity import Decision
from vibcal_nb.analysis.coverage import Expanded
from vibcal_nb.analysis.drift import DriftResult
from vibcal_nb.analysis.joint_conformity import conformity_of_all
from vibcal_nb.analysis.judged import JudgedPoint
from vibcal_nb.analysis.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.display.statements import Result, compose_statement
from vibcal_nb.records.digits import plain as _plain
from vibcal_nb.records.drift_quantities import drift_quantities
from vibcal_nb.records.null_reasons import reasons_of_uncertainty
from vibcal_nb.records.summary import summarise

if TYPE_CHECKING:
    from vibcal_nb.analysis.channel_verdict import ChannelVerdict

CHANCE_DECIMALS = 6  # of a probability: enough to act on, and the same on every platform


def result_entry(result: Result | DriftResult | ChannelVerdict) -> dict[str, Any]:
    """Return the entry of a result: who, what, verdict, statement, quantities, why some are null, and a summary."""
    case, found = result.case, quantities(result)
    return {
        "channel": case.channel.tag,
        "analysis": case.test,
        "condition": case.condition,
        "verdict": result.verdict,
        "statement": compose_statement(result),
        "quantities": found,
        "undetermined": _undetermined(result, found),
        "summary": summarise(result),
    }


def _undetermined(result: Result | DriftResult | ChannelVerdict, found: Any) -> dict[str, str]:
    if not isinstance(result, LinearityResult):
        return reasons_of_uncertainty(found, result.undetermined)
    return {
        f"{name} at {item['frequency_hz']:g} Hz": reason
        for item in found
        for name, reason in item["undetermined"].items()
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
    }
    names = ("sensitivity", "deviation_pct", "intercept", "u_intercept", "hysteresis_pct", "repeatability_pct")
    values |= {name: None if line is None else _plain(getattr(line, name)) for name in names}
    values["intercept"] = None if line is None else _plain(line.intercept, beside=line.u_intercept)
    values |= _expanded(None if line is None else line.expanded, "expanded_uncertainty")
    values["chi_squared"] = None if line is None else _plain(line.chi_squared.chi_squared, beside=1.0)
    kinds = {} if line is None else {kind: _plain(value, beside=1.0) for kind, value in line.nonlinearity_pct.items()}
    values["nonlinearity_pct"] = kinds or None
    values["nonlinearity_expanded_uncertainty_pct"] = None if line is None else _plain(line.nonlinearity_expanded.U)
    values["bow_pct"] = None if line is None or line.bow is None else _plain(line.bow.bow_pct, beside=1.0)
    values["together"] = _together(item.points)
    return values | {"undetermined": reasons_of_uncertainty(values, item.undetermined)}


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
        **_expanded(point.expanded, "expanded_uncertainty_pct"),
        "min_pct": _plain(point.lower_pct),
        "max_pct": _plain(point.upper_pct),
        "excluded": point.reading.exclude,
        "verdict": point.verdict,
        "probability_of_conformity": _chance(point.decision),
    }


def _expanded(expanded: Expanded | None, name: str, *, prefix: str = "", scale: float = 1.0) -> dict[str, float | None]:
    """U under ``name``, its k and its effective degrees of freedom (null: infinitely many, or no U)."""
    return {
        name: None if expanded is None else _plain(scale * expanded.U),
        f"{prefix}k": None if expanded is None else _plain(expanded.k),
        f"{prefix}effective_degrees_of_freedom": None if expanded is None else _plain(expanded.nu),
    }


def _chance(decision: Decision | None) -> float | None:
    return None if decision is None else round(decision.probability_of_conformity, CHANCE_DECIMALS)


def _together(points: Sequence[JudgedPoint]) -> dict[str, Any] | None:
    """Return how likely the judged points conform all at once, and the bounds whatever they have in common."""
    joint = conformity_of_all(points)
    if joint is None:
        return None
    numbers = {"probability": joint.joint, "no_less_than": joint.lower_bound, "no_more_than": joint.upper_bound}
    return {"points": len(joint.points)} | {name: round(value, CHANCE_DECIMALS) for name, value in numbers.items()}


@quantities.register
def _(result: BandResponseResult) -> dict[str, Any]:
    fit, worst = result.fit, result.flat_worst
    values: dict[str, Any] = {"reference_sensitivity": _plain(result.reference_sensitivity)}
    for side in ("low", "high"):
        values[f"corner_{side}_hz"] = _plain(getattr(fit, f"corner_{side}_hz", None))
        interval = getattr(fit, f"corner_{side}_interval_hz", None)
        values[f"corner_{side}_interval_hz"] = None if interval is None else [_plain(v) for v in interval]
        values[f"corner_{side}_interpolated_hz"] = _plain(getattr(fit, f"corner_{side}_interpolated_hz", None))
        expanded = getattr(fit, f"corner_{side}_expanded", None)
        name, prefix = f"corner_{side}_expanded_uncertainty_pct", f"corner_{side}_"
        values |= _expanded(expanded, name, prefix=prefix, scale=100.0)
        values[f"order_{side}"] = getattr(fit, f"order_{side}", None)
    flat = None if worst is None or worst.value_pct is None else worst.value_pct - 100.0
    values["flat_worst_pct"] = _plain(flat)
    flat_expanded = None if worst is None else worst.expanded
    values |= _expanded(flat_expanded, "flat_worst_expanded_uncertainty_pct", prefix="flat_worst_")
    values["together"] = _together(result.points)
    values["points"] = [_band_point(point) for point in result.points]
    values["rotors"] = [
        {
            "rotor": item.rotor.name,
            "frequency_hz": _plain(item.rotor.speed_hz),
            "response_pct": _plain(item.response.response_pct),
            **_expanded(item.response.expanded, "expanded_uncertainty_pct"),
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
        **_expanded(expanded, "expanded_uncertainty"),
        "reference_deviation_pct": _plain(result.reference_deviation_pct),
        "worst_deviation_pct": None if worst is None else _plain(worst.value_pct),
        **_expanded(
            None if worst is None else worst.expanded,
            "worst_deviation_expanded_uncertainty_pct",
            prefix="worst_deviation_",
        ),
        "together": _together(result.points),
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
