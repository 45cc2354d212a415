"""A reading from sampled signals: the settled part of the record, both sines in it, and their uncertainty.

The record is cut into blocks of whole cycles. The settled part is the longest run of blocks over which the
reference's amplitude stays within a tolerance. In it the reference's frequency is fitted and the output at that
frequency (IEEE Std 1057-2017); the uncertainty of their ratio is the larger of what the noise gives (Cramer-Rao) and
what the blocks scatter, because pick-up and unsteadiness are no white noise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.readings.waveform_checks import (
    SettledRatio,
    folded_harmonics,
    folding_sentences,
    hidden_mains,
    is_too_coarse,
    own_frequency,
    settled_ratio,
    u_of_steps,
)
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.sine.distortion import Distortion, assess_distortion
from vibcal_nb.metrology.sine.sine_fit import SineFit, fit_sine_four, fit_sine_three, phase_difference_rad
from vibcal_nb.metrology.sine.tones import Samples, SineFitError

FEWEST_CYCLES = 5
MOST_BLOCKS = 100
FEWEST_BLOCKS = 4
TOLERANCE_PCT = 0.5
NOTHING = "A signal is nothing but zero over the settled part; connect it and record again."


@dataclass(frozen=True, kw_only=True, eq=False)
class WaveformReading:
    """What a record of reference and output says; amplitudes in the unit of the samples.

    ``applied`` is the reference's peak; ``read`` the output's peak, or its mean where ``output_is_dc``. ``start`` and
    ``stop`` bound the settled part in samples. ``block_s``, ``block_applied``, ``block_read`` (m,) are the blocks of
    the whole record, ``settled_blocks`` (first, last + 1) those used. ``u_pct`` is the standard uncertainty of
    read over applied in %, ``u_noise_pct`` the part of it that the noise explains. ``phase_deg`` is that of the
    output less the reference's (None of a dc output), ``u_phase_deg`` its standard uncertainty. ``findings`` are
    sentences.
    """

    frequency_hz: float
    applied: float
    read: float
    u_pct: float
    u_noise_pct: float
    output_is_dc: bool
    phase_deg: float | None
    u_phase_deg: float
    start: int
    stop: int
    samples: int
    sampling_hz: float
    block_s: FloatArray
    block_applied: FloatArray
    block_read: FloatArray
    settled_blocks: tuple[int, int]
    reference_fit: SineFit
    output_fit: SineFit
    reference_distortion: Distortion
    output_distortion: Distortion | None
    findings: tuple[str, ...]

    @property
    def settled_s(self) -> tuple[float, float]:
        """Begin and end of the settled part, in s from the record's first sample."""
        return self.start / self.sampling_hz, self.stop / self.sampling_hz


