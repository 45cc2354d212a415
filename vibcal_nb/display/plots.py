"""Plots of results: each takes a result and axes, draws, and returns the axes; none computes a verdict."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from vibcal_nb.analysis.band_model import evaluate_band
from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.judged import JudgedPoint
from vibcal_nb.analysis.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.analysis.sensor_model import evaluate_sensor
from vibcal_nb.display.style import BLUE, FAINT, INK, ORANGE, PURPLE, SET_POINT_COLOURS, SKY, VERDICT_LOOKS
from vibcal_nb.display.vector_axes import VectorAxes
from vibcal_nb.display.wording import coverage, frequency
from vibcal_nb.inputs.asset import Rotor

Axes = Any  # matplotlib's, which is imported by whoever makes a figure, or VectorAxes


def draw_level_line(result: LinearityResult, item: FrequencyLinearity, ax: Axes) -> Axes:
    """Draw output against level at one frequency, with the tolerance funnel, the line, alert and trip."""
    case = result.case
    top = 1.06 * max([p.x for p in item.points] + [case.channel.trip or 0.0] + [1e-12])
    level = np.array([0.0, top])
    nominal, tolerance = case.nominal_sensitivity * level, case.channel.tolerance_pct / 100.0
    ax.fill_between(
        level, nominal * (1 - tolerance), nominal * (1 + tolerance), color=SKY, alpha=0.25, lw=0, label="tolerance"
    )
    if item.line is not None:
        for part, style, label in _read_and_beyond(level, item):
            ax.plot(part, item.line.intercept + item.line.sensitivity * part, color=BLUE, ls=style, label=label)
    _mark_levels(result, ax)
    _scatter(item.points, ax, lambda p: p.x, lambda p: p.y)
    highest = max([p.y for p in item.points if p.y is not None], default=0.0)
    ax.set(xlim=(0, top), ylim=(0, max(1.2 * nominal[-1], 1.06 * highest)))
    ax.set_ylabel(f"output less zero, {case.output_unit.text}")
    ax.set_title(_at_speed(item.frequency_hz, item.rotors))
    ax.legend(loc="upper left")
    return ax


def draw_level_deviations(result: LinearityResult, item: FrequencyLinearity, ax: Axes) -> Axes:
    """Draw each reading's deviation from the nominal sensitivity, with U and the limits, against level."""
    case, tolerance = result.case, result.case.channel.tolerance_pct
    top = 1.06 * max([p.x for p in item.points] + [case.channel.trip or 0.0] + [1e-12])
    ax.axhspan(-tolerance, tolerance, color=SKY, alpha=0.25, lw=0)
    ax.axhline(0.0, color=FAINT, lw=0.8)
    if item.line is not None:
        for x, style, _ in _read_and_beyond(np.linspace(top / 200.0, top, 400), item):
            fitted = item.line.sensitivity + item.line.intercept / x
            ax.plot(x, 100.0 * (fitted / case.nominal_sensitivity - 1.0), color=BLUE, ls=style)
    _mark_levels(result, ax, named=False)
    _scatter(item.points, ax, lambda p: p.x, lambda p: p.value_pct, bars=True)
    _limit_range(ax, item.points, centre=0.0, least=1.6 * tolerance)
    ax.set(xlim=(0, top))
    ax.set_xlabel(f"level, {case.input_unit.text}")
    ax.set_ylabel("deviation, %")
    return ax


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
        ax.axvline(level, color=SET_POINT_COLOURS[name], lw=1.1, ls=(0, (5, 3)))
        if named:
            ax.text(level, 0.03, f" {name}", transform=ax.get_xaxis_transform(), color=INK, fontsize=8.5, ha="left")


def _at_speed(hz: float, rotors: Iterable[Rotor]) -> str:
    names = ", ".join(rotor.name for rotor in rotors)
    return f"{frequency(hz)} = {hz * 60:.5g} rpm" + (f" ({names})" if names else "")


