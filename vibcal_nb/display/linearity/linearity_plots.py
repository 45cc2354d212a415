"""Figure of a linearity: each reading's deviation on the scale that is judged, and what a straight line leaves over."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.grouping import SAME_LEVEL_PCT, group_close
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import LEFT_OUT, SIZE, Mark, draw_readings, mark_of
from vibcal_nb.display.drawing.plot_parts import (
    WITHIN,
    Axes,
    explain,
    few_numbers,
    mark_set_points,
    mark_zero,
    name_level,
    percent_axis,
    round_up,
    scale_about_zero,
    shade_allowed,
)
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, INK, LIMIT, UNCERTAIN, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty

SHOWS = "Deviation of every reading from the nominal sensitivity against level, and what a straight line leaves over."
HEIGHT = 4.1  # inches
_SHAPES = {"rising": "^", "falling": "v"}
_LATER = 0.7  # of the first pass's size
_ASIDE = 0.008  # of the axis: how far readings of one level stand apart
_DASHED = (0, (5, 3))
_DOTTED = (0, (1, 2))


def linearity_axes(result: LinearityResult, figure: Any) -> tuple[Axes, ...]:
    """Return plots on an empty figure, a column a frequency: deviations above, what the line leaves over below."""
    rows = axes_grid(
        figure,
        columns=max(len(result.frequencies), 1),
        heights=(2.2, 1.0),
        right=34.0,
        top=38.0,
        across=62.0,
        down=24.0,
    )
    return tuple(ax for row in rows for ax in row)


def draw_linearity(result: LinearityResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a linearity into the plots of `linearity_axes`, all frequencies on the same scales."""
    columns = len(result.frequencies)
    scales = deviation_scale((result,)), residual_scale(result)
    for number, item in enumerate(result.frequencies):
        above, below = axes[number], axes[columns + number]
        draw_deviations(result, item, above, scales[0])
        draw_residuals(result, item, below, scales[1])
        below.set_xlabel(f"level, {result.case.input_unit.shown}")
        if number == 0:
            above.set_ylabel("error, % of span" if is_of_span(result) else "deviation, %")
            below.set_ylabel("residual, %")
    if axes:
        explain(axes[0], *key(result))


def key(result: LinearityResult) -> list[str]:
    """Say what the marks mean, of those that this result has."""
    readings = [point.reading for item in result.frequencies for point in item.points]
    parts = []
    if any(reading.direction for reading in readings):
        parts.append("▲ rising, ▼ falling")
    if any((reading.repeat or 1) > 1 for reading in readings):
        parts.append("small: second pass")
    guarded = any(_accepted(item) for item in result.frequencies)
    blue = "blue: allowed, dashed: less the guard band" if guarded else "blue: allowed"
    return [*parts, WITHIN, "grey band: U that all share, bar: a reading's own", blue]


def deviation_scale(results: Sequence[LinearityResult]) -> tuple[float, float]:
    """Return the scale of deviations that holds all readings with their U, and the limits twice over."""
    points = [point for result in results for item in result.frequencies for point in item.points]
    values = [
        point.value_pct + sign * (point.expanded.U if point.expanded else 0.0)
        for point in points
        if point.value_pct is not None
        for sign in (-1.0, 1.0)
    ]
    allowed = [result.case.channel.tolerance_pct for result in results if not is_of_span(result)]
    allowed += [point.upper_pct for point in points if point.of_span and point.upper_pct is not None]
    return scale_about_zero(values, least=1.8 * max(allowed, default=1.0))


def is_of_span(result: LinearityResult) -> bool:
    """Whether deviations are in % of full scale."""
    return any(point.of_span for item in result.frequencies for point in item.points)


