"""A sine through sampled values: frequency, amplitude, phase and offset, each with its standard uncertainty.

IEEE Std 1057-2017, three-parameter (known frequency) and four-parameter (unknown frequency) least squares;
ISO 16063-11 uses the same. For white noise of standard deviation s the variances approach the Cramer-Rao
bounds 2 s^2/N (amplitude), 2 s^2/(N A^2) (phase at known frequency) and s^2/N (offset).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.sine.tones import (
    Samples,
    SineFitError,
    check_record,
    design_blocks,
    fit_tones,
    inverse_normal,
    solve_normal,
)

START_CYCLES = 20.0  # over so many, a start 1 % off strays by a fifth of a cycle
GROWTH = 4
MOST_ITERATIONS = 30
SETTLED_RAD = 1e-9
SEARCH_SAMPLES = 131_072
SAME_PLACES = 1e-12


@dataclass(frozen=True, kw_only=True)
class SineFit:
    """y = A cos(2 pi f t + phase) + C, t counted from the first sample.

    ``cosine`` and ``sine`` are the standard's A_0 and B_0: y = A_0 cos(wt) + B_0 sin(wt) + C. ``amplitude`` is
    the peak value. ``u_...`` are standard uncertainties for white noise of standard deviation ``noise``,
    estimated from the residuals; ``u_frequency_hz`` is 0 where the frequency was given. ``iterations`` holds
    (frequency in Hz, amplitude) after each step over the whole record, empty for three parameters.
    """

    frequency_hz: float
    u_frequency_hz: float
    amplitude: float
    u_amplitude: float
    phase_rad: float
    u_phase_rad: float
    offset: float
    u_offset: float
    cosine: float
    sine: float
    noise: float
    degrees_of_freedom: int
    samples: int
    sampling_hz: float
    iterations: tuple[tuple[float, float], ...]
    method: str

    @property
    def signal_to_noise_db(self) -> float:
        """Power of the sine over that of the residuals, in dB; infinite without residuals."""
        if self.noise == 0.0:
            return math.inf
        return 20.0 * math.log10(self.amplitude / math.sqrt(2.0) / self.noise) if self.amplitude else -math.inf


def fit_sine_three(y: Samples, *, sampling_hz: float, frequency_hz: float) -> SineFit:
    """Fit a sine of known frequency to samples ``y``, shape (n,). Raises ``SineFitError`` (see `fit_tones`)."""
    fit = fit_tones(y, sampling_hz=sampling_hz, frequencies_hz=[frequency_hz])
    state = np.array([fit.cosines[0], fit.sines[0], fit.offset, 0.0])
    covariance = np.zeros((4, 4))
    covariance[:3, :3] = fit.covariance
    return _state_sine(
        state, covariance, frequency_hz, fit.noise, y.size - 3, y.size, sampling_hz, (), "three-parameter"
    )


def fit_sine_four(y: Samples, *, sampling_hz: float, start_hz: float | None = None) -> SineFit:
    """Fit a sine of unknown frequency to samples ``y``, shape (n,); ``start_hz`` within about 1 %, or found.

    The iteration of the standard is run on a first part of twenty cycles, over which a start 1 % off cannot
    lose count of the cycles, then on parts four times as long each, and last on the whole record.
    Raises ``SineFitError`` with a sentence where no sine can be fitted.
    """
    frequency = estimate_frequency(y, sampling_hz=sampling_hz) if start_hz is None else start_hz
    check_record(y, sampling_hz=sampling_hz, frequencies_hz=np.array([frequency]), parameters=4)
    for part in _parts(y.size, START_CYCLES * sampling_hz / frequency):
        section = y[:part]
        state, covariance, frequency, steps = _iterate(section, sampling_hz, frequency)
    noise, freedom = _residual_noise(y, sampling_hz, frequency, state), y.size - 4
    return _state_sine(
        state, noise**2 * covariance, frequency, noise, freedom, y.size, sampling_hz, tuple(steps), "four-parameter"
    )


def _parts(size: int, first: float) -> list[int]:
    """Lengths of the parts to fit one after the other, the last of them the whole record."""
    parts, length = [], max(int(first), 8)
    while length < size:
        parts.append(length)
        length *= GROWTH
    return [*parts, size]


def _iterate(
    y: Samples, sampling_hz: float, frequency_hz: float
) -> tuple[FloatArray, FloatArray, float, list[tuple[float, float]]]:
    """Run the standard's iteration; return (A, B, C, step), inverse normal matrix, frequency, steps."""
    start = fit_tones(y, sampling_hz=sampling_hz, frequencies_hz=[frequency_hz])
    state = np.array([start.cosines[0], start.sines[0], start.offset, 0.0])
    steps: list[tuple[float, float]] = []
    length = y.size / sampling_hz
    for _ in range(MOST_ITERATIONS):
        state, normal = _step(y, sampling_hz, frequency_hz, state)
        frequency_hz += float(state[3]) / (2.0 * math.pi)
        if not 0.0 < frequency_hz < sampling_hz / 2.0:
            break
        steps.append((frequency_hz, math.hypot(state[0], state[1])))
        # A step below what a double holds of the frequency is no step.
        if abs(state[3]) * length < SETTLED_RAD or abs(state[3]) < SAME_PLACES * frequency_hz:
            return state, inverse_normal(normal), frequency_hz, steps
    raise SineFitError(
        "No sine of one frequency runs through the record; choose a settled part, or start nearer to its frequency."
    )


