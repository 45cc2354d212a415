"""What one reading says at once: within or without, how far, and what to ask about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.entry.steps import NEAR, Step, expected_at, level_in, part_of
from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.slips.find_slips import question_reading
from vibcal_nb.analysis.slips.slip import Slip, with_number
from vibcal_nb.analysis.slips.slip_kinds import APPLIED, FACTOR, OUTPUT
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert, is_convertible

FAR_OFF_LEVEL_PCT = 3.0
"""A level that is off the planned one by more is told of: from there on it counts as another level."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a reading says; ``expected`` is None where nothing tells what a good channel puts out there.

    ``off_pct`` is the output less the zero against the expected one, in %; ``level_off_pct`` the level against the
    planned one, None where none was planned. ``slips`` are what to ask about.
    """

    reading: Reading
    expected: ExpectedOutput | None
    within: bool | None
    off_pct: float | None
    level_off_pct: float | None
    slips: tuple[Slip, ...]


def answer_reading(reading: Reading, cases: Sequence[Case], *, step: Step | None) -> Answer:
    """Answer a reading; ``cases`` are those of its channel and condition, with the rows before it."""
    own = next(case for case in cases if case.test == reading.test)
    expected = expected_at(
        own.channel,
        reading.test,
        frequency_hz=reading.frequency_hz,
        applied=reading.applied,
        applied_unit=reading.applied_unit,
        output_unit=reading.output_unit,
    )
    zero = 0.0
    if is_convertible(part_of(own.channel, reading.test).output_unit, reading.output_unit):
        zero = float(convert(own.output_zero, own.output_unit, reading.output_unit))
    within = None if expected is None else expected.lowest <= reading.output <= expected.highest
    off = None
    if expected is not None and expected.expected != zero:
        off = 100.0 * ((reading.output - zero) / (expected.expected - zero) - 1.0)
    return Answer(
        reading=reading,
        expected=expected,
        within=within,
        off_pct=off,
        level_off_pct=_level_off(reading, step),
        slips=tuple(_by_plan(slip, _level_off(reading, step), zero) for slip in question_reading(reading, cases)),
    )


def _by_plan(slip: Slip, level_off_pct: float | None, zero: float) -> Slip:
    """A known factor on the level of one reading is one under its output, where the level is the planned one."""
    planned = level_off_pct is not None and abs(level_off_pct) <= 100.0 * NEAR
    if not planned or (slip.kind, slip.field) != (FACTOR, APPLIED) or len(slip.meant) != 1 or slip.factor is None:
        return slip
    (written,) = slip.written
    meant = with_number(written, OUTPUT, zero + slip.factor * (written.output - zero))
    return replace(slip, field=OUTPUT, factor=1.0 / slip.factor, meant=(meant,))


def _level_off(reading: Reading, step: Step | None) -> float | None:
    if step is None or not step.level:
        return None
    level = level_in(reading, step.applied_unit)
    return None if level is None else 100.0 * (level / step.level - 1.0)


def departure_of(reading: Reading, channel: Channel) -> tuple[float, float, float] | None:
    """Return by how much an output departs from what is expected, and the least and most that it may, in %.

    All are of the expected output less the zero; None where nothing says what is expected.
    """

    def at(applied: float) -> ExpectedOutput | None:
        return expected_at(
            channel,
            reading.test,
            frequency_hz=reading.frequency_hz,
            applied=applied,
            applied_unit=reading.applied_unit,
            output_unit=reading.output_unit,
        )

    good, nothing = at(reading.applied), at(0.0)
    span = 0.0 if good is None or nothing is None else good.expected - nothing.expected
    if good is None or not span:
        return None
    off, low, high = (100.0 * (v - good.expected) / span for v in (reading.output, good.lowest, good.highest))
    return off, low, high
