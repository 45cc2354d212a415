"""What the fields of the screen say, as cells of a row, as a step, as values of the visit's file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vibcal_nb.analysis.entry.steps import Step, part_of
from vibcal_nb.model.asset import Channel
from vibcal_nb.notebook.shaker.typed import plain_number, typed_value
from vibcal_nb.problems import NotDone

Values = Mapping[str, Any]
PER_MINUTE = ("rpm", "cpm")


def cells_of(step: Step, values: Values, *, serial: str = "") -> dict[str, str]:
    """Return the cells of a reading by column, as they were typed. Raises ``NotDone`` where something is missing."""
    typed = {name: str(values.get(name, "")).strip() for name in ("level", "output", "frequency", "note")}
    for name, what in (("level", "the level as the reference shows it"), ("output", "the output")):
        if not typed[name]:
            raise NotDone(f"Type {what} first.")
    applied, applied_unit = typed_value(typed["level"], step.applied_unit.text)
    output, output_unit = typed_value(typed["output"], step.output_unit.text)
    hertz, unit = typed_value(typed["frequency"], "Hz")
    if hertz and unit.lower() in PER_MINUTE:
        hertz = _in_hertz(hertz)
    sensor = f"sensor {serial}" if serial else ""
    return {
        "channel": step.channel,
        "test": step.test,
        "condition": step.condition,
        "frequency_hz": hertz or (plain_number(step.frequency_hz) if step.frequency_hz else ""),
        "applied": applied,
        "applied_unit": applied_unit,
        "output": output,
        "output_unit": output_unit,
        "direction": step.direction or "",
        "repeat": str(step.repeat) if step.repeat else "",
        "note": "; ".join(text for text in (sensor, typed["note"]) if text),
    }


def added_step(channel: Channel, condition: str, *, test: str, values: Values) -> Step:
    """Return the step that a person asks for. Raises ``NotDone`` where its numbers are none."""
    part = part_of(channel, test)
    hertz, unit = typed_value(str(values.get("frequency", "")), "Hz")
    level, _ = typed_value(str(values.get("level", "")), "")
    try:
        frequency = float(hertz) / (60.0 if unit.lower() in PER_MINUTE else 1.0)
        wanted = float(level) if level else None
    except ValueError:
        raise NotDone("Type the frequency as a number in Hz (or with rpm), and the level as a number.") from None
    return Step(
        channel=channel.tag,
        test=test,
        condition=condition,
        frequency_hz=frequency,
        level=wanted,
        applied_unit=part.input_unit,
        output_unit=part.output_unit,
        purpose="added",
        added=True,
    )


def _in_hertz(per_minute: str) -> str:
    try:
        return plain_number(float(per_minute) / 60.0)
    except ValueError:
        return per_minute


def head_values(values: Values, *, by: str, channels: tuple[str, ...]) -> dict[tuple[str, ...], dict[str, Any]]:
    """Return what goes into the visit's file, by table. Raises ``NotDone`` where something needed is missing."""
    who = str(values.get("performed_by", "")).strip() or by
    equipment = [str(name) for name in values.get("equipment") or ()]
    if not who or not equipment:
        raise NotDone("State who takes the readings, and with which reference and readout.")
    top: dict[str, Any] = {"performed_by": who, "equipment": equipment}
    ambient, _ = typed_value(str(values.get("ambient_c", "")), "")
    if ambient:
        try:
            top["ambient_c"] = float(ambient)
        except ValueError:
            raise NotDone("Type the ambient temperature as a number in °C, or leave it empty.") from None
    permit, off, told = (str(values.get(name, "")).strip() for name in ("permit", "off", "told"))
    if not permit:
        return {(): top}
    if not (off and told):
        raise NotDone("With a permit, state when protection was taken out (HH:MM) and who was told.")
    inhibit = {"permit": permit, "channels": list(channels), "off": off, "by": who}
    inhibit["told"] = [name.strip() for name in told.split(",") if name.strip()]
    return {(): top, ("inhibit",): inhibit}
