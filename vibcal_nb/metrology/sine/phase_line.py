"""A straight line through phases over frequency: its intercept tells the polarity, its slope the delay.

phase = intercept - 360 degrees x delay x f. Phases are known but for whole turns, so that the delay is searched for
first: the line about which the phases gather most closely (a periodogram over delays). What frequencies that lie far
apart leave open is decided by the shortest delay, for a delay is never negative by more than its uncertainty.

Filters bend the line: at the low end by a lead that falls as 1/f, at the high end by a lag that grows as f^3 beside its
delay (the first terms of the phase of any filter without zeros, far from its corners). Both are fitted where the line
does not hold and they explain why.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import fdtrc

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, expand
from vibcal_nb.metrology.uncertainty.fitness import SIGNIFICANCE, Fitness
from vibcal_nb.metrology.unusable import Unusable

FEWEST = 3
STRAIGHT = "straight line"
BENT = "straight line, bent by filters"
WIDEST_DEG = 5.0
"""Root mean square of residuals up to which scatter beyond the errors' budget is taken for scatter. Judgement."""
_TURN = 360.0
_STEPS = 16  # of the search, within the width of a peak
_MOST_STEPS = 100_000
_LONGEST_S = 0.05  # searched at least
_AS_GOOD = 9.0  # of chi-squared: three standard deviations


