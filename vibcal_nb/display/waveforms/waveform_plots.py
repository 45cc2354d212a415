"""Figure of records: signal, level over time, three cycles with the fitted sine, what that leaves, spectrum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from vibcal_nb.analysis.readings.waveform_reading import WaveformReading
from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.drawing.axes_grid import place_axes
from vibcal_nb.display.drawing.marks import Mark, draw_marks
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain, few_numbers, frequency_axis, mark_zero, round_up
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, INK, LIMIT, SET_POINT, UNCERTAIN
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.metrology.sine.sine_fit import SineFit
from vibcal_nb.metrology.sine.spectrum import amplitude_spectrum
from vibcal_nb.metrology.sine.tones import Samples

RECORD = 3.5  # inches a record
_TOP = 0.3
_BINS = 130  # of what is drawn of a long signal
_CYCLES = 3.0
_MOST_POINTS = 80
_MOST_BLOCKS = 50
_LOWEST_DB = -110.0


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnRecord:
    """A record to draw: its name, both signals as they were sampled, and what was read off them."""

    name: str
    reference: Samples
    output: Samples
    reading: WaveformReading


def waveforms_picture(records: Sequence[DrawnRecord]) -> Picture:
    """Return the figure of one or more records."""

    def draw(figure: Any) -> None:
        for number, record in enumerate(records):
            axes = _axes(figure, number)
            draw_record(record, axes)
            if number == 0:
                explain(axes[0], "blue: settled part, which is read", "○ reference, ● output", "grey: fitted sine",
                        "dotted, 2 to 5: harmonics")  # fmt: skip

    return draw_picture(_TOP + RECORD * len(records), draw, text=waveforms_text(records))


def waveforms_text(records: Sequence[DrawnRecord]) -> str:
    """Say in words what the figure shows."""
    said = "; ".join(
        f"{record.name}: settled from {record.reading.settled_s[0]:.2f} to {record.reading.settled_s[1]:.2f} s"
        for record in records
    )
    return f"Signal, level over time, three cycles with the fitted sine, its residual and the spectrum of each. {said}."


def draw_record(record: DrawnRecord, axes: Sequence[Axes]) -> None:
    """Draw a record into five plots: signal, level, cycles, residual, spectrum."""
    signal, level, cycles, residual, spectrum = axes
    draw_signal(record, signal)
    draw_levels(record.reading, level)
    draw_cycles(record, cycles, residual)
    draw_spectrum(record, spectrum)


def draw_signal(record: DrawnRecord, ax: Axes) -> Axes:
    """Draw the least and the most of the output over time, in % of its amplitude, with the settled part shaded."""
    reading, size = record.reading, _size(record)
    edges = np.linspace(0, record.output.size, min(_BINS, record.output.size) + 1).astype(int)
    pairs = list(pairwise(edges))
    low, high = (np.array([float(take(record.output[a:b])) for a, b in pairs]) / size for take in (np.min, np.max))
    t = 0.5 * (edges[:-1] + edges[1:]) / reading.sampling_hz
    ax.axvspan(*reading.settled_s, color=ALLOWED, lw=0, zorder=0.8)
    ax.fill_between(t, 100.0 * low, 100.0 * high, color=UNCERTAIN, lw=0, zorder=1)
    for ends in (low, high):
        ax.plot(t, 100.0 * ends, color=INK, lw=0.8, zorder=2)
    ax.set_xlim(0.0, reading.samples / reading.sampling_hz)
    few_numbers(ax.xaxis, 6)
    few_numbers(ax.yaxis, 4)
    ax.set_title(record.name)
    ax.set(xlabel="time, s", ylabel="output, %")
    return ax


def draw_levels(reading: WaveformReading, ax: Axes) -> Axes:
    """Draw the amplitude of both signals block by block, relative to that of the settled part."""
    first, last = reading.settled_blocks
    ax.axvspan(*reading.settled_s, color=ALLOWED, lw=0, zorder=0.8)
    mark_zero(ax)
    for values, filled in ((reading.block_applied, False), (reading.block_read, True)):
        relative = 100.0 * (values / np.mean(values[first:last]) - 1.0)
        few = slice(None, None, -(-len(relative) // _MOST_BLOCKS))
        draw_marks(ax, reading.block_s[few], relative[few], Mark("o", INK, filled, 3.0))
    spread = 100.0 * np.abs(reading.block_applied / np.mean(reading.block_applied[first:last]) - 1.0)
    half = min(max(1.0, round_up(float(spread.max()))), 12.0)
    ax.set(xlim=(0.0, reading.samples / reading.sampling_hz), ylim=(-half, half))
    few_numbers(ax.xaxis, 6)
    few_numbers(ax.yaxis, 4)
    ax.set_title("level, block by block")
    ax.set(xlabel="time, s", ylabel="%")
    return ax


def draw_cycles(record: DrawnRecord, ax: Axes, below: Axes) -> None:
    """Draw three cycles from the middle of the settled part with the fitted sine, and what it leaves."""
    reading, size = record.reading, _size(record)
    fit, output = reading.output_fit, record.output[reading.start : reading.stop]
    count = max(int(_CYCLES * reading.sampling_hz / fit.frequency_hz), 4)
    begin = max((output.size - count) // 2, 0)
    chosen = np.arange(begin, min(begin + count, output.size))
    left = 100.0 * (np.asarray(output[chosen], dtype=np.float64) - _sine(fit, chosen)) / size
    chosen_ms = 1000.0 * (chosen - begin) / reading.sampling_hz
    fine = np.linspace(begin, begin + count, 121)
    ax.plot(1000.0 * (fine - begin) / reading.sampling_hz, 100.0 * _sine(fit, fine) / size, color=GREY, zorder=2)
    few = slice(None, None, -(-len(chosen) // _MOST_POINTS))
    draw_marks(ax, chosen_ms[few], 100.0 * output[chosen][few] / size, Mark("o", INK, True, 2.0))
    mark_zero(below)
    below.plot(chosen_ms, left, color=INK, lw=0.9, zorder=2)
    half = round_up(max(1.1 * float(np.abs(left).max()), 0.01))
    below.set_ylim(-half, half)
    for plot, title in ((ax, "three cycles"), (below, "what the sine leaves")):
        plot.set_xlim(0.0, 1000.0 * count / reading.sampling_hz)
        few_numbers(plot.xaxis, 4)
        few_numbers(plot.yaxis, 4)
        plot.set_title(title)
        plot.set_xlabel("time, ms")
    ax.set_ylabel("output, %")


def draw_spectrum(record: DrawnRecord, ax: Axes) -> Axes:
    """Draw the output's spectrum in dB of the fundamental, with its harmonics and the mains."""
    reading = record.reading
    hz, amplitude = amplitude_spectrum(record.output[reading.start : reading.stop], sampling_hz=reading.sampling_hz)
    first = reading.frequency_hz
    low, high = first / 4.0, min(0.5 * reading.sampling_hz, 25.0 * first)
    x, db = _thinned(hz, amplitude / _size(record), low, high)
    ax.plot(x, db, color=INK, lw=0.9, zorder=2)
    ax.set_ylim(_LOWEST_DB, 10.0)
    frequency_axis(ax, low, high, most=4)
    few_numbers(ax.yaxis, 4)
    tones = [(number * first, str(number), SET_POINT) for number in (2, 3, 4, 5)]
    if reading.output_distortion is not None:
        found = reading.output_distortion.pick_up
        tones += [(tone.frequency_hz, frequency(round(tone.frequency_hz, 1)), FAILED) for tone in found]
    for at, name, colour in tones:
        if low < at < high:
            ax.axvline(at, color=colour, lw=0.8, ls=(0, (1, 2)), zorder=1)
            ax.text(at, 1.0, name, transform=ax.get_xaxis_transform(), ha="center", va="top", fontsize=8.0,
                    color=colour, zorder=6)  # fmt: skip
    ax.axvline(first, color=LIMIT, lw=0.8, ls=(0, (1, 2)), zorder=1)
    ax.set_title("spectrum, dB")
    ax.set_xlabel("frequency, Hz")
    return ax


