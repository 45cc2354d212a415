"""Plot of a band response: readings in dB, limits, the fitted model with its corners."""

from __future__ import annotations

import numpy as np

from vibcal_nb.analysis.band_response.band_model import evaluate_band
from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.display.drawing.plot_parts import Axes, mark_rotors, plain_log_axis, scatter
from vibcal_nb.display.style import ALLOWED, GREY, INK, LIMIT
from vibcal_nb.display.writing.numbers import coverage, frequency


def draw_band_response(result: BandResponseResult, ax: Axes, *, speed_axis: bool = False) -> Axes:
    """Draw the response in dB over frequency: limits, fitted model, corners with intervals, rotors' speeds."""
    band = result.specification
    used = [p for p in result.points if p.value_pct is not None and p.value_pct > 0.0]
    frequencies = np.array([p.reading.frequency_hz for p in result.points])
    low, high = frequencies.min() / 1.3, frequencies.max() * 1.3
    if band.flat_hz is not None and band.flat_pct is not None:
        edges = [_decibels(100.0 - band.flat_pct), _decibels(100.0 + band.flat_pct)]
        ax.fill_between(band.flat_hz, *edges, color=ALLOWED, lw=0, label="flat part")
    for number, item in enumerate(result.requirements):
        bottom, top = _decibels(item.requirement.min_pct), _decibels(item.requirement.max_pct)
        label = "limits" if number == 0 else None
        ax.plot([item.requirement.frequency_hz] * 2, [bottom, top], color=LIMIT, lw=5, label=label)
    _draw_band_model(result, ax, low, high)
    scatter(used, ax, lambda p: p.reading.frequency_hz, lambda p: _decibels(p.value_pct))
    bottom = min([_decibels(p.value_pct or 100.0) for p in used] + [-4.0])
    top = max([_decibels(p.value_pct or 100.0) for p in used] + [0.0])
    ax.set(xscale="log", xlim=(low, high), ylim=(max(bottom, -60.0) - 2.0, top + 1.5))
    plain_log_axis(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel(f"response re {frequency(band.reference_hz)}, dB")
    if speed_axis:
        ax.xaxis.set_major_formatter(lambda hz, _: f"{hz:g}\n{60.0 * hz:g} rpm")
    ax.legend(loc="lower center", ncols=3)
    return ax


def _draw_band_model(result: BandResponseResult, ax: Axes, low: float, high: float) -> None:
    fit, reference = result.fit, result.reference_sensitivity
    if fit is None or reference is None or not fit.adequate:
        return
    f = np.geomspace(low, high, 300)
    ax.plot(f, 20.0 * np.log10(evaluate_band(fit, f) / reference), color=GREY, label="fitted model")
    half_power = 20.0 * np.log10(fit.plateau / reference) - 10.0 * np.log10(2.0)
    label = f"corner, {coverage(result.uncertainty.probability)}"
    labels = [label, None]
    for corner in result.corners.values():
        if corner.hz is not None and corner.interval_hz is not None:
            ax.plot(corner.hz, half_power, marker="|", ms=13, mew=2, color=INK, zorder=4)
            ax.plot(corner.interval_hz, [half_power] * 2, color=INK, lw=3, zorder=4, label=labels.pop(0))


def _decibels(response_pct: float) -> float:
    return float(20.0 * np.log10(max(response_pct, 1e-4) / 100.0))
