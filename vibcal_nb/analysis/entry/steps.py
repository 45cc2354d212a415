"""What is to be read of the channels, from a plan or from a prepared table, and which of it was read."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.planning.expected_output import ExpectedOutput, expect_reading
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.model.asset import Asset, Channel, GapCurveSpecification, ModuleSpecification, SensorSpecification
from vibcal_nb.model.names import GAP_CURVE, MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.model.readings import PendingRow, Reading
from vibcal_nb.units import Unit, convert, is_convertible

NEAR = 0.12
"""A level that is off by so much of the planned one was still read for it: a shaker settles near. Judgement."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """One reading to take; ``level`` in ``applied_unit`` is None where nothing says it, ``frequency_hz`` 0 of a gap.

    ``row`` is the planned row of the table that it fills, None where there is none. ``added`` says that a person asked
    for it.
    """

    channel: str
    test: str
    condition: str
    frequency_hz: float
    level: float | None
    applied_unit: Unit
    output_unit: Unit
    purpose: str = ""
    direction: str | None = None
    repeat: int | None = None
    row: int | None = None
    added: bool = False


def steps_of_plans(plans: Iterable[ChannelPlan], *, condition: str) -> tuple[Step, ...]:
    """Return the steps of plans, channel by channel, in the order in which they are taken."""
    return tuple(
        Step(
            channel=point.channel,
            test=point.test,
            condition=condition,
            frequency_hz=round(point.frequency_hz, 4),
            level=point.level,
            applied_unit=point.applied_unit,
            output_unit=point.output_unit,
            purpose=point.purpose,
            direction=point.direction,
            repeat=point.repeat,
        )
        for plan in plans
        for point in plan.points
    )


def steps_of_rows(rows: Iterable[PendingRow], asset: Asset) -> Iterator[Step]:
    """Yield a step for each row of a prepared table that is still open."""
    for row in rows:
        part = part_of(asset.channel(row.channel, row.condition), row.test)
        yield Step(
            channel=row.channel,
            test=row.test,
            condition=row.condition,
            frequency_hz=row.frequency_hz or 0.0,
            level=row.level,
            applied_unit=row.applied_unit or part.input_unit,
            output_unit=part.output_unit,
            direction=row.direction,
            repeat=row.repeat,
            row=row.row,
        )


_Part = Channel | SensorSpecification | ModuleSpecification | GapCurveSpecification


def part_of(channel: Channel, test: str) -> _Part:
    """Return what a test is of: the channel, or its part; each has the units that readings are taken in."""
    parts: dict[str, _Part | None] = {
        SENSOR_ALONE: channel.sensor,
        MODULE_ALONE: channel.module,
        GAP_CURVE: channel.gap_curve,
    }
    return parts.get(test) or channel


def expected_at(
    channel: Channel, test: str, *, frequency_hz: float, applied: float, applied_unit: Unit, output_unit: Unit
) -> ExpectedOutput | None:
    """Return what a good channel puts out, in ``output_unit``; None where nothing says it or units do not fit."""
    part = part_of(channel, test)
    if not is_convertible(applied_unit, part.input_unit) or not is_convertible(part.output_unit, output_unit):
        return None
    level = float(convert(applied, applied_unit, part.input_unit, frequency_hz=frequency_hz or None))
    found = expect_reading(channel, test, frequency_hz=frequency_hz, level=level)
    if found is None:
        return None
    low, middle, high = (
        float(convert(value, part.output_unit, output_unit)) for value in (found.lowest, found.expected, found.highest)
    )
    return ExpectedOutput(expected=middle, lowest=min(low, high), highest=max(low, high))


def level_in(reading: Reading, unit: Unit) -> float | None:
    """Return the level of a reading in a unit; None where its own does not convert to it."""
    if not is_convertible(reading.applied_unit, unit):
        return None
    return float(convert(reading.applied, reading.applied_unit, unit, frequency_hz=reading.frequency_hz or None))


def is_taken_for(reading: Reading, step: Step) -> bool:
    """Whether a reading is of a step's test, frequency, direction and pass, and its level near enough."""
    return math.isfinite(_distance(reading, step))


def open_steps(steps: Sequence[Step], readings: Sequence[Reading]) -> tuple[Step, ...]:
    """Return the steps that no used reading was taken for, in their order."""
    places: dict[tuple, list[int]] = {}
    for place, step in enumerate(steps):
        places.setdefault(_what(step), []).append(place)
    done: set[int] = set()
    for reading in readings:
        near = places.get(_what(reading), []) if reading.exclude is None else []
        distances = {place: _distance(reading, steps[place]) for place in near}
        nearest = min(distances.values(), default=math.inf)
        if math.isfinite(nearest):
            done |= {place for place, distance in distances.items() if distance == nearest}
    return tuple(step for place, step in enumerate(steps) if place not in done)


def _what(item: Reading | Step) -> tuple[object, ...]:
    """What a reading or a step is of, but for its frequency and level."""
    return item.channel, item.test, item.condition, item.direction, item.repeat or 1


def _distance(reading: Reading, step: Step) -> float:
    """How far a reading's level lies from a step's, in ln; infinite where it was not taken for it."""
    if _what(reading) != _what(step) or not same_frequency(reading.frequency_hz, step.frequency_hz):
        return math.inf
    if step.level is None:
        return 0.0
    level = level_in(reading, step.applied_unit)
    if level is None:
        return math.inf
    if step.level == 0.0 or level <= 0.0:
        return 0.0 if step.level == level else math.inf
    distance = abs(math.log(level / step.level))
    return distance if distance <= NEAR else math.inf
