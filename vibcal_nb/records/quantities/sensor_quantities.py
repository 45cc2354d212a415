"""Sensor alone as records know it: its quantities."""

from __future__ import annotations

from typing import TypedDict, cast

from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.model.names import SENSOR_ALONE
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import (
    PointEntry,
    TogetherEntry,
    expanded_quantities,
    point_quantities,
    together_quantities,
)


class SensorPointEntry(PointEntry):
    """One reading of a sensor alone."""

    deviation_pct: float | None
    """Deviation from the sensitivity at the reference frequency, %."""
    sensitivity: float | None
    """Output over level, in the sensor's units."""


class SensorEntry(TypedDict):
    """A sensor alone; sensitivities in output unit per input unit of the sensor."""

    reference_sensitivity: float | None
    """Sensitivity at the reference frequency."""
    expanded_uncertainty: float | None
    """U of it."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where infinitely many."""
    reference_deviation_pct: float | None
    """Its deviation from nominal, %."""
    worst_deviation_pct: float | None
    """Deviation of the reading farthest from the sensitivity at the reference frequency, %."""
    worst_deviation_expanded_uncertainty_pct: float | None
    """U of that deviation, %."""
    worst_deviation_k: float | None
    """Coverage factor of that U."""
    worst_deviation_effective_degrees_of_freedom: float | None
    """Degrees of freedom of that U; null where infinitely many."""
    together: TogetherEntry | None
    """How likely all judged readings conform at once."""
    worst_frequency_hz: float | None
    """Frequency of that reading, Hz."""
    points: list[SensorPointEntry]
    """The readings."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: SensorAloneResult) -> SensorEntry:
    worst, expanded = result.worst_point, result.expanded
    values = {
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
    return cast(SensorEntry, values)


ANALYSIS = analysis_of_test(
    SENSOR_ALONE,
    analyse_sensor_alone,
    notebook="sensor_alone.ipynb",
    needs="sensor",
    method="comparison with a reference transducer in the sense of ISO 16063-21; deviation from the "
    "sensitivity at the reference frequency",
    quantities=_quantities,
)
