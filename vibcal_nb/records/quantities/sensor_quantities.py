"""Sensor alone as records know it: its quantities."""

from __future__ import annotations

from typing import Any, TypedDict, cast

from vibcal_nb.analysis.sensor_alone.hot_sensor import HotSensor
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.analysis.sensor_alone.sensor_model import SensorFit
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.model.names import SENSOR_ALONE
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


class SensorPointEntry(PointEntry):
    """One reading of a sensor alone."""

    deviation_pct: float | None
    """Deviation from the sensitivity at the reference frequency, %."""
    sensitivity: float | None
    """Output over level, in the sensor's units."""


class HotPointEntry(TypedDict):
    """One reading of a heated or cooled sensor."""

    row: int
    """Row of the reading table, as a spreadsheet counts."""
    temperature_c: float | None
    """The sensor's temperature, degrees Celsius."""
    frequency_hz: float | None
    """Frequency of the reading, Hz."""
    sensitivity: float | None
    """Output over input there."""
    change_pct: float | None
    """Change from room temperature at the same frequency, %; null where that was not read."""
    expanded_uncertainty_pct: float | None
    """U of the change, %."""
    excluded: str | None
    """Why the reading is not used; null where it is used."""


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
    low_end: str | None
    """``flat``, ``first order`` (a leak), ``second order`` (a moving coil), or ``unknown``; null without a fit."""
    leak_hz: float | None
    """Corner of a first-order droop, Hz."""
    leak_interval_hz: list[float | None] | None
    """Interval of that corner for the stated coverage, Hz."""
    natural_frequency_hz: float | None
    """Natural frequency of a second-order sensor, Hz."""
    natural_frequency_expanded_uncertainty_hz: float | None
    """U of it, Hz."""
    damping_ratio: float | None
    """Damping ratio of a second-order sensor."""
    damping_ratio_expanded_uncertainty: float | None
    """U of it."""
    resonance_hz: float | None
    """Mounted resonance, Hz."""
    resonance_interval_hz: list[float | None] | None
    """Interval of the resonance for the stated coverage, Hz."""
    points: list[SensorPointEntry]
    """The readings."""
    hot: list[HotPointEntry] | None
    """The sensitivity at other temperatures; null where the sensor was read at room temperature alone."""
    phase: PhaseEntry | None
    """What the phases show; null where none was read."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: SensorAloneResult) -> SensorEntry:
    worst, reference = result.worst_point, result.reference
    values = {
        "reference_sensitivity": None if reference is None else _plain(reference.sensitivity),
        **expanded_quantities(None if reference is None else reference.expanded, "expanded_uncertainty"),
        "reference_deviation_pct": None if reference is None else _plain(reference.deviation_pct),
        "worst_deviation_pct": None if worst is None else _plain(worst.value_pct),
        **expanded_quantities(
            None if worst is None else worst.expanded,
            "worst_deviation_expanded_uncertainty_pct",
            prefix="worst_deviation_",
        ),
        "together": together_quantities(result.points),
        "worst_frequency_hz": None if worst is None else _plain(worst.reading.frequency_hz),
        **_physics(result.fit),
        "points": [
            {
                **point_quantities(point),
                "deviation_pct": _plain(point.value_pct),
                "sensitivity": _plain(point.sensitivity),
            }
            for point in result.points
        ],
        "hot": _hot(result.hot),
        "phase": phase_quantities(result.phase),
        "verdict": result.verdict,
    }
    return cast(SensorEntry, values)


def _hot(hot: HotSensor | None) -> list[HotPointEntry] | None:
    if hot is None or not hot.points:
        return None
    return [
        HotPointEntry(
            row=point.reading.row,
            temperature_c=_plain(point.reading.temperature_c),
            frequency_hz=_plain(point.reading.frequency_hz),
            sensitivity=_plain(point.sensitivity),
            change_pct=_plain(point.change_pct),
            expanded_uncertainty_pct=None if point.expanded is None else _plain(point.expanded.U),
            excluded=point.reading.exclude,
        )
        for point in hot.points
    ]


def _physics(fit: SensorFit | None) -> dict[str, Any]:
    none = Estimate()
    physics = None if fit is None else fit.physics
    leak, natural, damping, resonance = (
        (none, none, none, none)
        if physics is None
        else (physics.leak, physics.natural_frequency, physics.damping_ratio, physics.resonance)
    )
    return {
        "low_end": None if fit is None else fit.low_end,
        "leak_hz": _plain(leak.value),
        "leak_interval_hz": interval_quantity(leak.interval),
        "natural_frequency_hz": _plain(natural.value),
        "natural_frequency_expanded_uncertainty_hz": _plain(None if natural.expanded is None else natural.expanded.U),
        "damping_ratio": _plain(damping.value),
        "damping_ratio_expanded_uncertainty": _plain(None if damping.expanded is None else damping.expanded.U),
        "resonance_hz": _plain(resonance.value),
        "resonance_interval_hz": interval_quantity(resonance.interval),
    }


ANALYSIS = analysis_of_test(
    SENSOR_ALONE,
    analyse_sensor_alone,
    notebook="sensor_alone.ipynb",
    needs="sensor",
    method="comparison with a reference transducer in the sense of ISO 16063-21; deviation from the "
    "sensitivity at the reference frequency",
    quantities=_quantities,
)