@refusing
def read_waveform(
    reference: Samples,
    output: Samples,
    *,
    sampling_hz: float,
    start_hz: float | None = None,
    output_is_dc: bool = False,
    tolerance_pct: float = TOLERANCE_PCT,
) -> WaveformReading:
    """Read the level and the output off two signals sampled together, shape (n,) each.

    Raises ``SineFitError`` with a sentence where the record is too short, never settles, or holds no sine.
    """
    if reference.size != output.size:
        raise SineFitError(
            f"The reference holds {reference.size} samples and the output {output.size}; give two signals that were "
            "sampled together, of one length."
        )
    rough = fit_sine_four(reference, sampling_hz=sampling_hz, start_hz=start_hz).frequency_hz
    edges = _block_edges(reference.size, sampling_hz, rough)
    applied = _block_amplitudes(reference, edges, sampling_hz, rough)
    read = _block_means(output, edges) if output_is_dc else _block_amplitudes(output, edges, sampling_hz, rough)
    first, last = _longest_settled(applied, tolerance_pct)
    if not applied[first:last].any():
        raise SineFitError(NOTHING)
    level_settled = last - first
    rests = settled_ratio(read / np.where(applied == 0.0, np.inf, applied), first, last)
    first = rests.first
    start, stop = int(edges[first]), int(edges[last])
    fit = fit_sine_four(reference[start:stop], sampling_hz=sampling_hz, start_hz=rough)
    other = fit_sine_three(output[start:stop], sampling_hz=sampling_hz, frequency_hz=fit.frequency_hz)
    own = None if output_is_dc else own_frequency(output[start:stop], fit)
    value = other.offset if output_is_dc else (own or other).amplitude
    u_noise = _noise_pct(fit, other, output_is_dc)
    ratios, length_s = read[first:last] / applied[first:last], (stop - start) / sampling_hz
    u_blocks = 0.0 if own else _block_pct(ratios)
    distortion = _distortion(reference[start:stop], fit)
    output_distortion = None if output_is_dc else _distortion(output[start:stop], own or fit)
    steps = [u_of_steps(reference[start:stop], fit)]
    steps += [] if output_is_dc else [u_of_steps(output[start:stop], own or other)]
    mains, u_mains = hidden_mains(distortion, ratios, length_s)
    u_more = 100.0 * math.hypot(rests.off, u_mains, *steps)
    folded = folded_harmonics(fit.frequency_hz, sampling_hz=sampling_hz, length_s=length_s, is_dc=output_is_dc)
    coarse = is_too_coarse(reference[start:stop], fit.amplitude) or is_too_coarse(output[start:stop], value)
    findings = (
        *_unsettled(level_settled, applied.size),
        *_of_tones("reference", distortion, is_coarse=coarse),
        *_of_tones("output", output_distortion, is_coarse=coarse),
        *_of_the_ratio(rests, level_settled, own, fit),
        *folding_sentences(folded, frequency_hz=fit.frequency_hz, sampling_hz=sampling_hz, stated=start_hz is not None),
        *mains,
    )
    return WaveformReading(
        frequency_hz=fit.frequency_hz,
        applied=fit.amplitude,
        read=value,
        u_pct=math.hypot(max(u_noise, u_blocks), u_more),
        u_noise_pct=u_noise,
        output_is_dc=output_is_dc,
        phase_deg=None if output_is_dc else math.degrees(phase_difference_rad(fit, other)),
        u_phase_deg=0.0 if output_is_dc else _phase_u_deg(reference, output, edges[first : last + 1], fit, other),
        start=start,
        stop=stop,
        samples=int(reference.size),
        sampling_hz=sampling_hz,
        block_s=frozen((edges[:-1] + edges[1:]) / 2.0 / sampling_hz),
        block_applied=frozen(applied),
        block_read=frozen(read),
        settled_blocks=(first, last),
        reference_fit=fit,
        output_fit=other,
        reference_distortion=distortion,
        output_distortion=output_distortion,
        findings=findings,
    )


def _block_edges(size: int, sampling_hz: float, frequency_hz: float) -> FloatArray:
    """Edges of blocks of equally many whole cycles, as samples, shape (m + 1,)."""
    cycles = size * frequency_hz / sampling_hz
    blocks = min(MOST_BLOCKS, int(cycles / FEWEST_CYCLES))
    if blocks < FEWEST_BLOCKS:
        raise SineFitError(
            f"The record holds {cycles:.0f} cycles where {FEWEST_BLOCKS * FEWEST_CYCLES} are needed to see whether "
            "it is settled; record longer."
        )
    period = sampling_hz / frequency_hz
    return np.round(np.arange(blocks + 1) * math.floor(cycles / blocks) * period)


def _block_amplitudes(y: Samples, edges: FloatArray, sampling_hz: float, frequency_hz: float) -> FloatArray:
    pairs = zip(edges[:-1].astype(int), edges[1:].astype(int), strict=True)
    fits = (fit_sine_three(y[a:b], sampling_hz=sampling_hz, frequency_hz=frequency_hz) for a, b in pairs)
    return np.array([fit.amplitude for fit in fits])


def _block_means(y: Samples, edges: FloatArray) -> FloatArray:
    pairs = zip(edges[:-1].astype(int), edges[1:].astype(int), strict=True)
    return np.array([float(np.mean(y[a:b], dtype=np.float64)) for a, b in pairs])


