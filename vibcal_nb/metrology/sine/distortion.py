"""What a sampled sine carries beside its fundamental: harmonics, mains pick-up, noise, flattened peaks.

Total harmonic distortion: THD_F = sqrt(sum over k >= 2 of A_k^2)/A_1, and THD_R, which divides by the total
r.m.s. of fundamental and harmonics instead.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.sine.tones import BLOCK, Samples, TonesFit, fit_tones

HARMONICS = 10
MAINS_HZ = (50.0, 60.0)
MAINS_ORDERS = (1, 2, 3)
APART_CYCLES = 2.0  # over a record, two tones must drift apart by so many cycles to be told apart
PICK_UP_SIGMAS = 5.0
PICK_UP_LEAST = 0.001  # of the fundamental: below that it does not matter to a reading
PEAK_HALF_WIDTH_RAD = 0.2  # holds the flat of a sine clipped at 98 % of its peak
FLAT_BELOW = 0.4  # curvature of the peak in terms of the sine's own; a fifth of it is left by such a clip
FEWEST_IN_PEAK = 30


@dataclass(frozen=True, kw_only=True)
class PickUp:
    """A tone at the mains frequency or a harmonic of it; ``relative`` to the fundamental."""

    frequency_hz: float
    amplitude: float
    u_amplitude: float
    relative: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Distortion:
    """What a record carries beside its fundamental.

    ``harmonics`` holds the peak amplitudes of fundamental, second, third, ..., in the unit of the samples;
    ``noise`` is the standard deviation of what no tone explains. ``thd_f`` and ``thd_r`` are ratios.
    ``pick_up`` holds the mains tones that stand out; ``mains_hidden`` those mains frequencies in Hz that lie too
    near to a harmonic of the signal to be told from it. ``top_curvature`` and ``bottom_curvature`` are those of the
    peaks in terms of the fitted sine's (1 for a sine, 0 for a flat), None with too few samples there.
    """

    frequency_hz: float
    harmonics: FloatArray
    thd_f: float
    thd_r: float
    noise: float
    pick_up: tuple[PickUp, ...]
    mains_hidden: tuple[float, ...]
    top_curvature: float | None
    bottom_curvature: float | None
    fit: TonesFit

    @property
    def harmonic_sum(self) -> float:
        """The sum of the harmonics' amplitudes over the fundamental, 0 of nothing: what a peak may be off by."""
        fundamental = float(self.harmonics[0])
        return float(self.harmonics[1:].sum()) / fundamental if fundamental > 0.0 else 0.0

    @property
    def flattened(self) -> tuple[str, ...]:
        """Which peaks are flattened as by clipping: ``top``, ``bottom``."""
        sides = (("top", self.top_curvature), ("bottom", self.bottom_curvature))
        return tuple(name for name, curvature in sides if curvature is not None and curvature < FLAT_BELOW)


def total_harmonic_distortion(amplitudes: ArrayLike) -> tuple[float, float]:
    """Return (THD_F, THD_R) of the amplitudes of fundamental, second, third, ...; any one unit and detector.

    Raises ``ValueError`` where the fundamental is not positive.
    """
    values = np.asarray(amplitudes, dtype=np.float64)
    if values.size == 0 or not values[0] > 0.0:
        raise ValueError("The fundamental's amplitude is not above 0; there is nothing to refer the harmonics to.")
    rest = float(np.sqrt(np.square(values[1:]).sum()))
    return rest / float(values[0]), rest / math.hypot(float(values[0]), rest)


