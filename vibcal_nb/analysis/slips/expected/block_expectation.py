"""What the readings of a block agree on, and which of them stand apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.slips.expected.band_curve import SCATTER, BandCurve, fit_curve, fit_curve_and_run
from vibcal_nb.analysis.slips.expected.blocks import Block
from vibcal_nb.analysis.slips.expected.known_factors import factors_of
from vibcal_nb.analysis.slips.expected.plateau import BoolArray, bent_ends, plateau
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import BandSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE

# Judgement, no source: relative half widths within which a reading stands for itself.
LINE_WIDTH = 0.06
SWEEP_WIDTH = 0.12
FEW_WIDTH = 0.15
FEW = 3
FLOOR = 0.004  # of the largest output of a block: what a zero or noise may add
STEPS = 2.0  # last digits
LIKE_A_FACTOR = 0.4  # ln: so near to a known factor, a departure may be that factor on a curve not yet right


@dataclass(frozen=True, kw_only=True, eq=False)
class BlockExpectation:
    """What is expected of the readings of a block: ``gain`` is ln of output over nominal, ``curve`` its response.

    ``apart`` (n,) are readings that differ from what is expected, ``suspect`` those of them that no physics bends.
    """

    block: Block
    gain: float
    curve: BandCurve | None
    width: float
    floor: float
    apart: BoolArray
    suspect: BoolArray

    @property
    def loss(self) -> float:
        """How ill the block's readings agree: see ``CaseExpectation``."""
        return float(np.log1p((np.log(self.departure) / SCATTER) ** 2).sum())

    @property
    def departure(self) -> FloatArray:
        """Output over expected output, shape (n,); far below every real one where there is no output."""
        expected, _ = self.output(self.block.nominal, self.block.frequency_hz)
        return np.maximum(self.block.output / expected, 1e-9)

    def output(self, nominal: FloatArray, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the expected output, less the zero, and the half width about it; shape (n,) each."""
        return expected_output(nominal, frequency_hz, self.gain, self.curve, self.width, self.floor)


def expect_block(block: Block, *, gain: float) -> BlockExpectation:
    """Return what a block agrees on; ``gain`` is ln of output over nominal that the rest of the channel shows."""
    if block.case.test == BAND_RESPONSE and block.case.channel.band is not None:
        return _expect_band(block, block.case.channel.band, gain - _at_reference(block.case))
    level = plateau(block.ln_ratio, gain=gain, shifted=None if block.is_sweep else _one_row_on(block))
    return _held(block, level, None)


def _expect_band(block: Block, band: BandSpecification, gain: float) -> BlockExpectation:
    curve = fit_curve(band, block.frequency_hz, block.ln_ratio, gain=gain)
    held = _held(block, 0.0, curve)
    if not held.apart.any():
        return held
    departure = np.abs(np.log(held.departure[held.apart]))
    known = [factor.value for factor in factors_of(block.readings[0].applied_unit)]
    factors = [factor for factor in known if np.abs(departure - math.log(factor)).min() < LIKE_A_FACTOR]
    if not factors:
        return held
    other = fit_curve_and_run(band, block.frequency_hz, block.ln_ratio, gain=gain, factors=factors)
    return _held(block, 0.0, other) if other.loss < curve.loss else held


def _held(block: Block, level: float, curve: BandCurve | None) -> BlockExpectation:
    """Hold the readings of a block against what is expected of them."""
    width = FEW_WIDTH if len(block) < FEW else SWEEP_WIDTH if block.is_sweep else LINE_WIDTH
    floor = FLOOR * float(np.abs(block.output).max()) + STEPS * block.step
    expected, half = expected_output(block.nominal, block.frequency_hz, level, curve, width, floor)
    apart = np.abs(block.output - expected) > half
    departure = np.log(np.maximum(block.output / expected, 1e-9))
    bent = bent_ends(departure, apart, block.moves, block.output, is_sweep=block.is_sweep)
    bent &= ~_repeats_a_neighbour(block)
    return BlockExpectation(
        block=block, gain=level, curve=curve, width=width, floor=floor, apart=apart, suspect=apart & ~bent
    )


def _one_row_on(block: Block) -> FloatArray:
    """Ln of the output over the nominal output of the row before, shape (n,): as if a value had been written twice."""
    return np.log(np.maximum(block.output / np.roll(block.nominal, 1), 1e-9))


def _repeats_a_neighbour(block: Block) -> BoolArray:
    """Which outputs stand in the row above or below, too, to the last digit."""
    same = np.diff(block.output) == 0.0
    return np.append(same, False) | np.append(False, same)


def _at_reference(case: Case) -> float:
    """Ln of what Butterworth filters at the specified corners take at the reference frequency: nominal is with it."""
    band = case.channel.band
    assert band is not None  # the caller has asked
    order = 2
    parts = ((band.corner_low_hz or 0.0) / band.reference_hz, band.reference_hz / (band.corner_high_hz or math.inf))
    return float(sum(-0.5 * math.log1p(ratio ** (2 * order)) for ratio in parts))


def expected_output(
    nominal: FloatArray, f: FloatArray, gain: float, curve: BandCurve | None, width: float, floor: float
) -> tuple[FloatArray, FloatArray]:
    """Return the expected output, less the zero, and the half width about it; shape (n,) each."""
    if curve is None:
        expected = nominal * math.exp(gain)
        return expected, width * expected + floor
    value, u = curve.at(f)
    taken = np.maximum(curve.parameters[0, 0] - value, 0.0)  # ln of what the filters take away
    expected = nominal * np.exp(value)
    return expected, (width + 2.0 * u + 0.03 * taken) * expected + floor
