"""What follows a channel's output: its display, its set points with their relays, what it may read at rest."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.inputs.asset.read_tolerance import read_parts
from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.names import ALERT, ELECTRICAL, INDICATION, TRIP
from vibcal_nb.model.relay.electrical import UNITS, ElectricalLimit, parse_electrical_unit
from vibcal_nb.model.relay.set_points import Indication, SetPoint
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.problems import shown
from vibcal_nb.units import Unit


def read_indication(channel: TomlTable, input_unit: Unit | None) -> Indication | None:
    """Read what the monitor shows; None where nothing is stated, or with the problem noted."""
    table = channel.table(INDICATION)
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read("unit", "full_scale", "display_step")
    fields["tolerance"] = _tolerance(table, full_scale=fields["full_scale"])
    table.finish()
    unit, full_scale, step = fields["unit"], fields["full_scale"], fields["display_step"]
    if unit is not None and input_unit is not None and unit.quantity != input_unit.quantity:
        found = f"{unit.text}, though the channel's level is in {input_unit.text}"
        table.note("unit", found, "give a display of the same quantity")
    if step is not None and full_scale is not None and step >= full_scale:
        table.note("display_step", f"{step:g} at or above full_scale {full_scale:g}", "give the step of its last digit")
    return None if len(table.problems) > before else Indication(**fields)


def read_relays(channel: TomlTable, *, full_scale: float | None) -> tuple[SetPoint, ...]:
    """Read the set points that are stated with their relays; problems are noted."""
    found = (_read_relay(channel, name, table, full_scale) for name, table in channel.tables_by_name("set_points"))
    return tuple(relay for relay in found if relay is not None)


def short_level(channel: TomlTable, name: str) -> float | None:
    """The level of alert or trip: in short, or in the table of the set point."""
    short = channel.number(name)
    tables = dict(channel.tables_by_name("set_points"))
    own = tables[name].number("level") if name in tables else None
    if short is not None and own is not None and short != own:
        found = f"{short:g}, and a level of {own:g} in set_points.{name}"
        channel.note(name, found, "give the level once")
    return short if short is not None else own


def _read_relay(channel: TomlTable, name: str, table: TomlTable, full_scale: float | None) -> SetPoint | None:
    before = len(table.problems)
    channel.check_name(name)
    fields = table.read("level", "delay_s", "direction", "latching")
    fields["tolerance"] = _tolerance(table, full_scale=full_scale)
    table.finish()
    if fields["level"] is None and "level" not in table.values:
        fields["level"] = channel.number(name) if name in (ALERT, TRIP) else None
        if fields["level"] is None:
            table.note("level", "nothing", "give the level at which it is set")
    return None if len(table.problems) > before else SetPoint(name=name, **fields)


def _tolerance(table: TomlTable, *, full_scale: float | None) -> Tolerance | None:
    inner = table.table("tolerance")
    if inner is None:
        return None
    found = read_parts(table, inner)
    if found is not None and found.span_pct is not None and full_scale is None:
        table.note("tolerance", "a part of span", "give the channel's full_scale, of which span is counted")
        return None
    return found


def read_electrical(channel: TomlTable) -> tuple[ElectricalLimit, ...]:
    """Read what a channel may read at rest; problems are noted."""
    return tuple(_electrical(channel))


def _electrical(channel: TomlTable) -> Iterator[ElectricalLimit]:
    for item, table in channel.tables_by_name(ELECTRICAL):
        before = len(table.problems)
        channel.check_name(item)
        fields = table.read("unit", "min", "max")
        table.finish()
        unit, lower, upper = parse_electrical_unit(fields["unit"]), fields["min"], fields["max"]
        if unit is None and len(table.problems) == before:
            table.note("unit", shown(fields["unit"]), f"give one of {UNITS}")
        if lower is None and upper is None and len(table.problems) == before:
            table.note("min", "no limit", "give min, max or both")
        if lower is not None and upper is not None and lower >= upper:
            table.note("min", f"{lower:g} at or above max {upper:g}", "swap them")
        if unit is not None and len(table.problems) == before:
            yield ElectricalLimit(item=item, unit=unit.text, lower=lower, upper=upper)
