"""Readings of a gap curve as runs: each way over the gaps by itself, one voltage a gap, gaps ascending."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray, frozen

SAME_GAP = 1e-6  # relative to the largest gap: gaps that were typed alike


@dataclass(frozen=True, kw_only=True, eq=False)
class GapRun:
    """One way over the gaps; arrays have one entry a gap, shape (n,), gaps ascending.

    ``gap`` in the input unit, ``voltage`` in the output unit. ``members`` says which readings of the case each is the
    mean of: one, unless a gap was read twice without its direction or repeat being told.
    """

    direction: str | None
    repeat: int | None
    gap: FloatArray
    voltage: FloatArray
    members: tuple[NDArray[np.intp], ...]

    def __len__(self) -> int:
        return len(self.members)

    def spread(self, weights: FloatArray, count: int) -> FloatArray:
        """Return weights of the gaps (n,) as weights of the ``count`` readings of the case."""
        found = np.zeros(count)
        for weight, members in zip(weights, self.members, strict=True):
            found[members] += weight / members.size
        return found

    def within(self, low: float, high: float) -> GapRun:
        """Return the run from one gap to another, both included."""
        margin = SAME_GAP * max(abs(low), abs(high))
        kept = np.flatnonzero((self.gap >= low - margin) & (self.gap <= high + margin))
        return GapRun(
            direction=self.direction,
            repeat=self.repeat,
            gap=frozen(self.gap[kept]),
            voltage=frozen(self.voltage[kept]),
            members=tuple(self.members[i] for i in kept),
        )


def gap_runs(readings: ScaledReadings) -> tuple[GapRun, ...]:
    """Sort the used readings into runs, in the order in which each begins in the table."""
    used = np.flatnonzero(readings.used)
    keys = dict.fromkeys((readings.readings[i].direction, readings.readings[i].repeat) for i in used)
    return tuple(_run(readings, used, direction, repeat) for direction, repeat in keys)


def _run(readings: ScaledReadings, used: NDArray[np.intp], direction: str | None, repeat: int | None) -> GapRun:
    own = np.array(
        [i for i in used if (readings.readings[i].direction, readings.readings[i].repeat) == (direction, repeat)]
    )
    members = tuple(_same_gaps(readings.x, own[np.argsort(readings.x[own], kind="stable")]))
    return GapRun(
        direction=direction,
        repeat=repeat,
        gap=frozen(np.array([readings.x[m].mean() for m in members])),
        voltage=frozen(np.array([readings.y[m].mean() for m in members])),
        members=members,
    )


def _same_gaps(gap: FloatArray, ascending: NDArray[np.intp]) -> Iterator[NDArray[np.intp]]:
    margin = SAME_GAP * float(gap[ascending].max())
    starts = np.flatnonzero(np.diff(gap[ascending]) > margin) + 1
    yield from np.split(ascending, starts)