def _thinned(hz: FloatArray, share: FloatArray, low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """The largest line of each of some steps of frequency, in dB; steps without a line are left out."""
    edges = np.geomspace(low, high, _BINS + 1)
    step = np.digitize(hz, edges) - 1
    there = [number for number in range(_BINS) if (step == number).any()]
    largest = [int(np.argmax(np.where(step == number, share, -1.0))) for number in there]
    return hz[largest], 20.0 * np.log10(np.maximum(share[largest], 10.0 ** (_LOWEST_DB / 20.0)))


def _size(record: DrawnRecord) -> float:
    """What is 100 %: the output's amplitude, or its mean where it is dc."""
    fit = record.reading.output_fit
    return abs(fit.offset if record.reading.output_is_dc else fit.amplitude) or 1.0


def _sine(fit: SineFit, samples: Any) -> FloatArray:
    """The fitted sine at samples counted from the first of the settled part."""
    angle = 2.0 * np.pi * fit.frequency_hz * np.asarray(samples, dtype=np.float64) / fit.sampling_hz
    value: FloatArray = fit.cosine * np.cos(angle) + fit.sine * np.sin(angle) + fit.offset
    return value


def _axes(figure: Any, number: int) -> tuple[Axes, ...]:
    """The five plots of the record of this number: two above, three below."""
    width, height = 72.0 * figure.get_size_inches()
    top = height - 72.0 * (_TOP + RECORD * number) - 18.0
    high, wide, narrow = 68.0, 0.5 * (width - 118.0), (width - 178.0) / 3.0
    above = [place_axes(figure, left=left, low=top - high, wide=wide, high=high) for left in (50.0, 100.0 + wide)]
    low = top - 2.0 * high - 54.0
    lefts = (50.0, 110.0 + narrow, 160.0 + 2.0 * narrow)
    return (*above, *(place_axes(figure, left=left, low=low, wide=narrow, high=high) for left in lefts))
