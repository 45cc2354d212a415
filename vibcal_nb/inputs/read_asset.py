"""asset.toml: an asset, its rotors, and what each of its channels should do."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from vibcal_nb.inputs.contradictory_limits import note_contradictions
from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.tags import check_tags
from vibcal_nb.model.asset import (
    Asset,
    BandSpecification,
    Channel,
    ModuleSpecification,
    ResponseLimit,
    Rotor,
    SensorSpecification,
)
from vibcal_nb.problems import Problem, one_of, shown
from vibcal_nb.units import Unit, hz_from_rpm

KINDS = ("independent", "terminal-based", "zero-based", "least-squares")
_VIBRATION = "a vibration unit with its detector, such as 'mm/s pk'"
_ELECTRICAL = "an electrical unit with its detector, such as 'mV pk' or 'mA dc'"


def read_asset(path: Path, problems: list[Problem]) -> Asset | None:
    """Read an asset file, noting every problem; None where it says too little to be an asset."""
    values = load_toml(path, problems)
    if values is None:
        return None
    before = len(problems)
    root = TomlTable(path.name, values, problems)
    head = root.table("asset", required=True)
    tag = head.text("tag", longest=64) if head else ""
    name = head.text("name", required=False) if head else ""
    if head:
        head.finish()
    rotors = _read_rotors(root)
    channels = _read_channels(root, rotors)
    root.finish()
    check_tags([tag] if tag else [], file=path.name, key="asset.tag", problems=problems)
    given = root.values.get("channels")
    check_tags(given if isinstance(given, dict) else (), file=path.name, key="channels", problems=problems)
    if len(problems) > before:
        return None
    return Asset(tag=tag, name=name, rotors=tuple(rotors.values()), channels=channels)


def _read_rotors(root: TomlTable) -> dict[str, Rotor]:
    table = root.table("rotors")
    if table is None:
        return {}
    rotors = {}
    for name in table.values:
        rotor = table.table(name)
        if rotor is None:
            continue
        table.check_name(name)
        speed_rpm = rotor.number("speed_rpm", required=False, above=0.0, most=1e7)
        speed_hz = rotor.number("speed_hz", required=False, above=0.0, most=1e6)
        rotor.finish()
        if ("speed_rpm" in rotor.values) == ("speed_hz" in rotor.values):
            both = "both speed_rpm and speed_hz" if "speed_hz" in rotor.values else "no speed"
            table.note(name, both, "give one of speed_rpm and speed_hz")
        elif speed_hz is not None or speed_rpm is not None:
            rotors[name] = Rotor(name=name, speed_hz=speed_hz or hz_from_rpm(speed_rpm or 0.0))
    return rotors


def _read_channels(root: TomlTable, rotors: dict[str, Rotor]) -> dict[str, Channel]:
    table = root.table("channels", required=True)
    if table is None:
        return {}
    if not table.values:
        root.note("channels", "no channel", "give at least one table [channels.TAG]")
    channels = {}
    for tag in table.values:
        channel = table.table(tag)
        if channel is not None and isinstance(table.values[tag], dict):
            read = _read_channel(channel, tag, rotors)
            if read is not None:
                channels[tag] = read
    return channels


def _read_channel(table: TomlTable, tag: str, rotors: dict[str, Rotor]) -> Channel | None:
    before = len(table.problems)
    fields: dict[str, Any] = _read_part(table)
    fields |= {
        "location": table.text("location", required=False),
        "rotors": _read_rotor_names(table, rotors),
        "output_zero": table.number("output_zero", required=False) or 0.0,
        "nonlinearity_pct": table.number("nonlinearity_pct", required=False, above=0.0, most=100.0),
        "nonlinearity_kind": table.choice("nonlinearity_kind", KINDS, default="independent"),
        "alert": table.number("alert", required=False, above=0.0),
        "trip": table.number("trip", required=False, above=0.0),
        "full_scale": table.number("full_scale", required=False, above=0.0),
        "moving_mass_kg": table.number("moving_mass_kg", required=False, least=0.0, most=1000.0),
        "band": _read_band(table),
        "sensor": _read_sensor(table),
        "module": _read_module(table),
    }
    table.finish()
    _check_chain(table, fields)
    if fields["alert"] and fields["trip"] and fields["alert"] > fields["trip"]:
        table.note("alert", f"an alert of {fields['alert']:g} above the trip of {fields['trip']:g}", "swap them")
    return None if len(table.problems) > before else Channel(tag=tag, **fields)


def _read_part(table: TomlTable, *, electrical_input: bool = False) -> dict[str, Any]:
    """What channel, sensor and module have alike: units, nominal sensitivity, tolerance."""
    return {
        "input_unit": table.unit(
            "input_unit",
            _is_electrical if electrical_input else (lambda unit: unit.is_vibration),
            _ELECTRICAL if electrical_input else _VIBRATION,
        ),
        "output_unit": table.unit("output_unit", _is_electrical, _ELECTRICAL),
        "nominal_sensitivity": table.number("nominal_sensitivity", above=0.0),
        "tolerance_pct": table.number("tolerance_pct", above=0.0, most=100.0),
    }


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


def _is_electrical(unit: Unit) -> bool:
    return not unit.is_vibration


def _read_rotor_names(table: TomlTable, rotors: dict[str, Rotor]) -> tuple[Rotor, ...]:
    names = table.take("rotors", required=False, expected="")
    if names is None:
        return ()
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        table.note("rotors", shown(names), "give a list of names from [rotors], such as ['turbine']")
        return ()
    for name in names:
        if name not in rotors:
            table.note("rotors", shown(name), one_of(name, rotors))
    return tuple(rotors[name] for name in dict.fromkeys(names) if name in rotors)


def _read_band(channel: TomlTable) -> BandSpecification | None:
    table = channel.table("band")
    if table is None:
        return None
    before = len(table.problems)
    fields = {
        "reference_hz": table.number("reference_hz", above=0.0),
        "flat_hz": table.pair("flat_hz", above=0.0),
        "flat_pct": table.number("flat_pct", required=False, above=0.0, most=100.0),
        "corner_low_hz": table.number("corner_low_hz", required=False, above=0.0),
        "corner_high_hz": table.number("corner_high_hz", required=False, above=0.0),
        "corner_db": table.pair("corner_db") or (-4.0, -2.0),
        "limits": tuple(_read_limits(table)),
    }
    table.finish()
    low, high = fields["corner_low_hz"], fields["corner_high_hz"]
    if low and high and low >= high:  # type: ignore[operator]
        table.note("corner_low_hz", f"{low:g} at or above corner_high_hz {high:g}", "swap them")
    _check_together(table, "flat_hz", "flat_pct")
    if len(table.problems) > before:
        return None
    band = BandSpecification(**fields)  # type: ignore[arg-type]
    note_contradictions(table, band)
    return band


def _check_together(table: TomlTable, first: str, second: str) -> None:
    for given, missing in ((first, second), (second, first)):
        if given in table.values and missing not in table.values:
            table.note(missing, "nothing", f"give it, as {given} is given")


def _read_limits(table: TomlTable) -> list[ResponseLimit]:
    limits = []
    for item in table.tables("limits"):
        hz = item.number("hz", above=0.0)
        low = item.number("min_pct", least=0.0)
        high = item.number("max_pct", above=0.0)
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
    fields = _read_part(table)
    fields["reference_hz"] = table.number("reference_hz", above=0.0)
    fields["flat_hz"] = table.pair("flat_hz", above=0.0)
    fields["flat_pct"] = table.number("flat_pct", required=False, above=0.0, most=100.0)
    table.finish()
    return None if len(table.problems) > before else SensorSpecification(**fields)


def _read_module(channel: TomlTable) -> ModuleSpecification | None:
    table = channel.table("module")
    if table is None:
        return None
    before = len(table.problems)
    fields = _read_part(table, electrical_input=True)
    fields["reference_hz"] = table.number("reference_hz", required=False, above=0.0)
    table.finish()
    return None if len(table.problems) > before else ModuleSpecification(**fields)
