"""Whole figures of results, as PNG with alternative text that is computed from the result."""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch
from typing import Any

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.band_response.band_plots import draw_band_response
from vibcal_nb.display.drawing.png import drawn_png
from vibcal_nb.display.drawing.vector_axes import LABELS_BELOW, VectorAxes, page_svg
from vibcal_nb.display.linearity.linearity_plots import draw_level_deviations, draw_level_line
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.sensor_alone.sensor_plots import draw_sensor_alone
from vibcal_nb.display.style import RECORD_DPI


def make_axes(result: Any, figure: Any) -> tuple[Any, ...]:
    """Return the axes that a result's figure needs, on an empty figure."""
    if not isinstance(result, LinearityResult):
        return (figure.subplots(),)
    columns = len(result.frequencies)
    return tuple(figure.subplots(2, columns, squeeze=False, sharex="col", height_ratios=(1.7, 1.0)).flat)


@singledispatch
def draw_into(result: object, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    """Draw a result into the axes that `make_axes` made for one of its kind."""
    raise TypeError(f"no figure for {type(result).__name__}")


@draw_into.register
def _(result: LinearityResult, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    columns = len(result.frequencies)
    for column, item in enumerate(result.frequencies):
        draw_level_line(result, item, axes[column])
        draw_level_deviations(result, item, axes[columns + column])


@draw_into.register
def _(result: BandResponseResult, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    draw_band_response(result, axes[0], speed_axis=speed_axis)


@draw_into.register
def _(result: SensorAloneResult, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    draw_sensor_alone(result, axes[0])


HEIGHTS = {LinearityResult: 5.6, BandResponseResult: 4.6, SensorAloneResult: 4.0}
VECTOR_HEIGHTS = {LinearityResult: 200.0, BandResponseResult: 160.0, SensorAloneResult: 140.0}  # points, on a sheet


def figure_png(result: Any, *, speed_axis: bool = False, dpi: int = RECORD_DPI) -> bytes:
    """Return the figure of a result as PNG."""
    return drawn_png(
        HEIGHTS[type(result)],
        lambda figure: draw_into(result, make_axes(result, figure), speed_axis=speed_axis),
        dpi=dpi,
    )


def alternative_text(result: Any) -> str:
    """Say in words what the figure of a result shows: what is drawn, then the statement."""
    drawn = {
        LinearityResult: "Output against level with the tolerance and the fitted line, and below it each deviation.",
        BandResponseResult: "Response in decibels over frequency with limits, fitted model and corners.",
        SensorAloneResult: "Deviation of the sensor's sensitivity over frequency with limits.",
    }[type(result)]
    return f"{drawn} {compose_statement(result)}"


def figure_svg(result: Any, *, width: float) -> str:
    """Return the figure of a result as SVG, ``width`` points wide, its text as text in matplotlib's own font.

    The same result gives the same SVG. It is drawn by axes of our own, in a twentieth of matplotlib's time: a site
    has thousands of figures.
    """
    height = VECTOR_HEIGHTS[type(result)]
    axes = make_vector_axes(result, width=width, height=height)
    draw_into(result, axes)
    return page_svg(axes, width=width, height=height)


def make_vector_axes(result: Any, *, width: float, height: float) -> tuple[VectorAxes, ...]:
    """Return the axes of a result's figure of this size in points, in the order of `make_axes`."""
    is_line = isinstance(result, LinearityResult)
    rows = ((0.62, False), (0.38, True)) if is_line else ((1.0, True),)
    columns = len(result.frequencies) if is_line else 1
    left, right, above, between = 38.0, 6.0, 16.0, 6.0
    below = LABELS_BELOW + (2.0 if is_line else 22.0)  # room for a legend of two rows
    inner, column = height - above - below - between * (len(rows) - 1), width / max(columns, 1)
    axes, top = [], above
    for share, numbered in rows:
        for number in range(columns):
            axes.append(
                VectorAxes(
                    left=number * column + left,
                    top=top,
                    width=column - left - right,
                    height=share * inner,
                    numbered=numbered,
                )
            )
        top += share * inner + between
    return tuple(axes)