def _step(y: Samples, sampling_hz: float, frequency_hz: float, state: FloatArray) -> tuple[FloatArray, FloatArray]:
    """One linear least squares of cos, sin, 1 and the derivative by the angular frequency."""
    normal, right = np.zeros((4, 4)), np.zeros(4)
    for design, block, time in design_blocks(y, sampling_hz=sampling_hz, frequencies_hz=np.array([frequency_hz])):
        columns = np.vstack([design, time * (state[1] * design[0] - state[0] * design[1])])
        normal += columns @ columns.T
        right += columns @ block
    return solve_normal(normal, right), normal


def _residual_noise(y: Samples, sampling_hz: float, frequency_hz: float, state: FloatArray) -> float:
    squares = 0.0
    for design, block, _ in design_blocks(y, sampling_hz=sampling_hz, frequencies_hz=np.array([frequency_hz])):
        squares += float(np.square(block - state[:3] @ design).sum())
    return math.sqrt(squares / (y.size - 4))


def _state_sine(
    state: FloatArray,
    covariance: FloatArray,
    frequency_hz: float,
    noise: float,
    freedom: int,
    samples: int,
    sampling_hz: float,
    steps: tuple[tuple[float, float], ...],
    name: str,
) -> SineFit:
    """Turn (A_0, B_0, C, step) into amplitude and phase, with their uncertainties."""
    a, b = float(state[0]), float(state[1])
    amplitude = math.hypot(a, b)
    along = np.array([a, b, 0.0, 0.0]) / amplitude if amplitude else np.array([1.0, 0.0, 0.0, 0.0])
    across = np.array([b, -a, 0.0, 0.0]) / amplitude**2 if amplitude else np.zeros(4)
    return SineFit(
        frequency_hz=frequency_hz,
        u_frequency_hz=math.sqrt(covariance[3, 3]) / (2.0 * math.pi),
        amplitude=amplitude,
        u_amplitude=math.sqrt(max(float(along @ covariance @ along), 0.0)),
        phase_rad=math.atan2(-b, a),
        u_phase_rad=math.sqrt(max(float(across @ covariance @ across), 0.0)) if amplitude else math.pi,
        offset=float(state[2]),
        u_offset=math.sqrt(covariance[2, 2]),
        cosine=a,
        sine=b,
        noise=noise,
        degrees_of_freedom=freedom,
        samples=samples,
        sampling_hz=sampling_hz,
        iterations=steps,
        method=f"{name} least squares of IEEE Std 1057-2017",
    )


def estimate_frequency(y: Samples, *, sampling_hz: float) -> float:
    """Return the frequency in Hz of the strongest tone, from the middle of the record (at most 131 072 samples).

    Peak of the spectrum under a Hann window, between its neighbours by a parabola through the logarithms.
    Raises ``SineFitError`` where nothing stands out of the record.
    """
    if y.ndim != 1 or y.size < 8:
        raise SineFitError(f"The record has {y.size} samples where 8 are needed; give a longer one.")
    start = max((y.size - SEARCH_SAMPLES) // 2, 0)
    part = np.asarray(y[start : start + SEARCH_SAMPLES], dtype=np.float64)
    if not np.isfinite(part).all():
        raise SineFitError("The record holds samples that are no numbers; cut them out or record again.")
    spectrum = np.abs(np.fft.rfft((part - part.mean()) * np.hanning(part.size)))
    peak = 1 + int(np.argmax(spectrum[1:-1]))
    if spectrum[peak] <= 1e-12 * part.size * max(float(np.abs(part).max()), np.finfo(float).tiny):
        raise SineFitError("The record is constant; connect the signal and record again.")
    low, top, high = np.log(np.maximum(spectrum[peak - 1 : peak + 2], np.finfo(float).tiny))
    bend = low - 2.0 * top + high
    shift = 0.5 * float((low - high) / bend) if bend < 0.0 else 0.0
    return (peak + min(max(shift, -0.5), 0.5)) * sampling_hz / part.size


def phase_difference_rad(first: SineFit, second: SineFit) -> float:
    """Phase of the second sine less that of the first, between -pi and pi."""
    return math.remainder(second.phase_rad - first.phase_rad, 2.0 * math.pi)
