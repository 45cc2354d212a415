"""Filters of many shapes as an analogue designer knows them (scipy.signal), and where their half power lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import optimize, signal


@dataclass(frozen=True, eq=False)
class Prototype:
    """A low pass by its poles, in rad/s."""

    poles: np.ndarray

    def gain(self, omega: np.ndarray) -> np.ndarray:
        """Complex response re that at rest."""
        rest = float(np.real(np.prod(-self.poles)))
        return np.asarray(signal.freqs_zpk([], self.poles, rest, worN=np.atleast_1d(omega))[1])

    @cached_property
    def half_power(self) -> float:
        """Where the response falls to half power of that at rest, in rad/s, the last time."""
        grid = np.geomspace(0.02, 50.0, 4000)
        last = np.flatnonzero(np.abs(self.gain(grid)) >= math.sqrt(0.5))[-1]
        return float(optimize.brentq(lambda w: abs(self.gain(w)[0]) - math.sqrt(0.5), grid[last], grid[last + 1]))


def damped(damping: float) -> Prototype:
    """Return a second order of a damping ratio, natural frequency 1 rad/s."""
    return Prototype(np.roots([1.0, 2.0 * damping, 1.0]))


def cascade(*corners: float) -> Prototype:
    """Return first orders in series, with their own corners in rad/s."""
    return Prototype(-np.array(corners, dtype=complex))


def butter(order: int) -> Prototype:
    return Prototype(signal.butter(order, 1.0, analog=True, output="zpk")[1])


def bessel(order: int) -> Prototype:
    return Prototype(signal.bessel(order, 1.0, analog=True, output="zpk", norm="mag")[1])


def chebyshev(order: int, ripple_db: float) -> Prototype:
    return Prototype(signal.cheby1(order, ripple_db, 1.0, analog=True, output="zpk")[1])


BUTTERWORTH = {f"Butterworth {n}": butter(n) for n in (1, 2, 3, 4, 6, 8)}
WRONG_SHAPES = {
    **{f"damping {h:g}": damped(h) for h in (0.5, 0.55, 0.6, 0.65, 0.68, 0.7, 0.72, 0.75, 0.8)},
    "2 first orders alike": cascade(1.0, 1.0),
    "2 first orders, 1 to 3": cascade(1.0, 3.0),
    "3 first orders alike": cascade(1.0, 1.0, 1.0),
    "4 first orders alike": cascade(1.0, 1.0, 1.0, 1.0),
    **{f"Bessel {n}": bessel(n) for n in (2, 3, 4)},
    **{f"Chebyshev 0.2 dB {n}": chebyshev(n, 0.2) for n in (2, 3, 4, 5)},
}
"""Shapes that no Butterworth filter has."""


@dataclass(frozen=True)
class FilteredBand:
    """A channel's response: high pass and low pass of given shapes, each with half power at its corner in Hz."""

    low: tuple[Prototype, float] | None = None
    high: tuple[Prototype, float] | None = None

    def response(self, hz: np.ndarray) -> np.ndarray:
        """Complex response re the plateau, output over level."""
        hz = np.atleast_1d(np.asarray(hz, float))
        found = np.ones(hz.shape, dtype=complex)
        if self.low is not None:
            shape, corner = self.low  # s of a low pass becomes 1/s of a high pass
            found = found * np.conj(shape.gain(corner / hz * shape.half_power))
        if self.high is not None:
            shape, corner = self.high
            found = found * shape.gain(hz / corner * shape.half_power)
        return found

    def half_power_hz(self, side: str, reference_hz: float) -> float:
        """Where the response passes half power of that at the reference frequency, in Hz."""
        corner = (self.low if side == "low" else self.high)[1]
        level = abs(self.response(reference_hz)[0]) * math.sqrt(0.5)

        def above(ln_f: float) -> float:
            return float(abs(self.response(math.exp(ln_f))[0]) - level)

        return math.exp(float(optimize.brentq(above, math.log(corner / 1.6), math.log(corner * 1.6))))
