"""What would cover a point that a shaker does not reach: another shaker, or electrical injection."""

from __future__ import annotations

from collections.abc import Sequence

from vibcal_nb.analysis.planning.shaker import find_reach, force_for
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.units import Unit, convert


def reach_of(
    shaker: Shaker, *, frequency_hz: float, moving_mass_kg: float, overhang_mm: float, unit: Unit
) -> tuple[float, str]:
    """Return the level in ``unit`` that a shaker reaches at one frequency, and what limits it there."""
    reach = find_reach(shaker, frequency_hz=frequency_hz, moving_mass_kg=moving_mass_kg, overhang_mm=overhang_mm)
    return float(reach.level(unit)[0]), reach.limited_by[0]


def larger_shaker(
    shaker: Shaker,
    others: Sequence[Shaker],
    *,
    frequency_hz: float,
    moving_mass_kg: float,
    overhang_mm: float,
    level: float,
    least: float,
    unit: Unit,
) -> str:
    """Say which of the ``others`` reaches at least ``least`` with this payload, or what a shaker for it needs."""
    carried = {"frequency_hz": frequency_hz, "moving_mass_kg": moving_mass_kg, "overhang_mm": overhang_mm}
    found = [other for other in others if other.payload_kg is None or moving_mass_kg <= other.payload_kg]
    reached = {other.id: reach_of(other, **carried, unit=unit)[0] for other in found}
    enough = [f"{name}, which reaches {value:.3g} {unit}" for name, value in reached.items() if value >= least]
    if enough:
        return f"shaker {' or '.join(enough)}"
    _, limited_by = reach_of(shaker, **carried, unit=unit)
    if limited_by == "frequency range":
        return f"a shaker that works at {frequency_hz:.5g} Hz"
    if limited_by in ("stroke", "velocity"):
        return f"a shaker with a larger {limited_by}"
    if limited_by == "tilting moment":
        return "this shaker with the payload's centre of gravity on its axis"
    force = force_for(level, unit, frequency_hz=frequency_hz, shaker=shaker, moving_mass_kg=moving_mass_kg)
    return f"a larger shaker: {force:.3g} N pk or more with an armature of {shaker.armature_kg or 0.0:g} kg"


def injection(channel: Channel, *, frequency_hz: float, level: float, unit: Unit) -> str:
    """Say what to inject in the sensor's place; it shows the module and the monitor, never the sensor."""
    sensor = channel.sensor
    if sensor is None:
        return "electrical injection in the sensor's place, for module and monitor alone"
    signal = sensor.nominal_sensitivity * convert(level, unit, sensor.input_unit, frequency_hz=frequency_hz)
    return (
        f"electrical injection of {signal:.4g} {sensor.output_unit} in the sensor's place, for module and monitor alone"
    )
