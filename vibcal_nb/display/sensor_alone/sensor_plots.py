"""Plot of a sensor alone: deviation from the sensitivity at the reference frequency."""

from __future__ import annotations

import numpy as np

from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor
from vibcal_nb.display.drawing.plot_parts import Axes, limit_range, mark_rotors, plain_log_axis, scatter
from vibcal_nb.display.style import ALLOWED, GREY
from vibcal_nb.display.writing.numbers import frequency


def draw_sensor_alone(result: SensorAloneResult, ax: Axes) -> Axes:
    """Draw the deviation from the sensitivity at the reference frequency, with U and limits, over frequency."""
    sensor = result.specification
    frequencies = np.array([p.reading.frequency_hz for p in result.points])
    low, high = frequencies.min() / 1.3, frequencies.max() * 1.3
    if sensor.flat_pct is not None:
        span = sensor.flat_hz or (low, high)
        ax.fill_between(span, -sensor.flat_pct, sensor.flat_pct, color=ALLOWED, lw=0, label="allowed")
    ax.axhline(0.0, color=GREY, lw=0.8)
    reference = result.reference_sensitivity
    if result.fit is not None and reference is not None and reference > 0.0:
        f = np.geomspace(frequencies.min(), frequencies.max(), 200)
        fitted = 100.0 * (evaluate_sensor(result.fit, f) / reference - 1.0)
        ax.plot(f, fitted, color=GREY, label="fitted physics")
    scatter(result.points, ax, lambda p: p.reading.frequency_hz, lambda p: p.value_pct, bars=True)
    limit_range(ax, result.points, centre=0.0, least=1.6 * (sensor.flat_pct or 3.0))
    ax.set(xscale="log", xlim=(low, high))
    plain_log_axis(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel(f"deviation from {frequency(sensor.reference_hz)}, %")
    ax.legend(loc="upper left", ncols=3)
    return ax
