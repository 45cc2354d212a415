"""Rows that the whole channel carries outside the planned limits: one question for each test, not one for each row."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from vibcal_nb.analysis.planning.expected_output import ExpectedOutput, expect_band, expect_linearity, expect_sensor
from vibcal_nb.analysis.readings.point_limits import point_limits
from vibcal_nb.analysis.slips.expected.blocks import Block
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import OUTSIDE
from vibcal_nb.model.asset import BandSpecification
from vibcal_nb.model.band_requirements import requirements_of
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

BEYOND = 0.01  # of the expected output: what rounding and the reference add; judgement, no source


def limit_slips(blocks: Sequence[Block], *, known: Collection[int]) -> Iterator[Slip]:
    """Yield one question for the rows of a case outside the planned limits that are not ``known`` otherwise."""
    found: list[tuple[Reading, ExpectedOutput]] = []
    for block in blocks:
        for i, reading in enumerate(block.readings):
            if reading.row not in known and (limits := _limits(block, i)) is not None and _is_outside(block, i, limits):
                found.append((reading, limits))
    if found:
        first, limits = found[0]
        case = blocks[0].case
        expected, low, high = (
            convert(value, case.output_unit, first.output_unit)
            for value in (limits.expected, limits.lowest, limits.highest)
        )
        written = tuple(sorted((reading for reading, _ in found), key=lambda reading: reading.row))
        yield Slip(kind=OUTSIDE, written=written, expected=float(expected), limits=(float(low), float(high)))


def _limits(block: Block, i: int) -> ExpectedOutput | None:
    channel, hz, level = block.case.channel, float(block.frequency_hz[i]), float(block.applied[i])
    if block.case.test == LINEARITY:
        return expect_linearity(channel).at(level)
    if block.case.test == BAND_RESPONSE and channel.band is not None and _is_limited(channel.band, hz):
        return expect_band(channel, channel.band, frequency_hz=hz).at(level)
    if block.case.test == SENSOR_ALONE and channel.sensor is not None:
        return expect_sensor(channel, frequency_hz=hz).at(level)
    return None


def _is_limited(band: BandSpecification, hz: float) -> bool:
    """Whether the channel states limits at a frequency; elsewhere a plan only guesses how steep the filters are."""
    return None not in point_limits(hz, band, tuple(requirements_of(band)))


def _is_outside(block: Block, i: int, limits: ExpectedOutput) -> bool:
    output = float(block.output[i]) + block.case.output_zero
    margin = BEYOND * abs(limits.expected - block.case.output_zero) + 0.5 * block.step
    return bool(np.isfinite(output)) and not limits.lowest - margin <= output <= limits.highest + margin