def draw_deviations(
    result: LinearityResult, item: FrequencyLinearity, ax: Axes, scale: tuple[float, float], *, named: str = ""
) -> Axes:
    """Draw deviations from nominal at one frequency: limits, line with the U that all share, readings with their own.

    ``named`` is what stands before the verdict; by default frequency and rotors.
    """
    top = _top(result, item)
    ax.set_xlim(0.0, top)
    percent_axis(ax, scale)
    few_numbers(ax.xaxis, 7)
    _draw_allowed(result, item, ax, top)
    mark_zero(ax)
    mark_set_points(ax, result.case.channel.set_points)
    if item.line is not None:
        _draw_line(result, item, item.line, ax, top)
    draw_readings(ax, item.points, _beside(item, top), lambda p: p.value_pct, mark=_mark, u_of=_own)
    ax.set_title(named or _at_speed(item))
    ax.set_title(verdict_text(item.verdict), loc="right", color=VERDICT_LOOKS[item.verdict].colour)
    return ax


def _draw_allowed(result: LinearityResult, item: FrequencyLinearity, ax: Axes, top: float) -> None:
    """Shade what is allowed at each level, on the scale that is judged."""
    channel = result.case.channel
    if not is_of_span(result):
        shade_allowed(ax, -channel.tolerance_pct, channel.tolerance_pct, accepted=_accepted(item))
        return
    level = np.linspace(0.0, top, 100)
    allowed = 100.0 * channel.tolerance.allowed(level, full_scale=channel.full_scale) / (channel.full_scale or 1.0)
    ax.fill_between(level, -allowed, allowed, color=ALLOWED, lw=0, zorder=0.8)
    for edge in (-allowed, allowed):
        ax.plot(level, edge, color=LIMIT, lw=1.1, zorder=1)
    name_level(ax, float(allowed[-1]), "limit")


def draw_residuals(result: LinearityResult, item: FrequencyLinearity, ax: Axes, scale: tuple[float, float]) -> Axes:
    """Draw what the line of the judged kind of non-linearity leaves of each reading, in % of span."""
    top, limit = _top(result, item), result.case.channel.nonlinearity_pct
    ax.set_xlim(0.0, top)
    percent_axis(ax, scale)
    few_numbers(ax.xaxis, 7)
    few_numbers(ax.yaxis, 4)
    if limit is not None:
        shade_allowed(ax, -limit, limit)
    mark_zero(ax)
    mark_set_points(ax, result.case.channel.set_points, named=False)
    if item.line is None:
        ax.text(0.5, 0.5, item.undetermined.get("line", "no line"), transform=ax.transAxes, ha="center", fontsize=8.5)
        return ax
    left = _residuals(result, item.line)
    ax.set_title(_bent_words(result, item.line), fontsize=8.5)

    def mark(point: JudgedPoint) -> Mark:
        beyond = limit is not None and abs(left(point) or 0.0) > limit
        return _mark(point)._replace(colour=FAILED if beyond else INK, filled=not beyond)

    draw_readings(ax, [p for p in item.points if p.used], _beside(item, top), left, mark=mark)
    return ax


def _bent_words(result: LinearityResult, line: LineAssessment) -> str:
    kind = result.case.channel.nonlinearity_kind
    value = percent_with_uncertainty(line.nonlinearity_pct[kind], line.nonlinearity_expanded, signed=False)
    return f"non-linearity {value} of span ({kind})"


def residual_scale(result: LinearityResult) -> tuple[float, float]:
    """Return the scale, in % of span, that holds what every line leaves over and half more than the limit."""
    values = [
        left
        for item in result.frequencies
        if item.line is not None
        for point in item.points
        if point.used and (left := _residuals(result, item.line)(point)) is not None
    ]
    half = round_up(max([1.5 * (result.case.channel.nonlinearity_pct or 0.0), 0.1, *(1.1 * abs(v) for v in values)]))
    return -half, half


def _residuals(result: LinearityResult, line: LineAssessment) -> Callable[[JudgedPoint], float | None]:
    judged = line.nonlinearity[result.case.channel.nonlinearity_kind]
    return lambda point: 100.0 * (point.y - judged.intercept - judged.slope * point.x) / line.span


