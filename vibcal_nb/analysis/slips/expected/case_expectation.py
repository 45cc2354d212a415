"""What the other readings of a channel, and its nominal sensitivity, lead one to expect of each reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.planning.expected_output import nominal_response
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.slips.expected.block_expectation import (
    FEW,
    FEW_WIDTH,
    BlockExpectation,
    expect_block,
    expected_output,
)
from vibcal_nb.analysis.slips.expected.blocks import blocks_of, scaled_point
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

CLOSE = 0.5  # of the half width: so near is a number that was meant


@dataclass(frozen=True, kw_only=True, eq=False)
class CaseExpectation:
    """What is expected of the readings of one case, block by block; ``gain`` as for `expect_block`."""

    case: Case
    parts: tuple[BlockExpectation, ...]
    gain: float

    @property
    def loss(self) -> float:
        """How ill the readings agree with what is expected: of each, the logarithm of its squared departure."""
        return sum(part.loss for part in self.parts)

    def of(self, reading: Reading) -> BlockExpectation | None:
        """Return the part that a reading belongs to by its frequency; None where there is none."""
        for part in self.parts:
            if part.block.is_sweep or same_frequency(reading.frequency_hz, float(part.block.frequency_hz[0])):
                return part
        return None

    def departure(self, reading: Reading) -> tuple[float, float]:
        """Return ln of a reading's output over the expected one, and its distance from that in half widths."""
        y, expected, half = self._held(reading)
        return math.log(max(y / expected, 1e-9)), abs(y - expected) / half

    def fits(self, reading: Reading) -> bool:
        """Whether a reading, as it was probably meant, is what the others lead one to expect."""
        return self.departure(reading)[1] <= CLOSE

    def output(self, reading: Reading) -> float:
        """Return the expected output of a reading in the unit that it is written in, with the output zero."""
        _, expected, _ = self._held(reading)
        return float(convert(expected + self.case.output_zero, self.case.output_unit, reading.output_unit))

    def _held(self, reading: Reading) -> tuple[float, float, float]:
        """Output less the zero, the expected one, and the half width about it."""
        _, y, nominal = scaled_point(self.case, reading)
        part = self.of(reading)
        at, f = np.array([nominal]), np.array([reading.frequency_hz])
        if part is None:  # no other reading at this frequency: the specified filters say what to expect
            response = float(np.log(nominal_response(self.case.channel.band, f)[0]))
            expected, half = expected_output(at, f, self.gain + response, None, FEW_WIDTH, 0.0)
        else:
            expected, half = part.output(at, f)
        return y, float(expected[0]), float(half[0])

    @property
    def suspects(self) -> list[Reading]:
        """The readings that stand apart and that no physics bends, by row."""
        found = [
            reading
            for part in self.parts
            for reading, apart in zip(part.block.readings, part.suspect, strict=True)
            if apart
        ]
        return sorted(found, key=lambda reading: reading.row)


def expect_channel(cases: Sequence[Case]) -> list[CaseExpectation]:
    """Return what is expected of the cases, one a test, of one channel in one condition that hold used readings."""
    lines = next((blocks_of(case) for case in cases if case.test == LINEARITY), [])
    gains = [expect_block(block, gain=0.0).gain for block in lines if len(block) >= FEW]
    gain = float(np.median(gains)) if gains else 0.0
    found = [expect_case(case, gain=gain) for case in cases]
    return [item for item in found if item is not None]


def expect_case(case: Case, *, gain: float) -> CaseExpectation | None:
    """Return what is expected of a case; None where it holds no used reading.

    ``gain`` is ln of output over nominal that the channel's lines show, and means nothing to a part by itself.
    """
    shared = gain if case.test in (LINEARITY, BAND_RESPONSE) else 0.0
    parts = tuple(
        expect_block(block, gain=0.0 if case.test == LINEARITY and len(block) >= FEW else shared)
        for block in blocks_of(case)
    )
    return CaseExpectation(case=case, parts=parts, gain=shared) if parts else None
