"""A result as the JSON object of the results file and of the record: see DEVELOPERS.md on its keys."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING, Any

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.results.statements import Result, compose_statement
from vibcal_nb.records.quantities.band_quantities import band_point_quantities
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.drift_quantities import drift_quantities
from vibcal_nb.records.quantities.judged_points import expanded_quantities, point_quantities, together_quantities
from vibcal_nb.records.quantities.linearity_quantities import linearity_quantities
from vibcal_nb.records.quantities.null_reasons import reasons_of_uncertainty
from vibcal_nb.records.quantities.summary import summarise

if TYPE_CHECKING:
    from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict


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
    return [linearity_quantities(item) for item in result.frequencies]


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
        values |= expanded_quantities(expanded, name, prefix=prefix, scale=100.0)
        values[f"order_{side}"] = getattr(fit, f"order_{side}", None)
    flat = None if worst is None or worst.value_pct is None else worst.value_pct - 100.0
    values["flat_worst_pct"] = _plain(flat)
    flat_expanded = None if worst is None else worst.expanded
    values |= expanded_quantities(flat_expanded, "flat_worst_expanded_uncertainty_pct", prefix="flat_worst_")
    values["together"] = together_quantities(result.points)
    values["points"] = [band_point_quantities(point) for point in result.points]
    values["rotors"] = [
        {
            "rotor": item.rotor.name,
            "frequency_hz": _plain(item.rotor.speed_hz),
            "response_pct": _plain(item.response.response_pct),
            **expanded_quantities(item.response.expanded, "expanded_uncertainty_pct"),
        }
        for item in result.rotors
    ]
    return values | {"verdict": result.verdict}


@quantities.register
def _(result: SensorAloneResult) -> dict[str, Any]:
    worst, expanded = result.worst_point, result.expanded
    return {
        "reference_sensitivity": _plain(result.reference_sensitivity),
        **expanded_quantities(expanded, "expanded_uncertainty"),
        "reference_deviation_pct": _plain(result.reference_deviation_pct),
        "worst_deviation_pct": None if worst is None else _plain(worst.value_pct),
        **expanded_quantities(
            None if worst is None else worst.expanded,
            "worst_deviation_expanded_uncertainty_pct",
            prefix="worst_deviation_",
        ),
        "together": together_quantities(result.points),
        "worst_frequency_hz": None if worst is None else _plain(worst.reading.frequency_hz),
        "points": [
            {
                **point_quantities(point),
                "deviation_pct": _plain(point.value_pct),
                "sensitivity": _plain(point.sensitivity),
            }
            for point in result.points
        ],
        "verdict": result.verdict,
    }


@quantities.register
def _(result: DriftResult) -> dict[str, Any]:
    return drift_quantities(result)