def _scatter(points: Iterable[JudgedPoint], ax: Axes, x_of: Any, y_of: Any, *, bars: bool = False) -> None:
    """Draw readings by their verdict's marker and colour; excluded ones as a struck-through grey cross."""
    groups: dict[str, list[tuple[float, float, float]]] = {}
    for point in points:
        y = y_of(point)
        if y is None:
            continue
        key = "excluded" if not point.used else (point.verdict or "not judged")
        groups.setdefault(key, []).append((x_of(point), y, point.expanded.U if point.expanded else 0.0))
    for key, triples in groups.items():
        x, y, u = (np.array(column) for column in zip(*triples, strict=True))
        marker, colour = _look(key)
        style = {"ls": "none", "marker": marker, "color": colour, "ms": 6, "zorder": 3}
        if bars and key != "excluded":
            ax.errorbar(x, y, yerr=u, elinewidth=1.0, capsize=0, label=key, **style)
        else:
            ax.plot(x, y, label=key, **style)


def _look(key: str) -> tuple[str, str]:
    if key == "excluded":
        return "x", FAINT
    if key == "not judged":
        return ".", INK
    return VERDICT_LOOKS[key].marker, VERDICT_LOOKS[key].colour


def _limit_range(ax: Axes, points: Iterable[JudgedPoint], *, centre: float, least: float) -> None:
    """Keep the limits in sight and the readings within, symmetric about the centre."""
    reach = [
        abs(p.value_pct - centre) + (p.expanded.U if p.expanded else 0.0) for p in points if p.value_pct is not None
    ]
    half = round_up(max([least, *(1.08 * r for r in reach)]))
    ax.set_ylim(centre - half, centre + half)