def _longest_settled(amplitudes: FloatArray, tolerance_pct: float) -> tuple[int, int]:
    """The longest run of blocks whose amplitudes lie within +- the tolerance; of equals, that of larger amplitude."""
    band = 1.0 + 2.0 * tolerance_pct / 100.0
    best, size = (0, 0), (0, 0.0)
    for first in range(amplitudes.size):
        running = amplitudes[first:]
        inside = np.maximum.accumulate(running) <= band * np.minimum.accumulate(running)
        length = int(inside.argmin()) if not inside.all() else running.size
        candidate = (length, float(running[:length].mean()))
        if candidate > size:
            best, size = (first, first + length), candidate
    if best[1] - best[0] < FEWEST_BLOCKS:
        raise SineFitError(
            f"The level never stays within ±{tolerance_pct:g} % over {FEWEST_BLOCKS} blocks; let it settle and record "
            "again, or allow more."
        )
    return best


def _noise_pct(fit: SineFit, other: SineFit, output_is_dc: bool) -> float:
    value, u = (other.offset, other.u_offset) if output_is_dc else (other.amplitude, other.u_amplitude)
    if value == 0.0:
        raise SineFitError(NOTHING)
    return 100.0 * math.hypot(fit.u_amplitude / fit.amplitude, u / value)


def _phase_u_deg(reference: Samples, output: Samples, edges: FloatArray, fit: SineFit, other: SineFit) -> float:
    """Standard uncertainty of the phase between both sines: the larger of what noise gives and what blocks scatter."""
    between = []
    for a, b in zip(edges[:-1].astype(int), edges[1:].astype(int), strict=True):
        pair = (
            fit_sine_three(y[a:b], sampling_hz=fit.sampling_hz, frequency_hz=fit.frequency_hz)
            for y in (reference, output)
        )
        between.append(math.degrees(phase_difference_rad(*pair)))
    turned = [math.remainder(deg - between[0], 360.0) for deg in between]
    noise = math.degrees(math.hypot(fit.u_phase_rad, other.u_phase_rad))
    return max(noise, _u_of_mean(np.array(turned)))


def _block_pct(ratios: FloatArray) -> float:
    """Standard uncertainty of the mean of the blocks' ratios, in %."""
    return 100.0 * _u_of_mean(ratios) / abs(float(ratios.mean()))


def _u_of_mean(values: FloatArray) -> float:
    """Standard uncertainty of the mean of what blocks show (JCGM 100:2008, 4.2.3).

    Neighbouring blocks may be unsteady together, so that means of two and of four of them count as well where eight
    or more remain, and the largest is taken (batch means; Law, Simulation Modeling and Analysis, from memory).
    """
    found = []
    for batch in (1, 2, 4):
        count = values.size // batch
        if batch == 1 or count >= 8:
            means = values[: count * batch].reshape(count, batch).mean(axis=1)
            found.append(float(means.std(ddof=1)) / math.sqrt(count))
    return max(found)


def _distortion(y: Samples, fit: SineFit) -> Distortion:
    return assess_distortion(y, sampling_hz=fit.sampling_hz, frequency_hz=fit.frequency_hz)


def _unsettled(used: int, blocks: int) -> list[str]:
    left_out = blocks - used
    return [f"{left_out} of {blocks} blocks were left out because the level was not settled"] if left_out else []


def _of_tones(name: str, found: Distortion | None, *, is_coarse: bool) -> list[str]:
    """What a signal holds beside its sine; steps of a converter that are too coarse show no flattened peak."""
    if found is None:
        return []
    said = [
        f"mains pick-up in the {name} at {p.frequency_hz:g} Hz, {100.0 * p.relative:.2g} % of the signal"
        for p in found.pick_up
    ]
    if found.flattened and not is_coarse:
        said.insert(0, f"the {' and '.join(found.flattened)} of the {name} is flattened, as by clipping")
    return said


def _of_the_ratio(rests: SettledRatio, level_settled: int, own: SineFit | None, fit: SineFit) -> list[str]:
    said = []
    if (left := level_settled - (rests.last - rests.first)) > 0:
        said.append(f"{left} further blocks were left out because the output had not settled on the level")
    if rests.moves:
        said.append(
            f"output over level still moves by {100.0 * rests.moves:+.2g} % over the part used, about "
            f"{100.0 * rests.off:+.2g} % from where it would rest; record until it rests"
        )
    if own is not None:
        apart = 1e6 * (own.frequency_hz / fit.frequency_hz - 1.0)
        said.append(f"the output's clock differs from the reference's by {apart:+.3g} parts in a million")
    return said
