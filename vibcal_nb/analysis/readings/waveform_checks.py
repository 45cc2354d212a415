"""What sampled signals hide: late settling, steps of the converter, folding, two clocks, mains in the tone.

Each check gives what it adds to the uncertainty of read over applied, relative, and sentences for a person.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.sine.distortion import APART_CYCLES, Distortion
from vibcal_nb.metrology.sine.sine_fit import SineFit, fit_sine_four
from vibcal_nb.metrology.sine.tones import Samples, SineFitError

FEWEST = 4  # blocks of which a trend is
MOVES = 4.0  # standard errors from which a trend is one
LOOKED_AT = 65_536  # samples in which the converter's step is looked for
MOST_PHASES, SAME_PHASE = 2000, 0.4
FOLDED = 6  # harmonics that may fold onto the tone
TWO_CLOCKS_CYCLES = 0.02  # by which two tracks drift apart over the record before it matters


@dataclass(frozen=True, kw_only=True)
class SettledRatio:
    """The blocks (``first``, ``last`` + 1) over which output over level rests.

    ``moves`` is what it moves by over them all the same, ``off`` how far their mean is from where it will rest; both
    relative, 0 where nothing moves.
    """

    first: int
    last: int
    moves: float
    off: float


def settled_ratio(ratios: FloatArray, first: int, last: int) -> SettledRatio:
    """Return the longest end of the blocks ``first`` to ``last`` over which the ratio shows no trend.

    Where even the last four blocks move, the last third is taken. What is left of an exponential that the earlier
    blocks follow is off by ``off``.
    """
    for begin in range(first, last - FEWEST + 1):
        if (moves := _moves(ratios[begin:last])) == 0.0:
            break
    else:
        begin = max(first, last - max(FEWEST, (last - first) // 3))
        moves = _moves(ratios[begin:last])
    off = 0.0 if begin == first and not moves else _left_of_an_exponential(ratios[first:last], begin - first)
    return SettledRatio(first=begin, last=last, moves=moves, off=off)


def _left_of_an_exponential(ratios: FloatArray, begin: int) -> float:
    """How far the mean from ``begin`` on is from where R (1 + a exp(-t/T)) rests; T is looked for on a grid."""
    t = np.arange(ratios.size, dtype=np.float64)
    best, found = math.inf, 0.0
    for constant in np.geomspace(1.0, 3.0 * ratios.size, 40):
        design = np.stack([np.ones(t.size), np.exp(-t / constant)])
        rest, size = np.linalg.lstsq(design.T, ratios, rcond=None)[0]
        left = float(np.square(ratios - rest - size * design[1]).sum())
        if left < best:
            best, found = left, float(size * design[1, begin:].mean() / rest) if rest else 0.0
    return found


def _moves(ratios: FloatArray) -> float:
    """Relative change along a straight line, 0 where it is none; halves are compared as well, which a curve needs."""
    x = np.arange(ratios.size, dtype=np.float64) - 0.5 * (ratios.size - 1)
    slope = float(x @ ratios / (x @ x))
    left = ratios - ratios.mean() - slope * x
    error = math.sqrt(float(left @ left) / max(ratios.size - 2, 1) / float(x @ x))
    mean = float(ratios.mean())
    if mean == 0.0 or not math.isfinite(mean):  # nothing came out, which is refused elsewhere
        return 0.0
    size = slope * (ratios.size - 1) / mean
    return size if abs(slope) > MOVES * error * (1.0 + 3.0 / (ratios.size - 2)) and abs(size) > 1e-5 else 0.0


def converter_step(y: Samples) -> float:
    """The least difference between samples that differ, 0 where they are not stepped: u is then the noise's alone."""
    values = np.unique(np.asarray(y[:LOOKED_AT], dtype=np.float64))
    if values.size < 3 or values.size > 0.2 * min(y.size, LOOKED_AT):
        return 0.0
    steps = np.diff(values)
    step = float(steps[steps > 1e-9 * float(np.ptp(values))].min())
    away = (values - values[0]) / step
    return step if float(np.abs(away - np.round(away)).max()) < 1e-3 else 0.0


