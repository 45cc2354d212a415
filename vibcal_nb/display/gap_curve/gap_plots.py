"""Figure of a gap curve: voltage against gap, the increments with their limits, the deviation from the line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult
from vibcal_nb.analysis.gap_curve.gap_runs import GapRun
from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.marks import LEFT_OUT, NOT_JUDGED, Mark, draw_bars, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import (
    WITHIN,
    Axes,
    explain,
    few_numbers,
    mark_zero,
    percent_axis,
    scale_about_zero,
    shade_allowed,
)
from vibcal_nb.display.gap_curve.gap_tables import run_deviations
from vibcal_nb.display.style import ALLOWED, GREY, INK, LIMIT, SET_POINT, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.metrology.straight_line.stated_slope import MINIMAX
from vibcal_nb.units import convert, parse_gap_unit

SHOWS = "Voltage of the probe against gap, its increments, and its deviation from the best line of the nominal slope."
HEIGHT = 3.2  # inches
BESIDE = 0.01  # of an axis: so far from it a shade begins, which would cover it on the screen
_UM = parse_gap_unit("um")
_WAYS = {"rising": "^", "falling": "v", None: "o"}


def gap_axes(_: GapCurveResult, figure: Any) -> tuple[Axes, ...]:
    """Return three plots side by side on an empty figure."""
    return axes_beside(figure, widths=(1.0, 1.0, 1.0), top=38.0, across=70.0, right=34.0)


def draw_gap_curve(result: GapCurveResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a gap curve into the plots of `gap_axes`."""
    curve, slopes, line = axes
    draw_voltages(result, curve)
    draw_increments(result, slopes)
    draw_from_line(result, line)
    line.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    curve.set_title(spoken(result.case.condition))
    explain(curve, f"{WITHIN}, small: no limits", "grey: nominal slope", "blue: allowed", "upwards: rising gap")


def draw_voltages(result: GapCurveResult, ax: Axes) -> Axes:
    """Draw the readings, the best line of the nominal slope, the linear range and the rest gap."""
    found, rest = result.specification, result.rest
    if result.linear_range is not None:
        ax.axvspan(*result.linear_range, ymin=BESIDE, color=ALLOWED, lw=0, zorder=0.8)
    if rest is not None:
        ax.axvline(rest.gap, color=SET_POINT, lw=1.1, ls=(0, (5, 3)), zorder=1)
        ax.text(rest.gap, 0.985, " rest", transform=ax.get_xaxis_transform(), va="top", fontsize=8.5, color=SET_POINT)
    if MINIMAX in result.from_line:
        for run, best in zip(result.runs, result.from_line[MINIMAX].lines, strict=True):
            ends = np.array([run.gap[0], run.gap[-1]])
            ax.plot(ends, found.nominal_sensitivity * (ends + best.offset), color=GREY, lw=1.0, zorder=2)
    for run in result.all_runs:
        draw_marks(ax, run.gap, run.voltage, Mark(_WAYS[run.direction], INK, size=4.5), rows=_rows(result, run))
    out = [i for i, reading in enumerate(result.case.readings) if reading.exclude is not None]
    if out:
        rows = [result.case.readings[i].row for i in out]
        draw_marks(ax, result.uncertainty.readings.x[out], result.uncertainty.readings.y[out], LEFT_OUT, rows=rows)
    _gap_axis(result, ax)
    few_numbers(ax.yaxis, 6)
    low, high = _ends(result.uncertainty.readings.y)
    ax.set_ylim(low, high)
    ax.set_ylabel(f"output, {found.output_unit}")
    return ax


def draw_increments(result: GapCurveResult, ax: Axes) -> Axes:
    """Draw the deviation of each increment from nominal, with U and limits, in the middle of its gaps."""
    limit = result.specification.incremental_pct
    ends = [item.deviation_pct + sign * item.expanded.U for item in result.increments for sign in (-1.0, 1.0)]
    percent_axis(ax, scale_about_zero(ends, least=1.8 * (limit or 3.0)))
    if limit is not None:
        shade_allowed(ax, -limit, limit)
    mark_zero(ax)
    for item in result.increments:
        mark = NOT_JUDGED if item.verdict is None else verdict_mark(item.verdict)
        middle = 0.5 * (item.low + item.high)
        ax.plot([item.low, item.high], [item.deviation_pct] * 2, color=mark.colour, lw=1.0, zorder=3)
        draw_bars(ax, [middle], [item.deviation_pct], [item.expanded.U], colour=mark.colour)
        draw_marks(ax, [middle], [item.deviation_pct], mark)
    _gap_axis(result, ax)
    ax.set_ylabel("increment from nominal, %")
    return ax


def draw_from_line(result: GapCurveResult, ax: Axes) -> Axes:
    """Draw how far the readings lie from the best line of the nominal slope, with the limits."""
    um, limit = float(convert(1.0, result.specification.input_unit, _UM)), result.specification.deviation_um
    runs = [(run, deviations * um) for run, deviations in run_deviations(result)]
    every = [float(value) for _, deviations in runs for value in deviations]
    percent_axis(ax, scale_about_zero(every, least=1.3 * (limit or 10.0)))
    if limit is not None:
        ax.axhspan(-limit, limit, xmin=BESIDE, color=ALLOWED, lw=0, zorder=0.8)
        for value in (-limit, limit):
            ax.axhline(value, color=LIMIT, lw=1.1, zorder=1)
    mark_zero(ax)
    for run, deviations in runs:
        ax.plot(run.gap, deviations, color=GREY, lw=0.8, zorder=2)
        draw_marks(ax, run.gap, deviations, Mark(_WAYS[run.direction], INK, size=4.5), rows=_rows(result, run))
    _gap_axis(result, ax)
    ax.set_ylabel("from the best line, µm")
    return ax


def _rows(result: GapCurveResult, run: GapRun) -> list[int]:
    """The row of the reading, or of the first of those, that each mark of a run stands for."""
    return [result.case.readings[int(members[0])].row for members in run.members]


def _gap_axis(result: GapCurveResult, ax: Axes) -> None:
    """Give x the limits that hold every gap, and a few numbers."""
    ax.set_xlim(*_ends(result.uncertainty.readings.x))
    few_numbers(ax.xaxis, 5)
    ax.set_xlabel(f"gap, {result.specification.input_unit}")


def _ends(values: FloatArray) -> tuple[float, float]:
    """The limits of an axis that holds values (n,), n >= 1, with a margin."""
    low, high = float(values.min()), float(values.max())
    margin = 0.05 * (high - low) or 1.0
    return low - margin, high + margin
