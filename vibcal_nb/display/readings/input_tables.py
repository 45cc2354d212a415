"""Tables of what was put in: what a channel or its sensor should do, and the readings as they were typed."""

from __future__ import annotations

from collections.abc import Iterable

from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE, as_typed, frequency, sensitivity_unit, true_minus
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.model.asset import BandSpecification, Channel, SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.items import Item
from vibcal_nb.model.names import BAND_RESPONSE, SENSOR_ALONE
from vibcal_nb.model.readings import Reading


def specification_table(case: Case) -> Table:
    """What the channel (or its sensor) should do, as asset.toml states it, and who measured with what."""
    rows = [*_channel_rows(case.channel)]
    if case.test == BAND_RESPONSE and case.channel.band is not None:
        rows += _band_rows(case.channel.band)
    if case.test == SENSOR_ALONE and case.channel.sensor is not None:
        rows = _sensor_rows(case.channel.sensor)
    rows += [(item.part, _item_text(item)) for item in case.items]
    rows += _visit_rows(case)
    return Table(
        caption=f"{case.channel.tag}: what it should do, and what it was measured with",
        headings=("", ""),
        rows=tuple(Row(cells=cells) for cells in rows),
        text_columns=(0, 1),
    )


def specifications_table(cases: Iterable[Case]) -> Table:
    """What all tests of a channel were judged by and measured with, each fact once."""
    rows: dict[tuple[str, str], None] = {}
    for case in cases:
        sensor = "sensor: " if case.test == SENSOR_ALONE else ""
        for name, text in (row.cells for row in specification_table(case).rows):
            rows[f"{sensor if name in _OF_THE_SENSOR else ''}{name}", text] = None
    return Table(
        caption="What the channel should do, and what it was measured with",
        headings=("", ""),
        rows=tuple(Row(cells=cells) for cells in rows),
        text_columns=(0, 1),
    )


_OF_THE_SENSOR = ("nominal sensitivity", "reference frequency", "flat part")


def _channel_rows(channel: Channel) -> list[tuple[str, str]]:
    unit = sensitivity_unit(channel.output_unit, channel.input_unit)
    rotors = ", ".join(f"{r.name} {r.speed_hz * 60:g} rpm ({frequency(r.speed_hz)})" for r in channel.rotors)
    rows = [
        *([("kind", channel.kind)] if channel.kind else []),
        ("location", channel.location or NONE),
        ("rotors", rotors or NONE),
        ("nominal sensitivity", f"{channel.nominal_sensitivity:g} {unit} {tolerance_text(channel)}"),
    ]
    zero = channel.zero_tolerance_span_pct
    if channel.output_zero or zero is not None:
        limit = "" if zero is None else f" ± {zero:g} % of span"
        rows.append(("output zero", f"{channel.output_zero:g} {channel.output_unit.shown}{limit}"))
    if channel.nonlinearity_pct is not None:
        rows.append(("non-linearity", f"{channel.nonlinearity_pct:g} % of span, {channel.nonlinearity_kind}"))
    for name, level in (("alert", channel.alert), ("trip", channel.trip), ("full scale", channel.full_scale)):
        if level is not None:
            rows.append((name, f"{level:g} {channel.input_unit.shown}"))
    return rows


def _band_rows(band: BandSpecification) -> list[tuple[str, str]]:
    rows = [("reference frequency", frequency(band.reference_hz))]
    if band.flat_hz is not None and band.flat_pct is not None:
        rows.append(("flat part", f"{band.flat_hz[0]:g} to {frequency(band.flat_hz[1])}, ± {band.flat_pct:g} %"))
    low, high = (true_minus(f"{limit:g}") for limit in band.corner_db)
    for name, corner in (("lower corner", band.corner_low_hz), ("upper corner", band.corner_high_hz)):
        if corner is not None:
            rows.append((name, f"{frequency(corner)}, allowed {low} to {high} dB"))
    rows += [
        (f"limit at {frequency(limit.frequency_hz)}", f"{limit.min_pct:g} to {limit.max_pct:g} %")
        for limit in band.limits
    ]
    return rows


def _sensor_rows(sensor: SensorSpecification) -> list[tuple[str, str]]:
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    rows = [
        ("nominal sensitivity", f"{sensor.nominal_sensitivity:g} {unit} ± {sensor.tolerance_pct:g} %"),
        ("reference frequency", frequency(sensor.reference_hz)),
    ]
    if sensor.flat_pct is not None:
        where = f"{sensor.flat_hz[0]:g} to {frequency(sensor.flat_hz[1])}, " if sensor.flat_hz else ""
        rows.append(("flat part", f"{where}± {sensor.flat_pct:g} % re the reference frequency"))
    return rows


def _item_text(item: Item) -> str:
    serial = "no serial number stated" if item.serial is None else f"serial {item.serial}"
    length = None if item.length_m is None else f"{item.length_m:g} m"
    slot = None if item.slot is None else f"slot {item.slot}"
    since = None if item.since is None else f"since {item.since.isoformat()}"
    return ", ".join(part for part in (item.type, serial, length, slot, since) if part)


def _visit_rows(case: Case) -> list[tuple[str, str]]:
    visit = case.visit
    rows = [("visit", f"{visit.date.isoformat()}, {spoken(case.condition)}, by {visit.performed_by}")]
    rows += [("reference", f"{r.id}, {r.kind}, serial {r.serial}, due {r.due.isoformat()}") for r in case.references]
    rows += [("readout", f"{r.id}, {r.kind}, serial {r.serial}, due {r.due.isoformat()}") for r in case.readouts]
    return rows


def readings_table(case: Case) -> Table:
    """The readings as they were typed; excluded ones struck through, with their reason."""
    return Table(
        caption=f"{spoken(case.test).capitalize()} readings, {spoken(case.condition)}, from {case.table_file}",
        headings=("row", "frequency", "applied", "output", "direction", "repeat", "excluded because", "note"),
        rows=tuple(_reading_row(reading) for reading in case.readings),
        text_columns=(4, 6, 7),
    )


def _reading_row(reading: Reading) -> Row:
    applied = as_typed(reading.applied, reading.applied_decimals)
    output = as_typed(reading.output, reading.output_decimals)
    cells = (
        str(reading.row),
        frequency(reading.frequency_hz),
        f"{applied} {reading.applied_unit.shown}",
        f"{output} {reading.output_unit.shown}",
        reading.direction or "",
        "" if reading.repeat is None else str(reading.repeat),
        reading.exclude or "",
        reading.note or "",
    )
    if reading.exclude is None:
        return Row(cells=cells)
    return Row(cells=cells, struck=True)
