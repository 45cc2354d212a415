"""What the other readings of a channel, and its nominal sensitivity, lead one to expect of each reading."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.planning.expected_output import nominal_response
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.slips.band_curve import BandCurve, fit_curve
from vibcal_nb.analysis.slips.blocks import Block, scaled_point
from vibcal_nb.analysis.slips.plateau import BoolArray, bent_ends, plateau
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

# Judgement, no source: relative half widths within which a reading stands for itself.
LINE_WIDTH = 0.06
SWEEP_WIDTH = 0.12
FEW_WIDTH = 0.15
FEW = 3
FLOOR = 0.004  # of the largest output of a block: what a zero or noise may add
STEPS = 2.0  # last digits
CLOSE = 0.5  # of the width: so near is a number that was meant


@dataclass(frozen=True, kw_only=True, eq=False)
class Expectation:
    """What is expected of the readings of a block: ``gain`` is ln of output over nominal, ``curve`` its response.

    ``suspect`` (n,) are readings that stand apart from the others and that no physics bends.
    """

    block: Block
    gain: float
    curve: BandCurve | None
    width: float
    floor: float
    suspect: BoolArray

    def output(self, nominal: FloatArray, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the expected output, less the zero, and the half width about it; shape (n,) each."""
        return _expected(nominal, frequency_hz, self.gain, self.curve, self.width, self.floor)


def expect(block: Block, *, gain: float) -> Expectation:
    """Return what a block agrees on; ``gain`` is ln of output over nominal that the rest of the channel shows."""
    band = block.case.channel.band
    curve, level = None, gain
    if block.case.test == BAND_RESPONSE and band is not None:
        curve, level = fit_curve(band, block.frequency_hz, block.ln_ratio, gain=gain - _at_reference(block.case)), 0.0
    else:
        level = plateau(block.ln_ratio, gain=gain)
    few = len(block) < FEW
    width = FEW_WIDTH if few else SWEEP_WIDTH if block.is_sweep else LINE_WIDTH
    floor = FLOOR * float(np.abs(block.output).max()) + STEPS * block.step
    expected, half = _expected(block.nominal, block.frequency_hz, level, curve, width, floor)
    apart = np.abs(block.output - expected) > half
    departure = np.log(np.maximum(block.output / expected, 1e-9))
    bent = bent_ends(departure, apart, block.moves, block.output, is_sweep=block.is_sweep)
    return Expectation(block=block, gain=level, curve=curve, width=width, floor=floor, suspect=apart & ~bent)


def _at_reference(case: Case) -> float:
    """Ln of what Butterworth filters at the specified corners take at the reference frequency: nominal is with it."""
    band = case.channel.band
    assert band is not None  # the caller has asked
    order = 2
    parts = ((band.corner_low_hz or 0.0) / band.reference_hz, band.reference_hz / (band.corner_high_hz or math.inf))
    return float(sum(-0.5 * math.log1p(ratio ** (2 * order)) for ratio in parts))


def _expected(
    nominal: FloatArray, f: FloatArray, gain: float, curve: BandCurve | None, width: float, floor: float
) -> tuple[FloatArray, FloatArray]:
    if curve is None:
        expected = nominal * math.exp(gain)
        return expected, width * expected + floor
    value, u = curve.at(f)
    taken = np.maximum(curve.parameters[0, 0] - value, 0.0)  # ln of what the filters take away
    expected = nominal * np.exp(value)
    return expected, (width + 2.0 * u + 0.03 * taken) * expected + floor


@dataclass(frozen=True, kw_only=True, eq=False)
class CaseExpectation:
    """What is expected of the readings of one case, block by block; ``gain`` as for `expect`."""

    case: Case
    parts: tuple[Expectation, ...]
    gain: float

    def of(self, reading: Reading) -> Expectation | None:
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

    def expected_output(self, reading: Reading) -> float:
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
            expected, half = _expected(at, f, self.gain + response, None, FEW_WIDTH, 0.0)
        else:
            expected, half = part.output(at, f)
        return y, float(expected[0]), float(half[0])
