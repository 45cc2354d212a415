"""The sketch of a channel: output over level with its tolerance and set points, response over frequency with limits."""

from __future__ import annotations

from typing import Any

import numpy as np

from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, few_numbers, frequency_axis
from vibcal_nb.display.sketch.channel_sketch import ChannelSketch
from vibcal_nb.display.style import ALLOWED, GREY, INK, LIMIT, SET_POINT

HEIGHT = 3.2  # inches
_SMALL = 8.5
_WIDE = 1.09  # a single frequency is drawn as wide as this factor to either side
_OPEN = "nothing is stated yet"


def sketch_picture(sketch: ChannelSketch) -> Picture:
    """Return the sketch of a channel."""

    def draw(figure: Any) -> None:
        level, response = axes_beside(figure, widths=(1.0, 1.3), top=30.0, bottom=40.0, right=22.0)
        _draw_level(sketch, level)
        _draw_response(sketch, response)

    return draw_picture(HEIGHT, draw, text=sketch_words(sketch))


def sketch_words(sketch: ChannelSketch) -> str:
    """Say what the sketch shows."""
    said = [f"Sketch of {sketch.tag} with the limits that are stated"]
    if sketch.nominal_sensitivity is not None:
        said.append(f"nominal {sketch.nominal_sensitivity:g} {sketch.output_unit} per {sketch.input_unit}")
    if sketch.levels:
        said.append(", ".join(f"{name} {level:g}" for name, level in sketch.levels.items()) + f" {sketch.input_unit}")
    if sketch.flat_hz is not None and sketch.flat_pct is not None:
        said.append(f"flat within {sketch.flat_pct:g} % from {sketch.flat_hz[0]:g} to {sketch.flat_hz[1]:g} Hz")
    said += [f"{side} corner at {hz:g} Hz" for side, hz in sketch.corners_hz.items()]
    said += [f"{low:g} to {high:g} % at {hz:g} Hz" for hz, low, high in sketch.limits]
    return "; ".join(said) + "."


def _draw_level(sketch: ChannelSketch, ax: Axes) -> None:
    top = sketch.top or 1.0
    ax.set_title("output over level")
    ax.set_xlim(0.0, top)
    ax.set_xlabel(f"level, {sketch.input_unit or 'input_unit is open'}")
    ax.set_ylabel(f"output, {sketch.output_unit or 'output_unit is open'}")
    few_numbers(ax.xaxis, 6)
    few_numbers(ax.yaxis, 5)
    nominal = sketch.nominal_sensitivity
    if nominal is None:
        ax.text(0.5, 0.5, "nominal_sensitivity is open", transform=ax.transAxes, ha="center", color=GREY)
    else:
        _draw_line(sketch, ax, nominal, top)
    _mark_levels(sketch, ax, top)


def _mark_levels(sketch: ChannelSketch, ax: Axes, top: float) -> None:
    """Mark alert, trip and full scale, each name on a line of its own: they may lie close together."""
    place = ax.get_xaxis_transform()
    for line, (name, level) in enumerate(sketch.levels.items()):
        ax.axvline(level, color=SET_POINT, lw=1.1, ls=(0, (5, 3)), zorder=1)
        side, by = ("left", 0.01) if level < 0.6 * top else ("right", -0.01)
        said = f"{name} {level:g}"
        ax.text(level + by * top, 0.98 - 0.08 * line, said, transform=place, va="top", ha=side, fontsize=_SMALL,
                color=SET_POINT, zorder=6)  # fmt: skip


def _draw_line(sketch: ChannelSketch, ax: Axes, nominal: float, top: float) -> None:
    levels = np.linspace(0.0, top, 60)
    line = sketch.output_zero + nominal * levels
    allowed = [sketch.allowed(float(level)) for level in levels]
    widths = nominal * np.array([0.0 if item is None else item for item in allowed])
    if widths.any():
        ax.fill_between(levels, line - widths, line + widths, color=ALLOWED, lw=0, zorder=0.8)
        for edge in (line - widths, line + widths):
            ax.plot(levels, edge, color=LIMIT, lw=1.0, zorder=1)
    ax.plot(levels, line, color=INK, lw=1.0, zorder=2)
    ax.set_ylim(min(0.0, sketch.output_zero), float(line[-1] + widths[-1]))
    said = f"nominal {nominal:g}; {'blue: allowed' if widths.any() else 'tolerance is open'}"
    ax.text(0.98, 0.04, said, transform=ax.transAxes, ha="right", fontsize=_SMALL, color=GREY, zorder=6)


def _draw_response(sketch: ChannelSketch, ax: Axes) -> None:
    ax.set_title("response over frequency")
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel("% of that at the reference")
    boxes = list(_boxes(sketch))
    marked = [*([sketch.reference_hz] if sketch.reference_hz else []), *sketch.rotors_hz.values()]
    frequencies = [hz for (low, high), *_ in boxes for hz in (low, high)] + marked
    low, high = (min(frequencies) / 1.5, 1.5 * max(frequencies)) if frequencies else (1.0, 1000.0)
    frequency_axis(ax, low, high)
    ax.set_ylim(0.0, max([115.0, *(1.05 * upper for *_, upper in boxes)]))
    few_numbers(ax.yaxis, 6)
    for span, lower, upper in boxes:
        ax.fill_between(span, lower, upper, color=ALLOWED, lw=0, zorder=0.8)
        for edge in (lower, upper):
            ax.plot(span, [edge, edge], color=LIMIT, lw=1.2, zorder=1)
    for name, hz in sketch.rotors_hz.items():
        ax.axvline(hz, color=GREY, lw=1.0, ls=(0, (2, 2)), zorder=1)
        ax.text(hz, 2.0, f" {name}", fontsize=_SMALL, color=GREY, rotation=90, va="bottom", ha="right", zorder=6)
    if sketch.reference_hz is not None:
        ax.plot([sketch.reference_hz], [100.0], ls="none", marker="o", ms=6, color=INK, zorder=5)
        ax.text(sketch.reference_hz, 88.0, "reference", fontsize=_SMALL, ha="center", va="top", zorder=6)
    if not boxes:
        ax.text(0.5, 0.5, _OPEN, transform=ax.transAxes, ha="center", color=GREY)


def _boxes(sketch: ChannelSketch) -> Any:
    """Yield what is allowed, each as its frequencies, lowest and highest response in %."""
    if sketch.flat_hz is not None and sketch.flat_hz[0] > 0.0 and sketch.flat_pct is not None:
        yield sketch.flat_hz, 100.0 - sketch.flat_pct, 100.0 + sketch.flat_pct
    lowest, highest = (100.0 * 10.0 ** (db / 20.0) for db in sketch.corner_db)
    for hz in sketch.corners_hz.values():
        yield (hz / _WIDE, hz * _WIDE), lowest, highest
    for hz, lower, upper in sketch.limits:
        yield (hz / _WIDE, hz * _WIDE), lower, upper