class PhaseError(Unusable):
    """Phases that no line can be drawn through; the text is one sentence."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PhaseLine:
    """A line through phases: ``intercept_deg`` in (-180, 180], ``delay_s`` its slope over -360 degrees.

    ``bends`` (2,) are the factors of f0/f and (f/f0)^3 in degrees, with f0 the geometric mean ``middle_hz``; 0 where
    the line is straight. ``covariance`` (p, p) is that of intercept, slope in degrees per Hz and bends, widened as the
    fitness asks. ``left_open`` are standard uncertainties of intercept and slope by what the bends leave out: how far
    two more terms of the filters' phase move both. ``residual_deg`` (n,) is phase less line. ``holds`` says whether the
    line describes the phases.
    """

    intercept_deg: float
    slope_deg_per_hz: float
    bends: tuple[float, float]
    middle_hz: float
    covariance: FloatArray
    left_open: tuple[float, float]
    fitness: Fitness
    residual_deg: FloatArray
    holds: bool
    probability: float = PROBABILITY

    @property
    def shape(self) -> str:
        """``STRAIGHT`` or ``BENT``."""
        return BENT if any(self.bends) else STRAIGHT

    @property
    def delay_s(self) -> float:
        """The delay in s; positive where the output lags."""
        return -self.slope_deg_per_hz / _TURN

    @property
    def expanded_delay_s(self) -> Expanded:
        """Expanded uncertainty of the delay in s."""
        return self._expand(math.hypot(math.sqrt(float(self.covariance[1, 1])), self.left_open[1]) / _TURN)

    @property
    def expanded_intercept_deg(self) -> Expanded:
        """Expanded uncertainty of the intercept in degrees."""
        return self._expand(math.hypot(math.sqrt(float(self.covariance[0, 0])), self.left_open[0]))

    @property
    def rms_residual_deg(self) -> float:
        """Root mean square of the residuals in degrees."""
        return math.sqrt(float(np.mean(self.residual_deg**2)))

    def at(self, frequency_hz: float) -> tuple[float, Expanded]:
        """Return the phase of the line at a frequency in degrees, not reduced by turns, and its U."""
        row = _columns(np.array([frequency_hz]), self.middle_hz, bends=len(self.covariance) - 2)[0]
        values = np.array([self.intercept_deg, self.slope_deg_per_hz, *self.bends])[: row.size]
        return float(row @ values), self._expand(math.sqrt(max(float(row @ self.covariance @ row), 0.0)))

    def _expand(self, u: float) -> Expanded:
        return expand(u, self.fitness.nu, probability=self.probability)


def wrapped(phase_deg: float) -> float:
    """Return a phase in degrees without its whole turns, in (-180, 180].

    >>> wrapped(-190.0)
    170.0
    """
    left = math.remainder(phase_deg, _TURN)
    return 180.0 if left == -180.0 else left


def fit_phase_line(
    frequency_hz: FloatArray, phase_deg: FloatArray, errors: CorrelatedErrors, *, probability: float = PROBABILITY
) -> PhaseLine:
    """Fit a line through phases (n,) in degrees at frequencies (n,) in Hz; ``errors`` are those of the phases.

    Raises ``PhaseError`` with a sentence where there are fewer than three frequencies.
    """
    f, phase = np.asarray(frequency_hz, float), np.asarray(phase_deg, float)
    apart = _distinct(f)
    if apart.size < FEWEST:
        raise PhaseError(f"a phase at {apart.size} frequencies, where a line needs {FEWEST}")
    straight = _best(f, phase, errors, apart, probability, bends=0)
    if straight.fitness.holds or apart.size < FEWEST + 3:
        return straight
    bent = _best(f, phase, errors, apart, probability, bends=2)
    if not _explains(bent.fitness, straight.fitness):
        return straight
    further = _best(f, phase, errors, apart, probability, bends=4) if apart.size > FEWEST + 5 else straight
    return replace(bent, left_open=_apart(bent, further))


def _apart(bent: PhaseLine, other: PhaseLine) -> tuple[float, float]:
    """Standard uncertainties of intercept and slope: by how much another shape moves them."""
    moved = wrapped(other.intercept_deg - bent.intercept_deg)
    return abs(moved), abs(other.slope_deg_per_hz - bent.slope_deg_per_hz)


def _distinct(f: FloatArray) -> FloatArray:
    """The frequencies that lie more than 1 % apart, ascending."""
    found: list[float] = []
    for value in np.sort(f):
        if not found or value > 1.01 * found[-1]:
            found.append(float(value))
    return np.array(found)


def _best(
    f: FloatArray, phase: FloatArray, errors: CorrelatedErrors, apart: FloatArray, probability: float, *, bends: int
) -> PhaseLine:
    """The line of the shortest delay among those that fit about as well as the best."""
    turns = {tuple(found): found for found in _turns(f, phase, errors.u, apart)}
    lines = [_fit(f, phase + _TURN * found, errors, probability, bends=bends) for found in turns.values()]
    least = min(line.fitness.chi_squared for line in lines)
    room = _AS_GOOD * max(1.0, least / max(lines[0].fitness.degrees_of_freedom, 1))
    as_good = [line for line in lines if line.fitness.chi_squared <= least + room]
    return min(as_good, key=lambda line: (line.delay_s < -2.0 * line.expanded_delay_s.U, abs(line.delay_s)))


def _turns(f: FloatArray, phase: FloatArray, u: FloatArray, apart: FloatArray) -> Iterator[FloatArray]:
    """Whole turns (n,) to add to the phases: from step to step by the shortest way, and about each likely delay."""
    order = np.argsort(f, kind="stable")
    shortest = np.empty(f.size)
    shortest[order] = np.round((np.unwrap(phase[order], period=_TURN) - phase[order]) / _TURN)
    yield shortest - shortest[order[0]]
    for delay_s in _likely_delays(f, phase, u, apart):
        rest = phase + _TURN * delay_s * f
        middle = math.degrees(float(np.angle(np.sum(np.exp(1j * np.radians(rest)) / u**2))))
        yield np.round((middle - rest) / _TURN)


def _likely_delays(f: FloatArray, phase: FloatArray, u: FloatArray, apart: FloatArray) -> FloatArray:
    """The delays about which the phases gather: peaks of a periodogram, up to half a turn between neighbours."""
    most = max(0.5 / float(np.diff(apart).min()), _LONGEST_S)
    steps = min(int(2.0 * most * float(np.ptp(apart)) * _STEPS) | 1, _MOST_STEPS)
    delays = np.linspace(-most, most, max(steps, 3))
    weights = np.minimum(1.0 / u**2, 10.0 / float(np.median(u)) ** 2)
    total = np.zeros(delays.size, dtype=complex)
    for hz, deg, weight in zip(f, phase, weights / weights.sum(), strict=True):
        total += weight * np.exp(1j * (math.radians(deg) + 2.0 * math.pi * hz * delays))
    gathered = np.abs(total)
    inner = (gathered[1:-1] >= gathered[:-2]) & (gathered[1:-1] >= gathered[2:])
    peaks = np.r_[0, 1 + np.flatnonzero(inner), delays.size - 1]
    likely = peaks[gathered[peaks] > 0.9 * gathered.max()]
    return np.asarray(delays[likely[np.argsort(-gathered[likely])][:64]])


def _fit(f: FloatArray, phase: FloatArray, errors: CorrelatedErrors, probability: float, *, bends: int) -> PhaseLine:
    middle = math.exp(float(np.log(f).mean()))
    columns = _columns(f, middle, bends=bends)
    left, right = errors.whiten_columns(columns), errors.whiten(phase)
    size = np.sqrt((left**2).sum(axis=0))
    inverse = np.linalg.pinv(left / size)
    values = (inverse @ right) / size
    residual = phase - columns @ values
    fitness = Fitness(
        chi_squared=float((errors.whiten(residual) ** 2).sum()), degrees_of_freedom=f.size - columns.shape[1]
    )
    intercept = wrapped(float(values[0]))
    return PhaseLine(
        intercept_deg=intercept,
        slope_deg_per_hz=float(values[1]),
        bends=(float(values[2]), float(values[3])) if bends else (0.0, 0.0),
        left_open=(0.0, 0.0),
        middle_hz=middle,
        covariance=frozen((inverse @ inverse.T) / np.outer(size, size) * fitness.widening),
        fitness=fitness,
        residual_deg=frozen(residual),
        holds=fitness.holds or math.sqrt(float(np.mean(residual**2))) <= WIDEST_DEG,
        probability=probability,
    )


def _columns(f: FloatArray, middle: float, *, bends: int) -> FloatArray:
    """The columns of intercept, slope, and as many bends: 1/f, f^3, 1/f^3, f^5."""
    r = f / middle
    return np.stack([np.ones(f.size), f, *(1.0 / r, r**3, r**-3, r**5)[:bends]], axis=1)


def _explains(bent: Fitness, straight: Fitness) -> bool:
    """Whether bends explain what a straight line leaves, at 0.1 % (Fisher's F, any textbook on regression)."""
    nu, taken = bent.degrees_of_freedom, straight.degrees_of_freedom - bent.degrees_of_freedom
    if nu < 1 or bent.chi_squared == 0.0:
        return bent.chi_squared < straight.chi_squared
    ratio = (straight.chi_squared - bent.chi_squared) / taken / (bent.chi_squared / nu)
    return ratio > 0.0 and float(fdtrc(taken, nu, ratio)) < SIGNIFICANCE
