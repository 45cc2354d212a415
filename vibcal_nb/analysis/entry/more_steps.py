"""What a person may want besides the plan: the levels falling, the run once more, a last check before packing up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.entry.steps import Step, is_taken_for, level_in
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.names import BAND_RESPONSE, FALLING, LINEARITY, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

LAST_CHECK = "last check at the reference frequency"


def falling_steps(steps: Sequence[Step], *, channel: str) -> tuple[Step, ...]:
    """Return the levels of a channel's lines once more, from the top down: they show hysteresis."""
    rising = [step for step in steps if (step.channel, step.test) == (channel, LINEARITY) and step.direction is None]
    first = [step for step in rising if (step.repeat or 1) == 1]
    hertz = dict.fromkeys(step.frequency_hz for step in first)
    return tuple(
        replace(step, direction=FALLING, repeat=None, row=None, added=True, purpose=f"{step.purpose}, falling")
        for hz in hertz
        for step in sorted((s for s in first if s.frequency_hz == hz), key=lambda step: -(step.level or 0.0))
    )


def repeated_steps(steps: Sequence[Step], *, channel: str, test: str) -> tuple[Step, ...]:
    """Return a test's steps once more, under the next number: they show how well readings repeat."""
    own = [step for step in steps if (step.channel, step.test) == (channel, test)]
    number = 1 + max((step.repeat or 1 for step in own), default=1)
    first = [step for step in own if (step.repeat or 1) == 1]
    return tuple(replace(step, repeat=number, row=None, added=True) for step in first)


def retaken_step(reading: Reading, *, purpose: str = "read again") -> Step:
    """Return the step that takes a reading again, at its frequency and level."""
    return Step(
        channel=reading.channel,
        test=reading.test,
        condition=reading.condition,
        frequency_hz=reading.frequency_hz,
        level=reading.applied,
        applied_unit=reading.applied_unit,
        output_unit=reading.output_unit,
        purpose=purpose,
        direction=reading.direction,
        repeat=reading.repeat,
        added=True,
    )


@dataclass(frozen=True, kw_only=True)
class LastCheck:
    """The first reading at a reference frequency, the last one there, and by how much the ratio moved, in %.

    Where it was read once alone, ``last`` and ``moved_pct`` are None and ``step`` reads it again.
    """

    first: Reading
    last: Reading | None
    moved_pct: float | None
    step: Step


def last_checks(channel: Channel, readings: Sequence[Reading]) -> Iterator[LastCheck]:
    """Yield the last check of each test of a channel in one condition that has a reference frequency."""
    for test, part in ((BAND_RESPONSE, channel.band), (SENSOR_ALONE, channel.sensor)):
        if part is None:
            continue
        own = [r for r in readings if r.test == test and r.exclude is None and r.applied > 0.0]
        at = [r for r in own if same_frequency(r.frequency_hz, part.reference_hz)]
        if not at:
            continue
        first, last = at[0], at[-1] if len(at) > 1 else None
        number = 1 + max(r.repeat or 1 for r in at)
        step = replace(retaken_step(first, purpose=LAST_CHECK), repeat=number)
        yield LastCheck(first=first, last=last, moved_pct=None if last is None else _moved(first, last), step=step)


def _moved(first: Reading, last: Reading) -> float | None:
    """By how much output over level moved, in %; a live zero is not asked for: references lie far above it."""
    level = level_in(last, first.applied_unit)
    if not (level and first.output):
        return None
    output = float(convert(last.output, last.output_unit, first.output_unit))
    return 100.0 * (output / level / (first.output / first.applied) - 1.0)


def was_taken(step: Step, readings: Sequence[Reading]) -> bool:
    """Whether a step was read."""
    return any(reading.exclude is None and is_taken_for(reading, step) for reading in readings)
