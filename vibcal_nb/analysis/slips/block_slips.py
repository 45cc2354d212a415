"""Whole blocks that are off by a known factor: against the rest of the channel, or the nominal sensitivity itself."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.planning.expected_output import nominal_response
from vibcal_nb.analysis.slips.expected.block_expectation import BlockExpectation
from vibcal_nb.analysis.slips.expected.case_expectation import CaseExpectation
from vibcal_nb.analysis.slips.expected.known_factors import ALL, KnownFactor, cause_of, factors_of, nearest_factor
from vibcal_nb.analysis.slips.row_slips import factor_slip
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import APPLIED, NOMINAL, OUTPUT
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE

FEWEST = 3  # readings that a block needs to be asked about as a whole
ON_FACTOR = 0.04
AS_NOMINAL = 0.12  # ln: so near to nominal is a block that is right
_NONE = (ALL[0], 1.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Gain:
    """ln of output over nominal of a block, its response taken out."""

    expected: CaseExpectation
    part: BlockExpectation
    gain: float


def block_slips(cases: Sequence[CaseExpectation]) -> Iterator[Slip]:
    """Yield a question for each block, or for the nominal sensitivity where all blocks of a part are off alike."""
    gains = [_Gain(expected=case, part=part, gain=_gain(part)) for case in cases for part in case.parts]
    channel = [item for item in gains if item.expected.case.test in (LINEARITY, BAND_RESPONSE)]
    for part_of in (channel, *([item] for item in gains if item not in channel)):
        whole = [item for item in part_of if len(item.part.block) >= FEWEST]
        off = [item for item in whole if _factor_of(item) is not None]
        right = [item for item in whole if abs(item.gain) < AS_NOMINAL]
        if off and right:
            yield from map(_rows_slip, off)
        elif off and len(off) == len(whole):
            yield _nominal_slip(off)


def _gain(part: BlockExpectation) -> float:
    block = part.block
    if block.case.test == SENSOR_ALONE or block.case.channel.band is None:
        return part.gain
    if part.curve is not None:
        hz = np.array([block.case.channel.band.reference_hz])
        return float(part.curve.at(hz)[0][0])
    response = (
        nominal_response(block.case.channel.band, block.frequency_hz[:1]) if block.case.test == LINEARITY else [1.0]
    )
    return part.gain - math.log(float(response[0]))


def _factor_of(item: _Gain) -> tuple[KnownFactor, float] | None:
    """The factor that the block is off by, or one over it; only where most of its readings agree on it."""
    block = item.part.block
    if 2 * int(item.part.suspect.sum()) > len(block):
        return None
    return nearest_factor(item.gain, factors_of(block.readings[0].applied_unit), within=ON_FACTOR)


def _rows_slip(item: _Gain) -> Slip:
    """A factor on the outputs, or one over it on the levels where the outputs stand above a live zero."""
    known, by = _factor_of(item) or _NONE
    block = item.part.block
    readings = [reading for reading, apart in zip(block.readings, item.part.suspect, strict=True) if not apart]
    if block.case.output_zero != 0.0:
        return factor_slip(readings, known, 1.0 / by, APPLIED)
    return factor_slip(readings, known, by, OUTPUT)


def _nominal_slip(items: Sequence[_Gain]) -> Slip:
    known, by = _factor_of(items[0]) or _NONE
    cases = {item.expected.case.test: item.expected.case for item in items}
    readings = [reading for item in items for reading in item.part.block.readings]
    return Slip(
        kind=NOMINAL,
        written=tuple(sorted(readings, key=lambda reading: reading.row)),
        factor=by,
        cause=cause_of(known, readings[0].applied_unit),
        nominal=tuple((test, case.nominal_sensitivity, case.nominal_sensitivity * by) for test, case in cases.items()),
    )