def _draw_line(result: LinearityResult, item: FrequencyLinearity, line: LineAssessment, ax: Axes, top: float) -> None:
    """Draw the line; dotted beyond the readings, thin and dashed where the readings do not lie on one."""
    driven = item.max_applied or top
    span = result.case.channel.full_scale if is_of_span(result) else None

    def deviation(level: Any) -> Any:
        indicated = (line.intercept + line.sensitivity * level) / result.case.nominal_sensitivity
        return 100.0 * (indicated - level) / (span or level)

    read, beyond = np.geomspace(top / 200.0, driven, 40), np.array([driven, top])
    shared = next((p.common_u_pct * p.expanded.k for p in item.points if p.common_u_pct and p.expanded), 0.0)
    ax.fill_between(read, deviation(read) - shared, deviation(read) + shared, color=UNCERTAIN, lw=0, zorder=0.9)
    rejected = line.widened or line.bends
    ax.plot(read, deviation(read), color=GREY, lw=0.9 if rejected else 1.6, ls=_DASHED if rejected else "-", zorder=2)
    if driven < top:
        ax.plot(beyond, deviation(beyond), color=GREY, lw=1.2, ls=_DOTTED, zorder=2)
    words = f"sensitivity {percent_with_uncertainty(line.deviation_pct, line.deviation_expanded)}"
    if rejected:
        words += "\nreadings bend off the line" if line.bends else "\nreadings scatter more than their U"
    _name_line(ax, words, float(deviation(0.5 * driven)), max(shared, line.deviation_expanded.U))


def _name_line(ax: Axes, words: str, value: float, reach: float) -> None:
    """Write beside the line, towards zero, where there is room."""
    low, high = ax.get_ylim()
    value = min(max(value, low), high)
    up = value < 0.5 * (low + high)
    ax.text(0.012, value + (1.25 if up else -1.25) * reach, words, transform=ax.get_yaxis_transform(),
            va="bottom" if up else "top", fontsize=8.5, color=INK, zorder=6)  # fmt: skip


def _accepted(item: FrequencyLinearity) -> tuple[float, float] | None:
    """Return what the line may be with its guard band; None where there is none."""
    if item.line is None or item.line.deviation_decision.guard_band == 0.0:
        return None
    limits = item.line.deviation_decision.acceptance_limits
    if limits is None or limits.lower is None or limits.upper is None:
        return None
    return limits.lower, limits.upper


def _top(result: LinearityResult, item: FrequencyLinearity) -> float:
    return 1.06 * max([p.x for p in item.points] + [result.case.channel.trip or 0.0] + [1e-12])


def _mark(point: JudgedPoint) -> Mark:
    look = mark_of(point)
    if look is LEFT_OUT:
        return look
    size = SIZE if (point.reading.repeat or 1) <= 1 else _LATER * SIZE
    return look._replace(shape=_SHAPES.get(point.reading.direction or "", "o"), size=size)


def _own(point: JudgedPoint) -> float | None:
    """What of a reading's U is its own."""
    if point.expanded is None:
        return None
    return point.expanded.k * math.sqrt(max(point.expanded.u**2 - (point.common_u_pct or 0.0) ** 2, 0.0))


def _beside(item: FrequencyLinearity, top: float) -> Callable[[JudgedPoint], float]:
    """Return where each reading is drawn: readings of one level stand beside one another, in the order of passes."""
    places: dict[int, float] = {}
    levels = np.array([point.x for point in item.points])
    for group in group_close(levels, within_pct=SAME_LEVEL_PCT):
        order = sorted(group.tolist(), key=lambda i: (item.points[i].reading.repeat or 1, item.points[i].reading.row))
        for step, number in enumerate(order):
            aside = (step - 0.5 * (len(order) - 1)) * min(_ASIDE, 0.04 / len(order))
            places[item.points[number].reading.row] = item.points[number].x + aside * top
    return lambda point: places[point.reading.row]


def _at_speed(item: FrequencyLinearity) -> str:
    hz, names = item.frequency_hz, ", ".join(rotor.name for rotor in item.rotors)
    return f"{frequency(hz)} = {hz * 60:.5g} rpm" + (f" ({names})" if names else "")
