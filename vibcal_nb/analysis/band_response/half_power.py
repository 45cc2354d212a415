"""Model-free corners: where the response, interpolated monotonically in logarithms, falls to half power.

Their uncertainty has two parts. What the readings' errors do to the crossing is propagated. What lies between two
readings is nobody's knowledge: the cubic and the straight chord are taken as the two ends of what it may be,
rectangular about the cubic (judgement, tried on filters of many shapes); where the response falls by more than a
factor e from one reading to the next, the half-width grows with the fall, and beyond e^2 the crossing may be anywhere
between the two.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.numerics.monotone_cubic import MonotoneCubic

HALF_POWER = math.sqrt(0.5)
STEEPEST = 2.0  # fall of ln S between two readings beyond which nothing tells where between them it fell
STEP = 1e-4  # of ln S, for derivatives of a crossing


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """Where the interpolated response passes half power of the reading at the reference frequency.

    ``u_readings`` is the standard uncertainty of ``ln_f`` from the readings, ``half_width`` the half-width of what
    interpolation leaves open, both of ln f. ``u_scatter`` is that of the readings where each has its own errors alone,
    which is what tells them from a model. ``falls`` counts how often the readings fall to half power on that side.
    Without a crossing ``ln_f`` is None and ``why`` says why.
    """

    ln_f: float | None = None
    u_readings: float = 0.0
    u_scatter: float = 0.0
    half_width: float = 0.0
    falls: int = 0
    why: str | None = None

    @property
    def u(self) -> float:
        """Standard uncertainty of ln f (JCGM 100:2008, 4.3.7 for the rectangular part)."""
        return math.hypot(self.u_readings, self.half_width / math.sqrt(3.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class HalfPower:
    """ln S over ln f, one reading a frequency and ascending (n,), with its covariances (n, n).

    ``own_covariance`` is that of the readings where each has its own errors alone.
    ``reference`` is the place of the reading that half power is related to.
    """

    ln_f: FloatArray
    ln_s: FloatArray
    covariance: FloatArray
    own_covariance: FloatArray
    reference: int

    @property
    def ln_reference(self) -> float:
        """Ln f of the reading that half power is related to."""
        return float(self.ln_f[self.reference])

    @property
    def why_no_plateau(self) -> str | None:
        """Why half power of the reference reading is no corner: others lie beyond twice its power; None where none."""
        highest = math.exp(float(self.ln_s.max() - self.ln_s[self.reference]))
        if highest * HALF_POWER < 1.0:
            return None
        return f"the readings rise to {100.0 * highest:.3g} % of the reference reading, which marks no plateau"

    def crossings(self) -> tuple[Crossing, Crossing]:
        """Return the crossings first met outward from the reference frequency, low and high."""
        last = self.ln_f.size
        return self._outward(range(self.reference, -1, -1), "low"), self._outward(range(self.reference, last), "high")

    def at(self, left: int, ln_s: FloatArray) -> float:
        """Return the ln f at which ``ln_s`` (n,) passes half power of its reference between ``left`` and the next."""
        level = float(ln_s[self.reference]) + math.log(HALF_POWER)
        return MonotoneCubic(self.ln_f, ln_s).crossing(level, left)

    def _outward(self, path: range, side: str) -> Crossing:
        level = float(self.ln_s[self.reference]) + math.log(HALF_POWER)
        falls = [(i, o) for i, o in itertools.pairwise(path) if self.ln_s[i] >= level > self.ln_s[o]]
        if not falls:
            return Crossing(
                why=f"no reading on the {side}-frequency side falls to half power (70.7 %) of the reference reading"
            )
        left = min(falls[0])
        ln_f = self.at(left, self.ln_s)
        fall = abs(float(self.ln_s[left + 1] - self.ln_s[left]))
        beside = abs(self._chord(left, level, self.ln_s) - ln_f) * max(fall, 1.0)
        slope = self._slope(left, ln_f)
        farther = max(ln_f - float(self.ln_f[left]), float(self.ln_f[left + 1]) - ln_f)
        return Crossing(
            ln_f=ln_f,
            u_readings=math.sqrt(float(slope @ self.covariance @ slope)),
            u_scatter=math.sqrt(float(slope @ self.own_covariance @ slope)),
            half_width=max(beside, farther) if fall > STEEPEST else beside,
            falls=len(falls),
        )

    def _chord(self, left: int, level: float, ln_s: FloatArray) -> float:
        share = (level - ln_s[left]) / (ln_s[left + 1] - ln_s[left])
        return float(self.ln_f[left] + share * (self.ln_f[left + 1] - self.ln_f[left]))

    def _slope(self, left: int, ln_f: float) -> FloatArray:
        """How each reading moves a crossing, (n,)."""
        slope = np.zeros(self.ln_f.size)
        moving = {self.reference, *range(max(left - 1, 0), min(left + 3, slope.size))}
        for i in moving:
            moved = np.array(self.ln_s)
            moved[i] += STEP
            slope[i] = (self._crossing_near(left, moved) - ln_f) / STEP
        return slope

    def _crossing_near(self, left: int, ln_s: FloatArray) -> float:
        """The crossing where a reading moved a little: beyond the two readings by their chord."""
        level = float(ln_s[self.reference]) + math.log(HALF_POWER)
        within = (ln_s[left] - level) * (ln_s[left + 1] - level) <= 0.0
        return self.at(left, ln_s) if within else self._chord(left, level, ln_s)


def half_power_of(
    ln_f: FloatArray, ln_s: FloatArray, errors: CorrelatedErrors, *, reference_hz: float
) -> HalfPower | str:
    """Merge readings (n,) of one frequency into one; or say why nothing can be related to the reference frequency."""
    distinct, group = np.unique(ln_f, return_inverse=True)
    near = np.flatnonzero(at_frequency(np.exp(distinct), reference_hz))
    if not near.size:
        return f"no reading at the reference frequency {reference_hz:g} Hz to relate the response to"
    share = np.zeros((distinct.size, ln_f.size))
    share[group, np.arange(ln_f.size)] = 1.0
    share /= share.sum(axis=1, keepdims=True)
    return HalfPower(
        ln_f=distinct,
        ln_s=share @ ln_s,
        covariance=share @ errors.expected @ share.T,
        own_covariance=share @ errors.covariance @ share.T,
        reference=int(near[np.argmin(np.abs(distinct[near] - math.log(reference_hz)))]),
    )
