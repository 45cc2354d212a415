"""Limits that a channel lacks for what was read, or that do not go together."""

from __future__ import annotations

import math
from collections.abc import Iterator

from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.analysis.readings.grouping import runs_at, same_frequency
from vibcal_nb.analysis.slips.expected.known_factors import ALL, nearest_factor
from vibcal_nb.model.asset import Asset, Channel
from vibcal_nb.model.current_loop import MEASUREMENT_MA, is_loop
from vibcal_nb.model.names import BAND_RESPONSE, GAP_CURVE, LINEARITY, MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.model.readings import ReadingTable
from vibcal_nb.units import convert, parse_unit

FASTEST_HZ = 1000.0  # 60 000 rpm: beyond it a speed in Hz was more likely given in rpm; judgement, no source
CHAIN_AGREES = 0.15  # ln, between the channel's nominal sensitivity and its parts' product; judgement, no source
ON_FACTOR = 0.05
_MA = parse_unit("mA dc")


def asset_questions(asset: Asset) -> Iterator[Question]:
    """Yield the questions about what an asset's file states, whatever was read."""
    for rotor in asset.rotors:
        if rotor.speed_hz > FASTEST_HZ:
            rpm = f"{60.0 * rotor.speed_hz:.6g} rpm"
            meant = f"{rotor.speed_hz:.6g} rpm"
            yield _about(f"the rotor {rotor.name} turns at {rotor.speed_hz:.6g} Hz, which is {rpm}. Was {meant} meant?")
    for channel in asset.channels.values():
        yield from _set_points(channel)
        yield from _loop(channel)
        yield from _chain(channel)


def _about(text: str) -> Question:
    return Question(file="asset.toml", text=text)


def _set_points(channel: Channel) -> Iterator[Question]:
    scale, unit = channel.full_scale, channel.input_unit
    for name, level in channel.set_points:
        if scale is not None and level > scale:
            text = f"{name} {level:g} lies above full_scale {scale:g} {unit}, where the channel cannot show it. "
            yield _about(f"{channel.tag}: {text}Which of the two is right?")


def _loop(channel: Channel) -> Iterator[Question]:
    """A loop of 4 to 20 mA whose full scale is no 20 mA."""
    if channel.full_scale is None or not is_loop(channel.output_unit, channel.output_zero):
        return
    top = channel.output_zero + channel.full_scale * channel.nominal_sensitivity
    current = float(convert(top, channel.output_unit, _MA))
    if current > MEASUREMENT_MA[1] or current < 0.9 * MEASUREMENT_MA[1]:
        text = f"full_scale {channel.full_scale:g} {channel.input_unit} would give {current:.4g} mA. "
        right = 16.0 / channel.full_scale
        yield _about(f"{channel.tag}: {text}Is nominal_sensitivity {right:.4g} mA per unit meant, for 4 to 20 mA?")


def _chain(channel: Channel) -> Iterator[Question]:
    """The channel's nominal sensitivity against that of its sensor times that of its module."""
    sensor, module = channel.sensor, channel.module
    if sensor is None or module is None or module.reference_hz is None:
        return
    if sensor.output_unit.quantity != module.input_unit.quantity or "dc" in (
        channel.output_unit.detector,
        module.output_unit.detector,
    ):
        return
    hz = module.reference_hz
    charge = sensor.nominal_sensitivity * float(convert(1.0, channel.input_unit, sensor.input_unit, frequency_hz=hz))
    through = float(convert(charge, sensor.output_unit, module.input_unit)) * module.nominal_sensitivity
    product = float(convert(through, module.output_unit, channel.output_unit))
    ln_ratio = math.log(channel.nominal_sensitivity / product)
    if abs(ln_ratio) > CHAIN_AGREES:
        known = nearest_factor(ln_ratio, iter(ALL), within=ON_FACTOR)
        why = f" ({known[0].cause})" if known else ""
        text = (
            f"nominal_sensitivity is {channel.nominal_sensitivity:g}, and that of the sensor times that of the module "
        )
        yield _about(f"{channel.tag}: {text}gives {product:.4g} at {hz:g} Hz. Which of the three is off{why}?")


def reading_questions(asset: Asset, table: ReadingTable) -> Iterator[Question]:
    """Yield the questions about tests for which a channel states no limits, and about lines at no rotor's speed."""
    needs = {BAND_RESPONSE: "band", SENSOR_ALONE: "sensor", MODULE_ALONE: "module", GAP_CURVE: "gap_curve"}
    read = dict.fromkeys((reading.channel, reading.test) for reading in table.readings)
    for tag, test in read:
        channel = asset.channels[tag]
        if test in needs and getattr(channel, needs[test]) is None:
            heading = f"[channels.{tag}.{needs[test]}]"
            yield _about(f"{tag} has {test} readings and no {heading} to judge them by. Are its limits still to come?")
        if test == LINEARITY and channel.rotors:
            yield from _speeds(channel, table)


def _speeds(channel: Channel, table: ReadingTable) -> Iterator[Question]:
    """Lines at a frequency that no rotor of the channel turns at and that is no reference frequency."""
    rows: dict[float, list[int]] = {}
    for reading in table.readings:
        if (reading.channel, reading.test) == (channel.tag, LINEARITY) and reading.exclude is None:
            rows.setdefault(reading.frequency_hz, []).append(reading.row)
    speeds = ", ".join(f"{rotor.name} {rotor.speed_hz:.6g} Hz" for rotor in channel.rotors)
    for hz, found in rows.items():
        known = any(runs_at(rotor, hz) for rotor in channel.rotors)
        if known or (channel.band is not None and same_frequency(hz, channel.band.reference_hz)):
            continue
        text = f"{channel.tag} was read for linearity at {hz:.6g} Hz, and its rotors are {speeds}. "
        yield Question(file=table.file, text=f"{text}Is the frequency right, or a rotor missing?", rows=tuple(found))
