"""Readings of one case as arrays in the units of the part under test."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.errors.display_steps import WrittenNumber, find_steps
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.model.case import Case
from vibcal_nb.model.current_loop import is_failure_signal, is_loop
from vibcal_nb.model.equipment import Display, Readout, Reference
from vibcal_nb.model.names import INDICATION
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import Unit, convert


@dataclass(frozen=True, kw_only=True, eq=False)
class ScaledReadings:
    """Readings in table order; every array has shape (n,), excluded readings included.

    ``x`` is the applied level in the case's input unit, ``y`` the output in its output unit less the output
    zero, ``output`` the output with it. ``resolution_x`` and ``resolution_y`` are the steps of what was read (see
    ``display_steps``), in the same units (0 where unknown). ``failure_signal`` marks currents of a loop that say that
    the transmitter has failed, and nothing about the level. ``used`` is False where a reading is excluded, or is such a
    signal; ``noise`` is True where an alternating output was read at no level, which tells the noise and stays out of
    every line.
    """

    readings: tuple[Reading, ...]
    frequency_hz: FloatArray
    x: FloatArray
    y: FloatArray
    output: FloatArray
    resolution_x: FloatArray
    resolution_y: FloatArray
    failure_signal: NDArray[np.bool_]
    used: NDArray[np.bool_]
    noise: NDArray[np.bool_]

    @property
    def on_a_line(self) -> NDArray[np.bool_]:
        """Which readings lines are drawn through; shape (n,)."""
        return self.used & ~self.noise

    def __len__(self) -> int:
        return len(self.readings)

    def at(self, chosen: NDArray[np.bool_]) -> ScaledReadings:
        """Return the readings where ``chosen`` (shape (n,)) is True."""
        return ScaledReadings(
            readings=tuple(r for r, keep in zip(self.readings, chosen, strict=True) if keep),
            frequency_hz=frozen(self.frequency_hz[chosen]),
            x=frozen(self.x[chosen]),
            y=frozen(self.y[chosen]),
            output=frozen(self.output[chosen]),
            resolution_x=frozen(self.resolution_x[chosen]),
            resolution_y=frozen(self.resolution_y[chosen]),
            failure_signal=self.failure_signal[chosen],
            used=self.used[chosen],
            noise=self.noise[chosen],
        )


def scale_readings(case: Case) -> ScaledReadings:
    """Convert a case's readings to the units of the part under test, at each reading's own frequency."""
    readings = case.readings
    frequency = np.array([r.frequency_hz for r in readings], dtype=np.float64)
    x_factor = _factors([r.applied_unit for r in readings], case.input_unit, frequency)
    y_factor = _factors([r.output_unit for r in readings], case.output_unit, frequency)
    output = np.array([r.output for r in readings]) * y_factor
    signal = _failure_signals(case)
    return ScaledReadings(
        readings=readings,
        frequency_hz=frozen(frequency),
        x=frozen(np.array([r.applied for r in readings]) * x_factor),
        y=frozen(output - case.output_zero),
        output=frozen(output),
        resolution_x=frozen(_steps(case, "applied") * x_factor),
        resolution_y=frozen(_steps(case, "output") * y_factor),
        failure_signal=signal,
        used=np.array([r.exclude is None for r in readings], dtype=bool) & ~signal,
        noise=np.array([r.applied == 0.0 and r.output_unit.detector != "dc" for r in readings], dtype=bool),
    )


def _failure_signals(case: Case) -> NDArray[np.bool_]:
    if not is_loop(case.output_unit, case.output_zero):
        return np.zeros(len(case.readings), dtype=bool)
    return np.array([is_failure_signal(r.output, r.output_unit) for r in case.readings], dtype=bool)


def _factors(units: list[Unit], to_unit: Unit, frequency_hz: FloatArray) -> FloatArray:
    factors = np.empty(len(units))
    names = np.array([unit.text for unit in units])
    for name, unit in {unit.text: unit for unit in units}.items():
        at = names == name
        factors[at] = convert(np.ones(int(at.sum())), unit, to_unit, frequency_hz=frequency_hz[at])
    return factors


def _steps(case: Case, which: Literal["applied", "output"]) -> FloatArray:
    numbers = [_written(r, which) for r in case.readings]
    instruments: tuple[Reference | Readout, ...] = case.references if which == "applied" else case.readouts
    indication = case.channel.indication
    if which == "output" and case.test == INDICATION and indication is not None and indication.display_step:
        return find_steps(numbers, [Display(step=indication.display_step, unit=indication.unit)])
    steps = find_steps(numbers, [item.display for item in instruments if item.display is not None])
    return steps if which == "output" else steps * np.array([_level_per_output(r) for r in case.readings])


def _written(reading: Reading, which: str) -> WrittenNumber:
    """The number as it was read: of a level that is known by a reference's own output, that output."""
    name = "reference_output" if which == "applied" and reading.reference_output is not None else which
    return WrittenNumber(
        value=getattr(reading, name),
        unit=getattr(reading, f"{name}_unit"),
        decimals=getattr(reading, f"{name}_decimals"),
        frequency_hz=reading.frequency_hz,
    )


def _level_per_output(reading: Reading) -> float:
    return reading.applied / reading.reference_output if reading.reference_output else 1.0
