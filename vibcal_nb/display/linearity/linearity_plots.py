"""Plots of a linearity: output against level with its line, and the deviations of readings and line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.display.drawing.plot_parts import Axes, limit_range, scatter
from vibcal_nb.display.style import ALLOWED, GREY, INK, SET_POINT
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.case import Case


def draw_level_line(result: LinearityResult, item: FrequencyLinearity, ax: Axes) -> Axes:
    """Draw output against level at one frequency, with the tolerance funnel, the line, alert and trip."""
    case = result.case
    top = 1.06 * max([p.x for p in item.points] + [case.channel.trip or 0.0] + [1e-12])
    level = np.array([0.0, top])
    nominal = case.nominal_sensitivity * level
    allowed = case.nominal_sensitivity * case.channel.tolerance.allowed(level, full_scale=case.channel.full_scale)
    ax.fill_between(level, nominal - allowed, nominal + allowed, color=ALLOWED, lw=0, label="tolerance")
    if item.line is not None:
        for part, style, label in _read_and_beyond(level, item):
            ax.plot(part, item.line.intercept + item.line.sensitivity * part, color=GREY, ls=style, label=label)
    _mark_levels(result, ax)
    scatter(item.points, ax, lambda p: p.x, lambda p: p.y)
    highest = max([p.y for p in item.points if p.y is not None], default=0.0)
    ax.set(xlim=(0, top), ylim=(0, max(1.2 * nominal[-1], 1.06 * highest)))
    ax.set_ylabel(f"output less zero, {case.output_unit.text}")
    ax.set_title(_at_speed(item.frequency_hz, item.rotors))
    ax.legend(loc="upper left")
    return ax


def draw_level_deviations(result: LinearityResult, item: FrequencyLinearity, ax: Axes) -> Axes:
    """Draw each reading's deviation from the nominal sensitivity, with U and the limits, against level."""
    case, of_span = result.case, any(point.of_span for point in item.points)
    top = 1.06 * max([p.x for p in item.points] + [case.channel.trip or 0.0] + [1e-12])
    limit = _draw_limit(case, ax, top, of_span=of_span)
    ax.axhline(0.0, color=GREY, lw=0.8)
    if item.line is not None:
        for x, style, _ in _read_and_beyond(np.linspace(top / 200.0, top, 400), item):
            fitted = (item.line.intercept + item.line.sensitivity * x) / case.nominal_sensitivity
            error = (fitted - x) / (case.channel.full_scale if of_span else x)
            ax.plot(x, 100.0 * error, color=GREY, ls=style)
    _mark_levels(result, ax, named=False)
    scatter(item.points, ax, lambda p: p.x, lambda p: p.value_pct, bars=True)
    limit_range(ax, item.points, centre=0.0, least=1.6 * limit)
    ax.set(xlim=(0, top))
    ax.set_xlabel(f"level, {case.input_unit.text}")
    ax.set_ylabel("error, % of span" if of_span else "deviation, %")
    return ax


def _draw_limit(case: Case, ax: Axes, top: float, *, of_span: bool) -> float:
    """Draw what is allowed at each level, on the scale that is judged; return the most of it."""
    if not of_span:
        limit = case.channel.tolerance_pct
        ax.axhspan(-limit, limit, color=ALLOWED, lw=0)
        return limit
    full_scale = case.channel.full_scale or 1.0
    level = np.linspace(0.0, top, 2 if case.channel.tolerance.rule == "sum" else 400)
    allowed = 100.0 * case.channel.tolerance.allowed(level, full_scale=full_scale) / full_scale
    ax.fill_between(level, -allowed, allowed, color=ALLOWED, lw=0)
    return float(allowed.max())


def _read_and_beyond(level: Any, item: FrequencyLinearity) -> list[tuple[Any, Any, str | None]]:
    """Split the levels at the highest one driven: beyond it the line is inferred and drawn dotted."""
    top = item.max_applied or float(level[-1])
    within, beyond = level[level < top], level[level > top]
    parts: list[tuple[Any, Any, str | None]] = [(np.append(within, top), "-", "fitted line")]
    if beyond.size:
        parts.append((np.insert(beyond, 0, top), (0, (1, 2)), "beyond the readings"))
    return parts


def _mark_levels(result: LinearityResult, ax: Axes, *, named: bool = True) -> None:
    for name, level in result.case.channel.set_points:
        ax.axvline(level, color=SET_POINT, lw=1.1, ls=(0, (5, 3)))
        if named:
            ax.text(level, 0.03, f" {name}", transform=ax.get_xaxis_transform(), color=INK, fontsize=8.5, ha="left")


def _at_speed(hz: float, rotors: Iterable[Rotor]) -> str:
    names = ", ".join(rotor.name for rotor in rotors)
    return f"{frequency(hz)} = {hz * 60:.5g} rpm" + (f" ({names})" if names else "")
