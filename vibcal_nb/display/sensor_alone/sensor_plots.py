"""Figure of a sensor alone: its sensitivity at the reference against nominal, and how it changes over frequency."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor
from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.marks import draw_bars, draw_marks, draw_readings, verdict_mark
from vibcal_nb.display.drawing.plot_parts import (
    WITHIN,
    Axes,
    explain,
    frequency_axis,
    mark_rotors,
    mark_zero,
    percent_axis,
    scale_about_zero,
    shade_allowed,
    shade_allowed_over,
    signed,
)
from vibcal_nb.display.phase.phase_plots import HEIGHT as PHASE_HEIGHT
from vibcal_nb.display.phase.phase_plots import draw_phase
from vibcal_nb.display.style import GREY, LIMIT, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty

SHOWS = "Sensitivity of the sensor at the reference frequency against nominal, and its change over frequency."
HEIGHT = 3.2  # inches


def sensor_height(result: SensorAloneResult) -> float:
    """Return the height of the figure in inches: higher where phases were read."""
    return HEIGHT + (PHASE_HEIGHT if _has_phase(result) else 0.0)


def _has_phase(result: SensorAloneResult) -> bool:
    return result.phase is not None and bool(result.phase.points)


def sensor_axes(result: SensorAloneResult, figure: Any) -> tuple[Axes, ...]:
    """Return plots on an empty figure: a strip for the reference, what is over frequency, and below it any phases."""
    widths = (1.0, 3.6)
    if not _has_phase(result):
        return axes_beside(figure, widths=widths, top=38.0, across=78.0)
    upper = 36.0 + 72.0 * PHASE_HEIGHT
    strip, wide = axes_beside(figure, widths=widths, top=38.0, bottom=upper, across=78.0)
    _, below = axes_beside(figure, widths=widths, top=72.0 * HEIGHT - 24.0, across=78.0)
    figure.delaxes(_)
    wide.tick_params(labelbottom=False)
    return strip, wide, below


def draw_sensor(result: SensorAloneResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a sensor alone into the plots of `sensor_axes`."""
    strip, wide, *further = axes
    draw_against_nominal(result, strip)
    draw_over_frequency(result, wide, ratio_scale((result,)))
    for ax in further:
        if result.phase is not None:
            draw_phase(result.phase, ax, *wide.get_xlim())
            ax.set_xlabel("frequency, Hz")
            wide.set_xlabel("")
    wide.set_title(spoken(result.case.condition))
    wide.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    explain(strip, f"{WITHIN}, small: no limits", "bar: U", "grey: fitted model", "blue: allowed")


def draw_against_nominal(result: SensorAloneResult, ax: Axes) -> Axes:
    """Draw the deviation of the sensitivity at the reference frequency from nominal, with its U and limits."""
    tolerance, reference = result.specification.tolerance_pct, result.reference
    value, decision = (None, None) if reference is None else (reference.deviation_pct, reference.decision)
    u = 0.0 if decision is None else decision.uncertainty.U
    percent_axis(ax, scale_about_zero([] if value is None else [value - u, value + u], least=1.8 * tolerance))
    shade_allowed(ax, -tolerance, tolerance)
    mark_zero(ax)
    ax.set_xlim(-1.0, 1.0)
    ax.set_xticks([])
    ax.set_title(f"sensitivity at {frequency(result.specification.reference_hz)}")
    ax.set_ylabel("deviation from nominal, %")
    if value is None or decision is None:
        ax.text(0.0, 0.0, "not\ndetermined", ha="center", va="center", fontsize=8.5)
        return ax
    mark = verdict_mark(decision.verdict)
    draw_bars(ax, [0.0], [value], [u], colour=mark.colour)
    draw_marks(ax, [0.0], [value], mark)
    words = percent_with_uncertainty(value, decision.uncertainty)
    ax.annotate(words, (0.0, value + (u if value <= 0.0 else -u)), xytext=(0, 5 if value <= 0.0 else -5),
                textcoords="offset points", ha="center", va="bottom" if value <= 0.0 else "top", fontsize=9.0,
                color=mark.colour)  # fmt: skip
    return ax


def draw_over_frequency(result: SensorAloneResult, ax: Axes, scale: tuple[float, float], *, named: bool = True) -> Axes:
    """Draw the deviation from the sensitivity at the reference frequency, with U and limits, over frequency."""
    sensor = result.specification
    frequencies = np.array([point.reading.frequency_hz for point in result.points])
    low, high = frequencies.min() / 1.3, frequencies.max() * 1.3
    frequency_axis(ax, low, high)
    percent_axis(ax, scale)
    if sensor.flat_pct is not None:
        span = sensor.flat_hz or (low, high)
        shade_allowed_over(ax, span, -sensor.flat_pct, sensor.flat_pct)
        words = f"{signed(-sensor.flat_pct)} to {signed(sensor.flat_pct)} %"
        ax.text(1.02 * span[0], 0.96 * sensor.flat_pct, words, va="top", fontsize=8.5, color=LIMIT, zorder=6)
    mark_zero(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high, named=named)
    reference = 0.0 if result.reference is None else result.reference.sensitivity
    if result.fit is not None and result.fit.inadequate is None and reference > 0.0:
        f = np.geomspace(frequencies.min(), frequencies.max(), 120)
        ax.plot(f, 100.0 * (evaluate_sensor(result.fit, f) / reference - 1.0), color=GREY, zorder=2)
    draw_readings(ax, result.points, lambda p: p.reading.frequency_hz, lambda p: p.value_pct, u_of=_u)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel(f"deviation from {frequency(sensor.reference_hz)}, %")
    return ax


def ratio_scale(results: Sequence[SensorAloneResult]) -> tuple[float, float]:
    """Return the scale that holds all readings of the results with their U, and the limits twice over."""
    ends = [
        point.value_pct + sign * (_u(point) or 0.0)
        for result in results
        for point in result.points
        if point.value_pct is not None
        for sign in (-1.0, 1.0)
    ]
    return scale_about_zero(ends, least=1.8 * max(result.specification.flat_pct or 3.0 for result in results))


def _u(point: JudgedPoint) -> float | None:
    return None if point.expanded is None else point.expanded.U
