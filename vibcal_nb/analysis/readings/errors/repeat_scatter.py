"""What repeat readings show of settling and reading: their pooled scatter, less what the display rounds.

Repeats that differ by no more than a display rounds show nothing: their scatter is hidden, not absent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT, group_close
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray

FEWEST_DEGREES = 4  # with fewer, the scatter of repeats is known less well than the default's judgement
ROOT_12 = math.sqrt(12.0)


@dataclass(frozen=True, kw_only=True)
class RepeatScatter:
    """Pooled standard deviation of output over level among repeats, and what rounding gives of it; both in %.

    ``degrees_of_freedom`` is 0 where nothing was repeated.
    """

    pooled_pct: float
    rounding_pct: float
    degrees_of_freedom: int

    @property
    def hidden(self) -> bool:
        """Whether rounding alone explains the scatter: beyond it nothing is shown at 5 %."""
        nu = self.degrees_of_freedom
        return nu > 0 and self.pooled_pct**2 * nu <= self.rounding_pct**2 * float(chdtri(nu, 0.05))

    @property
    def tells(self) -> bool:
        """Whether there are enough repeats, and more scatter than a display rounds."""
        return self.degrees_of_freedom >= FEWEST_DEGREES and self.pooled_pct > 0.0 and not self.hidden

    @property
    def settling_pct(self) -> float:
        """Standard uncertainty of settling and reading without rounding, in %."""
        return math.sqrt(max(self.pooled_pct**2 - self.rounding_pct**2, 0.0))

    @property
    def settling_degrees_of_freedom(self) -> float:
        """Degrees of freedom of ``settling_pct``, a difference of a variance known on nu and one known exactly."""
        return self.degrees_of_freedom * (self.settling_pct / self.pooled_pct) ** 4


def pool_repeats(scaled: ScaledReadings) -> RepeatScatter:
    """Pool the repeats of a case: same frequency, level and direction.

    A rounding is in the scatter only where the displayed numbers of a group differ: a display that stands still
    rounds all of them alike. Source: JCGM 100:2008, 4.2.4 and H.3.6 (pooled estimate), F.2.2.1 (resolution).
    """
    squares, rounding, nu = 0.0, 0.0, 0
    ratio = np.divide(scaled.y, scaled.x, out=np.zeros(len(scaled)), where=scaled.x > 0.0)
    for group in repeat_groups(scaled):
        relative = ratio[group] / ratio[group].mean() - 1.0
        squares += float(relative @ relative)
        rounding += (len(group) - 1) * _rounding_variance(scaled, group)
        nu += len(group) - 1
    if not nu:
        return RepeatScatter(pooled_pct=0.0, rounding_pct=0.0, degrees_of_freedom=0)
    return RepeatScatter(
        pooled_pct=100.0 * math.sqrt(squares / nu),
        rounding_pct=100.0 * math.sqrt(rounding / nu),
        degrees_of_freedom=nu,
    )


def _rounding_variance(scaled: ScaledReadings, group: NDArray[np.intp]) -> float:
    """Mean variance of the ratio that rounding gives within a group, relative."""
    variance = 0.0
    for value, step in ((scaled.x, scaled.resolution_x), (scaled.y, scaled.resolution_y)):
        if np.ptp(value[group]) > 0.0:
            variance += float(((step[group] / ROOT_12 / value[group]) ** 2).mean())
    return variance


def repeat_groups(scaled: ScaledReadings) -> list[NDArray[np.intp]]:
    """Return the indices of readings that repeat one another, used ones with a level and an output."""
    usable = np.flatnonzero(scaled.used & (scaled.x > 0.0) & (scaled.y > 0.0))
    directions = np.array([r.direction or "" for r in scaled.readings])
    groups = []
    for direction in np.unique(directions[usable]):
        same = usable[directions[usable] == direction]
        for at_frequency in group_close(scaled.frequency_hz[same], within_pct=SAME_FREQUENCY_PCT):
            chosen = same[at_frequency]
            levels = group_close(scaled.x[chosen], within_pct=SAME_LEVEL_PCT)
            groups += [chosen[level] for level in levels if len(level) > 1]
    return groups


def rounding_relative(scaled: ScaledReadings) -> FloatArray:
    """Return the relative standard uncertainty (n,) that both displays give to output over level; 0 at no level."""
    parts = np.zeros(len(scaled))
    for value, step in ((scaled.x, scaled.resolution_x), (scaled.y, scaled.resolution_y)):
        size = np.abs(value)
        parts += np.divide(step / ROOT_12, size, out=np.zeros(len(scaled)), where=size > 0.0) ** 2
    return np.sqrt(parts)
