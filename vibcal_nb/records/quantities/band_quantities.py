"""Band response as records know it: its quantities."""

from __future__ import annotations

import math
from typing import Any, TypedDict, cast

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, analyse_band_response
from vibcal_nb.analysis.band_response.corner import Corner
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.model.names import BAND_RESPONSE
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import (
    PointEntry,
    TogetherEntry,
    expanded_quantities,
    interval_quantity,
    point_quantities,
    together_quantities,
)
from vibcal_nb.records.quantities.parts.phase_quantities import PhaseEntry, phase_quantities


class BandPointEntry(PointEntry):
    """One reading of a band response."""

    response_pct: float | None
    """Sensitivity re that at the reference frequency, %."""
    response_db: float | None
    """The same in dB; null where nothing came out."""


class RotorEntry(TypedDict):
    """What the band filter leaves of a rotor's running-speed vibration."""

    rotor: str
    """Name of the rotor."""
    frequency_hz: float | None
    """Its running speed, Hz."""
    response_pct: float | None
    """Response there, % of that at the reference frequency."""
    expanded_uncertainty_pct: float | None
    """U of that response, %."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where infinitely many."""


class BandEntry(TypedDict):
    """A band response; sensitivities in output unit per input unit of the channel."""

    reference_sensitivity: float | None
    """Sensitivity at the reference frequency."""
    corner_low_hz: float | None
    """Lower half-power corner, Hz: of the fitted model, or interpolated where no model describes the readings."""
    corner_low_source: str | None
    """``fitted model``, re its plateau, or ``interpolated``, re the reading at the reference frequency."""
    corner_low_interval_hz: list[float | None] | None
    """Interval of the corner for the stated coverage, Hz."""
    corner_low_interpolated_hz: float | None
    """The same corner without a model: interpolated between readings, Hz."""
    corner_low_interpolated_interval_hz: list[float | None] | None
    """Interval of the interpolated corner, with what interpolation leaves open, Hz."""
    corner_low_expanded_uncertainty_pct: float | None
    """U of the corner, % of it."""
    corner_low_k: float | None
    """Coverage factor of that U."""
    corner_low_effective_degrees_of_freedom: float | None
    """Degrees of freedom of that U; null where infinitely many."""
    order_low: int | None
    """Order of the filter at that side."""
    damping_low: float | None
    """Damping ratio of a second-order filter at that side."""
    damping_low_interval: list[float | None] | None
    """Interval of the damping ratio for the stated coverage."""
    corner_high_hz: float | None
    """Upper half-power corner, Hz: of the fitted model, or interpolated where no model describes the readings."""
    corner_high_source: str | None
    """``fitted model``, re its plateau, or ``interpolated``, re the reading at the reference frequency."""
    corner_high_interval_hz: list[float | None] | None
    """Interval of the corner for the stated coverage, Hz."""
    corner_high_interpolated_hz: float | None
    """The same corner without a model: interpolated between readings, Hz."""
    corner_high_interpolated_interval_hz: list[float | None] | None
    """Interval of the interpolated corner, with what interpolation leaves open, Hz."""
    corner_high_expanded_uncertainty_pct: float | None
    """U of the corner, % of it."""
    corner_high_k: float | None
    """Coverage factor of that U."""
    corner_high_effective_degrees_of_freedom: float | None
    """Degrees of freedom of that U; null where infinitely many."""
    order_high: int | None
    """Order of the filter at that side."""
    damping_high: float | None
    """Damping ratio of a second-order filter at that side."""
    damping_high_interval: list[float | None] | None
    """Interval of the damping ratio for the stated coverage."""
    adequate: bool | None
    """Whether the band model describes the readings at 0.1 %; null where none was fitted."""
    flat_worst_pct: float | None
    """Deviation of the reading in the flat part farthest from 100 %, %."""
    flat_worst_expanded_uncertainty_pct: float | None
    """U of that deviation, %."""
    flat_worst_k: float | None
    """Coverage factor of that U."""
    flat_worst_effective_degrees_of_freedom: float | None
    """Degrees of freedom of that U; null where infinitely many."""
    together: TogetherEntry | None
    """How likely all judged readings conform at once."""
    points: list[BandPointEntry]
    """The readings."""
    rotors: list[RotorEntry]
    """The response at each rotor's running speed."""
    phase: PhaseEntry | None
    """What the phases show; null where none was read."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: BandResponseResult) -> BandEntry:
    worst = result.flat_worst
    values: dict[str, Any] = {"reference_sensitivity": _plain(result.reference_sensitivity)}
    for side, corner in result.corners.items():
        values |= _corner(side, corner)
    values["adequate"] = result.adequate
    flat = None if worst is None or worst.value_pct is None else worst.value_pct - 100.0
    values["flat_worst_pct"] = _plain(flat)
    flat_expanded = None if worst is None else worst.expanded
    values |= expanded_quantities(flat_expanded, "flat_worst_expanded_uncertainty_pct", prefix="flat_worst_")
    values["together"] = together_quantities(result.points)
    values["points"] = [_point(point) for point in result.points]
    values["rotors"] = [
        {
            "rotor": item.rotor.name,
            "frequency_hz": _plain(item.rotor.speed_hz),
            "response_pct": _plain(item.response.response_pct),
            **expanded_quantities(item.response.expanded, "expanded_uncertainty_pct"),
        }
        for item in result.rotors
    ]
    return cast(BandEntry, values | {"phase": phase_quantities(result.phase), "verdict": result.verdict})


def _corner(side: str, corner: Corner) -> dict[str, Any]:
    name, prefix = f"corner_{side}_expanded_uncertainty_pct", f"corner_{side}_"
    return {
        f"corner_{side}_hz": _plain(corner.hz),
        f"corner_{side}_source": corner.source,
        f"corner_{side}_interval_hz": interval_quantity(corner.interval_hz),
        f"corner_{side}_interpolated_hz": _plain(corner.interpolated_hz),
        f"corner_{side}_interpolated_interval_hz": interval_quantity(corner.interpolated_interval_hz),
        **expanded_quantities(corner.expanded, name, prefix=prefix, scale=100.0),
        f"order_{side}": corner.order,
        f"damping_{side}": _plain(corner.damping.value),
        f"damping_{side}_interval": interval_quantity(corner.damping.interval),
    }


def _point(point: JudgedPoint) -> dict[str, Any]:
    value = point.value_pct
    decibels = None if value is None or value <= 0.0 else _plain(20.0 * math.log10(value / 100.0))
    return {**point_quantities(point), "response_pct": _plain(value), "response_db": decibels}


ANALYSIS = analysis_of_test(
    BAND_RESPONSE,
    analyse_band_response,
    notebook="band_response.ipynb",
    needs="band",
    method="response re the reference frequency; band model by generalised least squares, tested by chi-squared",
    quantities=_quantities,
)