def u_of_steps(y: Samples, fit: SineFit) -> float:
    """Standard uncertainty of an amplitude, relative, by the converter's steps where no noise smears them.

    Errors of q/sqrt(12) repeat with the distinct phases of the sampling, and do not average over more; the mean over
    all phases is off by up to (2 q/pi) J1(2 pi A/q), about 0.2 q sqrt(q/A) (Fourier series of a stepped sine; the
    envelope of J1 from memory). Noise of standard deviation s takes exp(-2 pi^2 s^2/q^2) of either away.
    """
    q, amplitude = converter_step(y), fit.amplitude
    if q == 0.0 or amplitude == 0.0:
        return 0.0
    phases = _distinct_phases(fit.frequency_hz / fit.sampling_hz, y.size)
    smeared = math.exp(-2.0 * math.pi**2 * max(fit.noise**2 / q**2 - 1.0 / 12.0, 0.0))
    repeated = q / math.sqrt(12.0) * math.sqrt(2.0 / max(phases, 2))
    mean = 0.2 * q * math.sqrt(q / max(amplitude, q))
    return smeared * math.hypot(repeated, mean) / amplitude


def _distinct_phases(turns: float, size: int) -> int:
    """Phases of the sine at which samples lie, halves of a cycle taken for one; all of them where none comes again."""
    count = np.arange(1, min(MOST_PHASES, size) + 1)
    drift = np.abs(turns * count - np.round(turns * count)) * size  # cycles by which a phase wanders, times count
    again = np.flatnonzero(drift < SAME_PHASE)
    phases = int(count[again[0]]) if again.size else size
    return phases // 2 if phases % 2 == 0 else phases


def is_too_coarse(y: Samples, amplitude: float) -> bool:
    """Whether the converter's steps are too coarse to see a flattened peak."""
    return converter_step(y) > 0.004 * amplitude


def folded_harmonics(frequency_hz: float, *, sampling_hz: float, length_s: float, is_dc: bool) -> tuple[float, ...]:
    """Return the harmonics in Hz, above half the sampling frequency, that fold onto the tone (or onto dc)."""
    found = []
    for order in range(2, FOLDED + 1):
        tone = order * frequency_hz
        seen = abs(tone - round(tone / sampling_hz) * sampling_hz)
        if tone > 0.5 * sampling_hz and (
            abs(seen - frequency_hz) * length_s < APART_CYCLES or (is_dc and seen * length_s < APART_CYCLES)
        ):
            found.append(tone)
    return tuple(found)


def own_frequency(output: Samples, fit: SineFit) -> SineFit | None:
    """Return the output's sine at its own frequency where two clocks drift apart; None where one clock ran."""
    try:
        own = fit_sine_four(output, sampling_hz=fit.sampling_hz, start_hz=fit.frequency_hz)
    except SineFitError:
        return None
    apart = abs(own.frequency_hz - fit.frequency_hz)
    drifted = apart * output.size / fit.sampling_hz
    certain = apart > 6.0 * math.hypot(own.u_frequency_hz, fit.u_frequency_hz)
    return own if TWO_CLOCKS_CYCLES < drifted < 3.0 and certain else None


def hidden_mains(distortion: Distortion, ratios: FloatArray, length_s: float) -> tuple[list[str], float]:
    """Say which mains tones lie in the signal, and how large one could be; what it may add, relative.

    A tone that drifts through half a cycle or more over the record beats with the signal, and shows in the blocks.
    """
    if not distortion.mains_hidden:
        return [], 0.0
    tone = distortion.frequency_hz
    beats = math.sqrt(2.0) * float(ratios.std(ddof=1)) / abs(float(ratios.mean())) if ratios.size > 1 else math.inf
    slow: list[str] = []
    seen: list[str] = []
    others: list[str] = []
    for hz in distortion.mains_hidden:
        near = abs(hz - tone) * length_s < APART_CYCLES
        (others if not near else seen if abs(hz - tone) * length_s >= 0.5 else slow).append(f"{hz:g}")
    said = []
    if slow:
        said.append(f"pick-up at {', '.join(slow)} Hz, of whatever size, could not be told from the signal")
    if seen:
        size = f"{100.0 * beats:.2g}"
        said.append(f"pick-up at {', '.join(seen)} Hz beats with the signal: at most about {size} % of it")
    if others:
        said.append(f"pick-up at {', '.join(others)} Hz could not be told from the signal's harmonics")
    return said, beats / math.sqrt(2.0) if seen else 0.0


def folding_sentences(hz: Sequence[float], *, frequency_hz: float, sampling_hz: float, stated: bool) -> list[str]:
    """Say what may fold onto the tone, and what may have folded where the tone itself was not stated."""
    said = []
    if hz:
        tones = ", ".join(f"{tone:.5g}" for tone in hz)
        said.append(f"a harmonic at {tones} Hz would fold onto the signal; make sure that a filter was there")
    if not stated:
        said.append(
            f"the frequency was not stated: {frequency_hz:.5g} Hz may be {sampling_hz - frequency_hz:.5g} Hz folded, "
            "where no filter was there; state frequency_hz"
        )
    return said
