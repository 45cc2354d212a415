"""One state of a channel: its limits as a whole, and those of its band, its sensor and what follows the sensor."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vibcal_nb.inputs.asset.contradictory_limits import note_contradictions
from vibcal_nb.inputs.asset.read_phase import read_phase
from vibcal_nb.inputs.asset.read_relays import read_electrical, read_indication, read_relays, short_level
from vibcal_nb.inputs.asset.read_tolerance import read_tolerance, read_zero_tolerance
from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.asset import (
    BandSpecification,
    Channel,
    GapCurveSpecification,
    ModuleSpecification,
    ResponseLimit,
    Rotor,
    SensorSpecification,
    TemperatureLimit,
)
from vibcal_nb.model.names import ALERT, ELECTRICAL, FALLING, INDICATION, TRIP
from vibcal_nb.model.relay.set_points import SetPoint
from vibcal_nb.problems import one_of, shown

_PART = ("input_unit", "output_unit", "nominal_sensitivity", "tolerance_pct")  # of sensor and module alike


def read_channel(table: TomlTable, tag: str, rotors: Mapping[str, tuple[Rotor, ...]]) -> Channel | None:
    """Read what holds of a channel, layers merged; None, with the problems noted, where that says too little."""
    before = len(table.problems)
    fields = table.read("input_unit", "output_unit", "nominal_sensitivity", "location", "output_zero")
    fields |= table.read("nonlinearity_pct", "nonlinearity_kind", "full_scale", "moving_mass_kg")
    fields |= table.read("overhang_mm", "transverse_pct")
    fields |= {
        "tolerance": read_tolerance(table),
        "zero_tolerance_span_pct": read_zero_tolerance(table),
        "rotors": _read_rotor_names(table, rotors),
        "band": _read_band(table),
        "sensor": _read_sensor(table),
        "module": _read_module(table),
        ALERT: short_level(table, ALERT),
        TRIP: short_level(table, TRIP),
        INDICATION: read_indication(table, fields["input_unit"]),
        "relays": read_relays(table, full_scale=fields["full_scale"]),
        ELECTRICAL: read_electrical(table),
        "gap_curve": _read_gap_curve(table),
        "phase": read_phase(table),
    }
    table.note_alternatives()
    _check_chain(table, fields)
    if fields[ALERT] and fields[TRIP] and fields[ALERT] > fields[TRIP] and not _is_falling(fields["relays"], TRIP):
        table.note(ALERT, f"an alert of {fields[ALERT]:g} above the trip of {fields[TRIP]:g}", "swap them")
    return (
        None
        if len(table.problems) > before
        else Channel(tag=tag, kind=table.text("kind") or None, formerly=table.texts("formerly"), **fields)
    )


def _is_falling(relays: tuple[SetPoint, ...], name: str) -> bool:
    return any(relay.name == name and relay.direction == FALLING for relay in relays)


def _check_chain(table: TomlTable, fields: dict[str, Any]) -> None:
    """What the module takes must be what the sensor gives; what integrates has one sensitivity a frequency."""
    sensor, module = fields["sensor"], fields["module"]
    if module is None or sensor is None or fields["input_unit"] is None:
        return
    if module.input_unit.quantity != sensor.output_unit.quantity:
        found = f"an input_unit {module.input_unit.text} where the sensor gives {sensor.output_unit.text}"
        table.note("module", found, "give both in the same quantity")
    elif sensor.input_unit.quantity != fields["input_unit"].quantity and module.reference_hz is None:
        found = f"no reference_hz, though {sensor.input_unit.symbol} becomes {fields['input_unit'].symbol}"
        table.note("module", found, "give the frequency at which its nominal_sensitivity holds")


def _read_rotor_names(table: TomlTable, rotors: Mapping[str, tuple[Rotor, ...]]) -> tuple[Rotor, ...]:
    names = table.texts("rotors")
    for name in names:
        if name not in rotors:
            table.note("rotors", shown(name), one_of(name, rotors))
    return tuple(rotor for name in names if name in rotors for rotor in rotors[name])


def _read_band(channel: TomlTable) -> BandSpecification | None:
    table = channel.table("band")
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read("reference_hz", "flat_hz", "flat_pct", "corner_low_hz", "corner_high_hz", "corner_db", "filter")
    fields["corner_db"] = fields["corner_db"] or (0.0, 0.0)  # refused, and noted
    fields["limits"] = tuple(_read_limits(table))
    table.finish()
    low, high = fields["corner_low_hz"], fields["corner_high_hz"]
    if low and high and low >= high:
        table.note("corner_low_hz", f"{low:g} at or above corner_high_hz {high:g}", "swap them")
    _check_together(table, "flat_hz", "flat_pct")
    if len(table.problems) > before:
        return None
    band = BandSpecification(**fields)
    note_contradictions(table, band)
    return band


def _check_together(table: TomlTable, first: str, second: str) -> None:
    for given, missing in ((first, second), (second, first)):
        if given in table.values and missing not in table.values:
            table.note(missing, "nothing", f"give it, as {given} is given")


def _read_limits(table: TomlTable) -> list[ResponseLimit]:
    limits = []
    for item in table.tables("limits"):
        hz, low, high = item.number("hz"), item.number("min_pct"), item.number("max_pct")
        item.finish()
        if low is not None and high is not None and low >= high:
            item.note("min_pct", f"{low:g} at or above max_pct {high:g}", "swap them")
        elif hz is not None and low is not None and high is not None:
            limits.append(ResponseLimit(frequency_hz=hz, min_pct=low, max_pct=high))
    return limits


def _read_sensor(channel: TomlTable) -> SensorSpecification | None:
    table = channel.table("sensor")
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read(*_PART, "reference_hz", "flat_hz", "flat_pct", "natural_frequency_hz", "damping_ratio")
    fields["phase"] = read_phase(table)
    fields["hot"] = tuple(_read_hot(table))
    table.finish()
    return None if len(table.problems) > before else SensorSpecification(**fields)


def _read_hot(table: TomlTable) -> Iterator[TemperatureLimit]:
    for item in table.tables("hot"):
        fields = item.read("min_pct", "max_pct") | {"temperature_c": item.number("c")}
        item.finish()
        low, high = fields["min_pct"], fields["max_pct"]
        if low is not None and high is not None and low >= high:
            item.note("min_pct", f"{low:g} at or above max_pct {high:g}", "swap them")
        elif None not in fields.values():
            yield TemperatureLimit(**fields)


def _read_module(channel: TomlTable) -> ModuleSpecification | None:
    table = channel.table("module")
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read(*_PART, "reference_hz")
    table.finish()
    return None if len(table.problems) > before else ModuleSpecification(**fields)


def _read_gap_curve(channel: TomlTable) -> GapCurveSpecification | None:
    table = channel.table("gap_curve")
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read(*table.keys.names)
    table.finish()
    if fields["nominal_sensitivity"] == 0.0:
        table.note("nominal_sensitivity", "0", "give the slope of the curve with its sign, such as -7.87")
    unit = fields["output_unit"]
    if unit is not None and unit.detector != "dc":
        table.note("output_unit", shown(unit.text), "give a direct voltage or current, such as 'V dc'")
    return None if len(table.problems) > before else GapCurveSpecification(**fields)
