"""Least squares of an offset and tones of known frequency on a sampled record, block by block.

A record may be ten million samples long and lie on disk: only one block of it is in memory as numbers at a
time. The cosines of a block are those of the first block turned by a complex factor, so that no cosine is
computed twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.unusable import Unusable

BLOCK = 32_768
Samples = NDArray[np.floating] | NDArray[np.integer]


class SineFitError(Unusable):
    """A record that no sine can be fitted to; the text is one sentence saying what to do."""


@dataclass(frozen=True, kw_only=True, eq=False)
class TonesFit:
    """y(t) = C + sum over k of a_k cos(2 pi f_k t) + b_k sin(2 pi f_k t), t counted from the first sample.

    ``frequencies_hz``, ``cosines`` a, ``sines`` b: shape (m,). ``covariance`` is of (a_1, b_1, ..., a_m, b_m, C),
    shape (2m + 1, 2m + 1), for white noise of standard deviation ``noise``, which is taken from the
    residuals on ``degrees_of_freedom``. Amplitudes are peak values in the unit of the samples.
    """

    frequencies_hz: FloatArray
    cosines: FloatArray
    sines: FloatArray
    offset: float
    covariance: FloatArray
    noise: float
    degrees_of_freedom: int
    samples: int
    sampling_hz: float

    @property
    def amplitudes(self) -> FloatArray:
        """Peak amplitude of each tone, shape (m,)."""
        return frozen(np.hypot(self.cosines, self.sines))

    def phase_rad(self, tone: int = 0) -> float:
        """Phase of a tone at the first sample: a cos(wt) + b sin(wt) = A cos(wt + phase)."""
        return math.atan2(-float(self.sines[tone]), float(self.cosines[tone]))

    def u_amplitude(self, tone: int = 0) -> float:
        """Standard uncertainty of a tone's amplitude, from the noise."""
        return math.sqrt(self._quadratic(tone, self._along(tone)))

    def u_phase_rad(self, tone: int = 0) -> float:
        """Standard uncertainty of a tone's phase at its known frequency, from the noise."""
        a, b = self._along(tone)
        amplitude = float(self.amplitudes[tone])
        return math.sqrt(self._quadratic(tone, (-b, a))) / amplitude if amplitude else math.inf

    def _along(self, tone: int) -> tuple[float, float]:
        angle = self.phase_rad(tone)
        return math.cos(angle), -math.sin(angle)

    def _quadratic(self, tone: int, direction: tuple[float, float]) -> float:
        part = self.covariance[2 * tone : 2 * tone + 2, 2 * tone : 2 * tone + 2]
        vector = np.array(direction)
        return max(float(vector @ part @ vector), 0.0)


def fit_tones(y: Samples, *, sampling_hz: float, frequencies_hz: Sequence[float]) -> TonesFit:
    """Fit an offset and tones of the given frequencies (m,) in Hz to samples ``y``, shape (n,), n above 2m + 1.

    With one frequency this is the three-parameter fit of IEEE Std 1057-2017. Raises ``SineFitError`` where
    there are too few samples, a frequency is not between 0 and half the sampling frequency, or two
    frequencies lie too close together for the length of the record.
    """
    frequencies = np.asarray(frequencies_hz, dtype=np.float64)
    check_record(y, sampling_hz=sampling_hz, frequencies_hz=frequencies, parameters=2 * frequencies.size + 1)
    size = 2 * frequencies.size + 1
    normal, right = np.zeros((size, size)), np.zeros(size)
    for design, block, _ in design_blocks(y, sampling_hz=sampling_hz, frequencies_hz=frequencies):
        normal += design @ design.T
        right += design @ block
    solution = solve_normal(normal, right)
    squares = 0.0
    for design, block, _ in design_blocks(y, sampling_hz=sampling_hz, frequencies_hz=frequencies):
        squares += float(np.square(block - solution @ design).sum())
    freedom = y.size - size
    noise = math.sqrt(squares / freedom)
    return TonesFit(
        frequencies_hz=frozen(frequencies),
        cosines=frozen(solution[0:-1:2]),
        sines=frozen(solution[1:-1:2]),
        offset=float(solution[-1]),
        covariance=frozen(noise**2 * inverse_normal(normal)),
        noise=noise,
        degrees_of_freedom=freedom,
        samples=int(y.size),
        sampling_hz=sampling_hz,
    )


def check_record(y: Samples, *, sampling_hz: float, frequencies_hz: FloatArray, parameters: int) -> None:
    """Raise ``SineFitError`` where a record cannot carry the fit."""
    if y.ndim != 1 or y.size <= parameters:
        raise SineFitError(
            f"The record has {y.size} samples where more than {parameters} are needed; give a longer one."
        )
    if not (math.isfinite(sampling_hz) and sampling_hz > 0.0):
        raise SineFitError(f"The sampling frequency is {sampling_hz} Hz; give a number above 0.")
    outside = [f for f in frequencies_hz if not 0.0 < f < sampling_hz / 2.0]
    if outside:
        raise SineFitError(
            f"The frequency {outside[0]:g} Hz is not between 0 and half the sampling frequency of {sampling_hz:g} Hz; "
            "sample faster or correct the frequency."
        )


def design_blocks(
    y: Samples, *, sampling_hz: float, frequencies_hz: FloatArray
) -> Iterator[tuple[FloatArray, FloatArray, FloatArray]]:
    """Yield, block by block, the design matrix (2m + 1, b), the samples (b,) and their times (b,) in s.

    Rows are cos and sin of each frequency, then ones; times count from the first sample. Raises ``SineFitError``
    for samples that are not finite.
    """
    angular = 2.0 * math.pi * np.asarray(frequencies_hz) / sampling_hz
    first = np.exp(1j * np.outer(angular, np.arange(min(BLOCK, y.size))))
    for start in range(0, y.size, BLOCK):
        block = np.asarray(y[start : start + BLOCK], dtype=np.float64)
        if not np.isfinite(block).all():
            raise SineFitError("The record holds samples that are no numbers; cut them out or record again.")
        turned = first[:, : block.size] * np.exp(1j * angular * start)[:, np.newaxis]
        design = np.ones((2 * angular.size + 1, block.size))
        design[0:-1:2], design[1:-1:2] = turned.real, turned.imag
        yield design, block, np.arange(start, start + block.size) / sampling_hz


def solve_normal(normal: FloatArray, right: FloatArray) -> FloatArray:
    """Solve the normal equations, scaled to unit diagonal. Raises ``SineFitError`` where they are singular."""
    root, scale = _root(normal)
    half = np.linalg.solve(root, right * scale)
    return np.asarray(np.linalg.solve(root.T, half) * scale)


def inverse_normal(normal: FloatArray) -> FloatArray:
    """Return the inverse of the normal matrix. Raises ``SineFitError`` where there is none."""
    root, scale = _root(normal)
    half = np.linalg.solve(root, np.diag(scale))
    return np.asarray(half.T @ half)


def _root(normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Cholesky factor of the matrix scaled to unit diagonal, and the scale."""
    scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), np.finfo(float).tiny))
    try:
        return np.asarray(np.linalg.cholesky(normal * np.outer(scale, scale)), dtype=np.float64), scale
    except np.linalg.LinAlgError:
        raise SineFitError(
            "The record is too short to tell its tones apart; record more cycles or ask for fewer tones."
        ) from None
