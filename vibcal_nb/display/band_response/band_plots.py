"""Figure of a band response: the whole of it in dB, and below it the part that is judged in % of the reference."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.band_response.band_model import evaluate_band
from vibcal_nb.analysis.band_response.band_response import BandResponseResult, JudgedRequirement
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import draw_readings
from vibcal_nb.display.drawing.plot_parts import (
    WITHIN,
    Axes,
    explain,
    few_numbers,
    frequency_axis,
    mark_rotors,
    mark_zero,
    shade_allowed_over,
    signed,
)
from vibcal_nb.display.phase.phase_plots import HEIGHT as PHASE_HEIGHT
from vibcal_nb.display.phase.phase_plots import draw_phase
from vibcal_nb.display.style import FAILED, GREY, INK, LIMIT, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.findings import is_against
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import coverage, frequency, number, percent_with_uncertainty

SHOWS = "Response over frequency in decibels with the fitted model and its corners, and below it in % with the limits."
HEIGHT = 4.3  # inches
MOST_NAMED = 4  # failures
_LOWEST_DB = -40.0
_HALF_POWER_DB = -10.0 * np.log10(2.0)


def band_height(result: BandResponseResult) -> float:
    """Return the height of the figure in inches: higher where phases were read."""
    return HEIGHT + (PHASE_HEIGHT if _has_phase(result) else 0.0)


def _has_phase(result: BandResponseResult) -> bool:
    return result.phase is not None and bool(result.phase.points)


def band_axes(result: BandResponseResult, figure: Any) -> tuple[Axes, ...]:
    """Return plots on an empty figure, decibels above, % below, and phases below that where any were read."""
    heights = (1.0, 1.5, 1.0) if _has_phase(result) else (1.0, 1.5)
    rows = axes_grid(figure, heights=heights, top=38.0, bottom=46.0)
    return tuple(ax for row in rows for ax in row)


def draw_band(result: BandResponseResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a band response into the plots of `band_axes`."""
    above, below, *further = axes
    low, high = band_ends(result)
    draw_decibels(result, above)
    draw_response(result, below, response_scale((result,)))
    for ax in further:
        if result.phase is not None:
            draw_phase(result.phase, ax, low, high)
    for ax in axes:
        frequency_axis(ax, low, high, speeds=speed_axis and ax is axes[-1])
    above.set_title(spoken(result.case.condition))
    above.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    axes[-1].set_xlabel("frequency, Hz")
    intervals = f"corners with {coverage(result.uncertainty.probability)} intervals"
    explain(above, f"{WITHIN}, small: no limits", "bar: U", f"grey: fitted model, {intervals}", "blue: allowed")


def draw_decibels(result: BandResponseResult, ax: Axes) -> Axes:
    """Draw the response in dB: readings, fitted model, corners with their intervals, rotors' speeds."""
    low, high = band_ends(result)
    values = [db for point in result.points if (db := _decibels_of(point)) is not None]
    ax.set_ylim(max(min([*values, -4.0]), _LOWEST_DB) - 2.0, max([*values, 0.0]) + 1.5)
    few_numbers(ax.yaxis, 5)
    mark_zero(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high)
    _draw_model(result, ax, low, high)
    draw_readings(ax, result.points, _hz, _decibels_of)
    ax.set_ylabel(f"dB re {frequency(result.specification.reference_hz)}")
    return ax


def draw_response(
    result: BandResponseResult, ax: Axes, scale: tuple[float, float], *, most_named: int = MOST_NAMED
) -> Axes:
    """Draw how far the response departs from that at the reference, in %, with U and limits.

    At most ``most_named`` failures are named; where one is, there is no room for words on what is allowed either.
    """
    band, (low, high) = result.specification, band_ends(result)
    ax.set_ylim(*scale)
    few_numbers(ax.yaxis, 6)
    if band.flat_hz is not None and band.flat_pct is not None:
        shade_allowed_over(ax, band.flat_hz, -band.flat_pct, band.flat_pct)
        words = f"{signed(-band.flat_pct)} to {signed(band.flat_pct)} %" if most_named > 1 else ""
        ax.text(1.02 * band.flat_hz[0], 0.96 * band.flat_pct, words, va="top", fontsize=8.5, color=LIMIT, zorder=6)
    for item in result.requirements:
        box = item.requirement
        hz = box.frequency_hz
        shade_allowed_over(ax, (hz / 1.035, hz * 1.035), box.min_pct - 100.0, box.max_pct - 100.0)
    mark_zero(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high, named=False)
    draw_readings(ax, result.points, _hz, _departure, u_of=lambda p: p.expanded.U if p.expanded else None)
    _name_failures(result, ax, most_named)
    ax.set_ylabel("response − 100, %")
    return ax


