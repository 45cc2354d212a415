"""Plot of phases over frequency, with the line through them and the limits."""

from __future__ import annotations

import numpy as np

from vibcal_nb.analysis.phase.phase import PhasePoint, PhaseResult
from vibcal_nb.display.drawing.marks import LEFT_OUT, NOT_JUDGED, draw_bars, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import Axes, few_numbers, frequency_axis, mark_zero
from vibcal_nb.display.style import ALLOWED, GREY, LIMIT
from vibcal_nb.metrology.sine.phase_line import wrapped

HEIGHT = 1.7  # inches that a figure is higher by
_LIMIT_WIDTH = 1.035


def draw_phase(phase: PhaseResult, ax: Axes, low: float, high: float) -> None:
    """Draw phases with U and the line through them, whole turns taken so that both lie together; limits as boxes."""
    frequency_axis(ax, low, high)
    used = [item for item in phase.points if item.reading.exclude is None]
    left = [item for item in phase.points if item.reading.exclude is not None]
    placed = [(item.reading.frequency_hz, _beside_line(phase, item), item.expanded.U) for item in used]
    if placed:
        f, deg, u = zip(*placed, strict=True)
        draw_bars(ax, f, deg, u, colour=NOT_JUDGED.colour)
        draw_marks(ax, f, deg, NOT_JUDGED)
    if left:
        draw_marks(ax, [p.reading.frequency_hz for p in left], [_beside_line(phase, p) for p in left], LEFT_OUT)
    _draw_line(phase, ax)
    _draw_limits(phase, ax)
    mark_zero(ax)
    few_numbers(ax.yaxis, 6)
    ax.set_ylabel("phase, °")


def _draw_line(phase: PhaseResult, ax: Axes) -> None:
    if phase.line is None:
        return
    frequencies = [item.reading.frequency_hz for item in phase.points]
    f = np.geomspace(min(frequencies), max(frequencies), 120)
    ax.plot(f, [phase.line_at(float(hz)) for hz in f], color=GREY, zorder=2)


def _draw_limits(phase: PhaseResult, ax: Axes) -> None:
    for limit, item in zip(phase.specification.limits, phase.limits, strict=True):
        hz = limit.frequency_hz
        middle = 0.5 * (limit.min_deg + limit.max_deg)
        on_line = phase.line_at(hz)
        near = middle if on_line is None else on_line
        shift = near + wrapped(middle - near) - middle
        span = (hz / _LIMIT_WIDTH, hz * _LIMIT_WIDTH)
        ends = (limit.min_deg + shift, limit.max_deg + shift)
        ax.fill_between(span, *ends, color=ALLOWED, lw=0, zorder=0.8)
        for end in ends:
            ax.plot(span, [end, end], color=LIMIT, lw=1.1, zorder=1)
        if item.decision is not None and item.estimate.value is not None:
            draw_marks(ax, [hz], [item.estimate.value + shift], verdict_mark(item.decision.verdict))


def _beside_line(phase: PhaseResult, item: PhasePoint) -> float:
    on_line = phase.line_at(item.reading.frequency_hz)
    return item.phase_deg if on_line is None else on_line + wrapped(item.phase_deg - on_line)