def round_up(value: float) -> float:
    """Return the next round number, so that the scale rests while a limit is moved."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(
        step * decade for step in (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0) if value <= step * decade * 1.000001
    )


def draw_band_response(result: BandResponseResult, ax: Axes, *, speed_axis: bool = False) -> Axes:
    """Draw the response in dB over frequency: limits, fitted model, corners with intervals, rotors' speeds."""
    band = result.specification
    used = [p for p in result.points if p.value_pct is not None and p.value_pct > 0.0]
    frequencies = np.array([p.reading.frequency_hz for p in result.points])
    low, high = frequencies.min() / 1.3, frequencies.max() * 1.3
    if band.flat_hz is not None and band.flat_pct is not None:
        edges = [_decibels(100.0 - band.flat_pct), _decibels(100.0 + band.flat_pct)]
        ax.fill_between(band.flat_hz, *edges, color=SKY, alpha=0.3, lw=0, label="flat part")
    for number, item in enumerate(result.requirements):
        bottom, top = _decibels(item.requirement.min_pct), _decibels(item.requirement.max_pct)
        label = "limits" if number == 0 else None
        ax.plot([item.requirement.frequency_hz] * 2, [bottom, top], color=ORANGE, lw=5, alpha=0.8, label=label)
    _draw_band_model(result, ax, low, high)
    _scatter(used, ax, lambda p: p.reading.frequency_hz, lambda p: _decibels(p.value_pct))
    bottom = min([_decibels(p.value_pct or 100.0) for p in used] + [-4.0])
    top = max([_decibels(p.value_pct or 100.0) for p in used] + [0.0])
    ax.set(xscale="log", xlim=(low, high), ylim=(max(bottom, -60.0) - 2.0, top + 1.5))
    plain_log_axis(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel(f"response re {frequency(band.reference_hz)}, dB")
    if speed_axis:
        _add_speed_axis(ax)
    ax.legend(loc="lower center", ncols=3)
    return ax


def _draw_band_model(result: BandResponseResult, ax: Axes, low: float, high: float) -> None:
    fit, reference = result.fit, result.reference_sensitivity
    if fit is None or reference is None or not fit.adequate:
        return
    f = np.geomspace(low, high, 300)
    ax.plot(f, 20.0 * np.log10(evaluate_band(fit, f) / reference), color=BLUE, label="fitted model")
    half_power = 20.0 * np.log10(fit.plateau / reference) - 10.0 * np.log10(2.0)
    label = f"corner, {coverage(result.uncertainty.probability)}"
    for corner, interval in (
        (fit.corner_low_hz, fit.corner_low_interval_hz),
        (fit.corner_high_hz, fit.corner_high_interval_hz),
    ):
        if corner is not None and interval is not None:
            ax.plot(corner, half_power, marker="|", ms=13, mew=2, color=PURPLE, zorder=4)
            ax.plot(interval, [half_power] * 2, color=PURPLE, lw=3, zorder=4, label=label)
            label = None  # type: ignore[assignment]


def _decibels(response_pct: float) -> float:
    return float(20.0 * np.log10(max(response_pct, 1e-4) / 100.0))


def mark_rotors(rotors: Iterable[Rotor], ax: Axes, low: float, high: float) -> None:
    """Mark the rotors' speeds that lie on the axis."""
    for rotor in rotors:
        if low <= rotor.speed_hz <= high:
            ax.axvline(rotor.speed_hz, color=FAINT, lw=1.0, ls=(0, (2, 2)))
            ax.text(
                rotor.speed_hz,
                1.0,
                f" {rotor.name}",
                transform=ax.get_xaxis_transform(),
                fontsize=8.5,
                va="bottom",
                ha="center",
            )


def plain_log_axis(ax: Axes) -> None:
    """Label a logarithmic frequency axis with plain numbers at 1, 2 and 5, as `VectorAxes` does by itself."""
    if isinstance(ax, VectorAxes):
        return
    from matplotlib.ticker import LogLocator, NullFormatter, StrMethodFormatter

    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter(StrMethodFormatter("{x:g}"))
    ax.xaxis.set_minor_formatter(NullFormatter())


def _add_speed_axis(ax: Axes) -> None:
    second = ax.secondary_xaxis(-0.2, functions=(lambda hz: hz * 60.0, lambda rpm: rpm / 60.0))
    second.set_xlabel("speed, rpm (cycles a minute)")
    plain_log_axis(second)


def draw_sensor_alone(result: SensorAloneResult, ax: Axes) -> Axes:
    """Draw the deviation from the sensitivity at the reference frequency, with U and limits, over frequency."""
    sensor = result.specification
    frequencies = np.array([p.reading.frequency_hz for p in result.points])
    low, high = frequencies.min() / 1.3, frequencies.max() * 1.3
    if sensor.flat_pct is not None:
        span = sensor.flat_hz or (low, high)
        ax.fill_between(span, -sensor.flat_pct, sensor.flat_pct, color=SKY, alpha=0.25, lw=0, label="allowed")
    ax.axhline(0.0, color=FAINT, lw=0.8)
    reference = result.reference_sensitivity
    if result.fit is not None and reference is not None and reference > 0.0:
        f = np.geomspace(frequencies.min(), frequencies.max(), 200)
        fitted = 100.0 * (evaluate_sensor(result.fit, f) / reference - 1.0)
        ax.plot(f, fitted, color=BLUE, label="fitted physics")
    _scatter(result.points, ax, lambda p: p.reading.frequency_hz, lambda p: p.value_pct, bars=True)
    _limit_range(ax, result.points, centre=0.0, least=1.6 * (sensor.flat_pct or 3.0))
    ax.set(xscale="log", xlim=(low, high))
    plain_log_axis(ax)
    mark_rotors(result.case.channel.rotors, ax, low, high)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel(f"deviation from {frequency(sensor.reference_hz)}, %")
    ax.legend(loc="upper left", ncols=3)
    return ax


def draw_budget(result_budget: Any, ax: Axes) -> Axes:
    """Draw an uncertainty budget as bars of the contributions' standard uncertainties, the largest on top."""
    lines = sorted(result_budget.lines, key=lambda line: line.contribution)
    colours = [BLUE if line.kind == "common" else ORANGE for line in lines]
    ax.barh([line.name for line in lines], [line.contribution for line in lines], color=colours, height=0.62)
    for kind, colour in (("common", BLUE), ("independent", ORANGE)):
        ax.barh([lines[0].name], [0.0], color=colour, label=kind)
    ax.set_xlabel("standard uncertainty, %")
    ax.grid(axis="y", visible=False)
    ax.legend(loc="lower right")
    return ax
