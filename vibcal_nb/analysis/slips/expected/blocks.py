"""Readings that one expectation holds for: one frequency of a line, or one sweep over frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.channel.module_alone import nominal_at
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

SWEEPS = (BAND_RESPONSE, SENSOR_ALONE)


@dataclass(frozen=True, kw_only=True, eq=False)
class Block:
    """Used readings at a level above 0, in the order of the table; arrays (n,) in the units of the part under test.

    ``output`` is less the output zero, ``nominal`` what the nominal sensitivity gives; ``step`` is the last digit.
    """

    case: Case
    readings: tuple[Reading, ...]
    frequency_hz: FloatArray
    applied: FloatArray
    output: FloatArray
    nominal: FloatArray
    step: float

    def __len__(self) -> int:
        return len(self.readings)

    @property
    def is_sweep(self) -> bool:
        """Whether the frequency is what moves, not the level."""
        return self.case.test in SWEEPS

    @property
    def moves(self) -> FloatArray:
        """What the test moves: frequency or level, shape (n,)."""
        return self.frequency_hz if self.is_sweep else self.applied

    @property
    def ln_ratio(self) -> FloatArray:
        """Ln of output over nominal output, shape (n,); far below every real one where there is no output."""
        return np.log(np.maximum(self.output / self.nominal, 1e-9))


def blocks_of(case: Case) -> list[Block]:
    """Split the used readings of a case into blocks; none where the channel does not state the part under test."""
    if not _is_specified(case):
        return []
    scaled = scale_readings(case)
    stands = np.array([reading.exclude is None for reading in scaled.readings], dtype=bool)
    used = np.flatnonzero(stands & (scaled.x > 0.0))  # a failure signal of a loop, too, may be written down wrongly
    if not used.size:
        return []
    f = scaled.frequency_hz[used]
    whole = [np.arange(used.size)]
    groups = whole if case.test in SWEEPS else group_close(f, within_pct=SAME_FREQUENCY_PCT)
    nominal = (
        np.array([nominal_sensitivity(case, hz) for hz in f]) if case.test == MODULE_ALONE else case.nominal_sensitivity
    )
    full = scaled.x[used] * nominal
    return [
        Block(
            case=case,
            readings=tuple(scaled.readings[i] for i in used[g]),
            frequency_hz=f[g],
            applied=scaled.x[used][g],
            output=scaled.y[used][g],
            nominal=full[g],
            step=float(scaled.resolution_y[used][g].max()),
        )
        for g in groups
    ]


def _is_specified(case: Case) -> bool:
    """Whether the channel states what the part under test should do."""
    part = {SENSOR_ALONE: case.channel.sensor, MODULE_ALONE: case.channel.module}
    return part.get(case.test, case.channel) is not None


def nominal_sensitivity(case: Case, frequency_hz: float) -> float:
    """Return the nominal sensitivity of the part under test at a frequency, without its band."""
    if case.test == MODULE_ALONE and case.channel.module is not None:
        return nominal_at(case.channel, frequency_hz)
    return case.nominal_sensitivity


def scaled_point(case: Case, reading: Reading) -> tuple[float, float, float]:
    """Return the level, the output less the zero, and the nominal output of one reading, in the part's units."""
    hz = reading.frequency_hz
    x = convert(reading.applied, reading.applied_unit, case.input_unit, frequency_hz=hz)
    y = convert(reading.output, reading.output_unit, case.output_unit) - case.output_zero
    return x, y, x * nominal_sensitivity(case, hz)


def line_tests() -> tuple[str, ...]:
    """Tests in which the level moves at one frequency."""
    return (LINEARITY, MODULE_ALONE)