def _name_failures(result: BandResponseResult, ax: Axes, most: int) -> None:
    """Write what failed and by how much, below the middle of the band, where no reading of a band is."""
    worst = result.flat_worst
    named = [_worst_words(worst)] if worst is not None and is_against(worst.decision) else []
    named += [_required_words(item) for item in result.requirements if is_against(item.decision)]
    if len(named) > most:
        kept = max(most - 1, 1)
        named[kept:] = [f"and {len(named) - kept} more"]
    ax.text(0.5, 0.04, "\n".join(named), transform=ax.transAxes, ha="center", fontsize=8.5, color=FAILED, zorder=6)


def _worst_words(point: JudgedPoint) -> str:
    value = (point.value_pct or 0.0) - 100.0
    lower, upper = (point.lower_pct or 0.0) - 100.0, (point.upper_pct or 0.0) - 100.0
    limit = lower if value < lower else upper
    said = signed(round(value, 1)) + " %" if point.expanded is None else percent_with_uncertainty(value, point.expanded)
    return f"{frequency(_hz(point))}: {said}, limit {signed(round(limit, 6))} %"


def _required_words(item: JudgedRequirement) -> str:
    box, response = item.requirement, item.response
    value, expanded = (response.response_pct or 0.0) - 100.0, response.expanded
    said = signed(round(value, 1)) + " %" if expanded is None else percent_with_uncertainty(value, expanded)
    allowed = f"allowed {signed(round(box.min_pct - 100.0, 1))} to {signed(round(box.max_pct - 100.0, 1))}"
    return f"{frequency(box.frequency_hz)}: {said}, {allowed}"


def _draw_model(result: BandResponseResult, ax: Axes, low: float, high: float) -> None:
    fit, reference = result.fit, result.reference_sensitivity
    if fit is None or reference is None or not fit.adequate:
        return
    f = np.geomspace(low, high, 200)
    ax.plot(f, 20.0 * np.log10(evaluate_band(fit, f) / reference), color=GREY, zorder=2)
    half_power = 20.0 * np.log10(fit.plateau / reference) + _HALF_POWER_DB
    for corner in result.corners.values():
        if corner.hz is not None and corner.interval_hz is not None:
            ax.plot(corner.interval_hz, [half_power] * 2, color=INK, lw=3.0, zorder=5, solid_capstyle="butt")
            ax.plot([corner.hz], [half_power], ls="none", marker="|", ms=12, mew=1.6, color=INK, zorder=5)
            lower = corner.hz < (low * high) ** 0.5
            ax.annotate(
                f"corner {number(corner.hz, digits=3)} Hz", (corner.hz, half_power), xytext=(-7 if lower else 7, 2),
                textcoords="offset points", fontsize=8.5, va="bottom", ha="right" if lower else "left",
            )  # fmt: skip


def response_scale(results: Sequence[BandResponseResult]) -> tuple[float, float]:
    """Return the scale that holds all that is judged in any of the results, with its limits."""
    values = [value for result in results for value in _judged(result)]
    span = max(values) - min(values)
    return min(values) - 0.08 * span, max(values) + 0.08 * span


def _judged(result: BandResponseResult) -> list[float]:
    """The ends of what is judged, with U, and the limits."""
    flat = result.specification.flat_pct or 3.0
    values = [2.0 * flat, -2.0 * flat]
    for point in result.points:
        value = _departure(point)
        if value is not None and point.decision is not None:
            u = point.expanded.U if point.expanded else 0.0
            values += [value - u, value + u]
    values += [
        edge - 100.0 for item in result.requirements for edge in (item.requirement.min_pct, item.requirement.max_pct)
    ]
    return values


def band_ends(result: BandResponseResult) -> tuple[float, float]:
    """Return the ends of the axis of frequencies."""
    frequencies = [_hz(point) for point in result.points]
    return min(frequencies) / 1.3, max(frequencies) * 1.3


def _hz(point: JudgedPoint) -> float:
    return point.reading.frequency_hz


def _decibels_of(point: JudgedPoint) -> float | None:
    if point.value_pct is None or point.value_pct <= 0.0:
        return None
    return float(20.0 * np.log10(point.value_pct / 100.0))


def _departure(point: JudgedPoint) -> float | None:
    return None if point.value_pct is None else point.value_pct - 100.0