def assess_distortion(
    y: Samples, *, sampling_hz: float, frequency_hz: float, mains_hz: Sequence[float] = MAINS_HZ
) -> Distortion:
    """Take a record of samples ``y``, shape (n,), apart, given its fundamental in Hz (from a sine fit).

    Up to ten harmonics below half the sampling frequency are fitted together with the mains frequencies, so
    that neither leaks into the other. Raises ``SineFitError`` with a sentence where that cannot be done.
    """
    harmonics = [k * frequency_hz for k in range(1, HARMONICS + 1) if k == 1 or k * frequency_hz < 0.49 * sampling_hz]
    length_s = y.size / sampling_hz
    mains, hidden = _mains_tones(mains_hz, harmonics, length_s, sampling_hz)
    fit = fit_tones(y, sampling_hz=sampling_hz, frequencies_hz=[*harmonics, *mains])
    amplitudes = fit.amplitudes[: len(harmonics)]
    thd_f, thd_r = total_harmonic_distortion(amplitudes) if amplitudes[0] > 0.0 else (0.0, 0.0)
    top, bottom = _peak_curvatures(y, fit)
    return Distortion(
        frequency_hz=frequency_hz,
        harmonics=frozen(amplitudes),
        thd_f=thd_f,
        thd_r=thd_r,
        noise=fit.noise,
        pick_up=tuple(_pick_up(fit, len(harmonics))),
        mains_hidden=hidden,
        top_curvature=top,
        bottom_curvature=bottom,
        fit=fit,
    )


def _mains_tones(
    mains_hz: Sequence[float], harmonics: list[float], length_s: float, sampling_hz: float
) -> tuple[list[float], tuple[float, ...]]:
    """Mains frequencies that the record can tell from the harmonics and from each other, and those it cannot."""
    tones: list[float] = []
    hidden = []
    for tone in sorted({order * mains for mains in mains_hz for order in MAINS_ORDERS}):
        if tone >= 0.49 * sampling_hz:
            continue
        if all(abs(tone - other) * length_s >= APART_CYCLES for other in (*harmonics, *tones, 0.0)):
            tones.append(tone)
        else:
            hidden.append(tone)
    return tones, tuple(hidden)


def _pick_up(fit: TonesFit, first: int) -> list[PickUp]:
    found = []
    fundamental = float(fit.amplitudes[0])
    for tone in range(first, fit.frequencies_hz.size):
        amplitude, u = float(fit.amplitudes[tone]), fit.u_amplitude(tone)
        if amplitude > max(PICK_UP_SIGMAS * u, PICK_UP_LEAST * fundamental):
            found.append(
                PickUp(
                    frequency_hz=float(fit.frequencies_hz[tone]),
                    amplitude=amplitude,
                    u_amplitude=u,
                    relative=amplitude / fundamental if fundamental else math.inf,
                )
            )
    return found


def _peak_curvatures(y: Samples, fit: TonesFit) -> tuple[float | None, float | None]:
    """Slope of the samples about each peak against 1 - cos(phase), over that of the fitted sine."""
    amplitude = float(fit.amplitudes[0])
    sums = np.zeros((2, 5))
    angular, phase = 2.0 * math.pi * float(fit.frequencies_hz[0]) / fit.sampling_hz, fit.phase_rad()
    for start in range(0, y.size, BLOCK):
        block = np.asarray(y[start : start + BLOCK], dtype=np.float64) - fit.offset
        cosine = np.cos(angular * np.arange(start, start + block.size) + phase)
        for side, sign in enumerate((1.0, -1.0)):
            near = sign * cosine > math.cos(PEAK_HALF_WIDTH_RAD)
            x, value = 1.0 - sign * cosine[near], sign * block[near]
            sums[side] += (x.size, x.sum(), value.sum(), (x * x).sum(), (x * value).sum())
    top, bottom = (_curvature(row, amplitude, fit.noise) for row in sums)
    return top, bottom


def _curvature(sums: FloatArray, amplitude: float, noise: float) -> float | None:
    """None where the noise would leave the curvature open by more than a tenth of the sine's own."""
    n, x, y, xx, xy = (float(value) for value in sums)
    spread = xx - x * x / n if n else 0.0
    if n < FEWEST_IN_PEAK or spread <= 0.0 or amplitude == 0.0 or noise > 0.1 * amplitude * math.sqrt(spread):
        return None
    return -(xy - x * y / n) / spread / amplitude
