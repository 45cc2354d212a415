"""Whole figures of results, as PNG with alternative text that is computed from the result."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import singledispatch
from types import MappingProxyType
from typing import Any

from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.display.plots import (
    draw_band_response,
    draw_budget,
    draw_level_deviations,
    draw_level_line,
    draw_sensor_alone,
)
from vibcal_nb.display.statements import compose_statement
from vibcal_nb.display.style import FIGURE_WIDTH, RC, RECORD_DPI


def new_figure(height: float, *, layout: Any = "constrained") -> Any:
    """Return an empty figure that belongs to no window system and to no global state."""
    from matplotlib.figure import Figure

    return Figure(figsize=(FIGURE_WIDTH, height), layout=layout)


def render_png(figure: Any, *, dpi: int = RECORD_DPI) -> bytes:
    """Return the figure as PNG."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    buffer = io.BytesIO()
    figure.set_dpi(dpi)
    FigureCanvasAgg(figure).print_png(buffer, pil_kwargs={"compress_level": 3})
    return buffer.getvalue()


def make_axes(result: Any, figure: Any) -> tuple[Any, ...]:
    """Return the axes that a result's figure needs, on an empty figure."""
    if not isinstance(result, LinearityResult):
        return (figure.subplots(),)
    columns = len(result.frequencies)
    return tuple(figure.subplots(2, columns, squeeze=False, sharex="col", height_ratios=(1.7, 1.0)).flat)


def drawn_png(
    height: float,
    draw: Callable[[Any], object],
    *,
    dpi: int = RECORD_DPI,
    layout: Any = "constrained",
    look: Any = MappingProxyType({}),
) -> bytes:
    """Return as PNG what ``draw`` draws into an empty figure of this height, in the one style; ``look`` changes it."""
    import matplotlib as mpl

    with mpl.rc_context({**RC, **look}):
        figure = new_figure(height, layout=layout)
        draw(figure)
        return render_png(figure, dpi=dpi)


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


def figure_png(result: Any, *, speed_axis: bool = False, dpi: int = RECORD_DPI) -> bytes:
    """Return the figure of a result as PNG."""
    return drawn_png(
        HEIGHTS[type(result)],
        lambda figure: draw_into(result, make_axes(result, figure), speed_axis=speed_axis),
        dpi=dpi,
    )


def budget_png(budget: Any, *, dpi: int = RECORD_DPI) -> bytes:
    """Return the bars of an uncertainty budget as PNG."""
    height = 0.32 * len(budget.lines) + 0.9
    return drawn_png(height, lambda figure: draw_budget(budget, figure.subplots()), dpi=dpi)


def alternative_text(result: Any) -> str:
    """Say in words what the figure of a result shows: what is drawn, then the statement."""
    drawn = {
        LinearityResult: "Output against level with the tolerance and the fitted line, and below it each deviation.",
        BandResponseResult: "Response in decibels over frequency with limits, fitted model and corners.",
        SensorAloneResult: "Deviation of the sensor's sensitivity over frequency with limits.",
    }[type(result)]
    return f"{drawn} {compose_statement(result)}"


def figure_svg(result: Any) -> str:
    """Return the figure of a result as SVG with its text as text, in the font that matplotlib brings along.

    The same result gives the same SVG: no date, no random names. Margins and titles stand where they are put and
    small ticks are left out, because finding room takes longer than drawing, and a site has thousands of figures.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    buffer = io.StringIO()
    with mpl.rc_context({**RC, "svg.fonttype": "none", "svg.hashsalt": "vibcal_nb", "axes.titley": 1.0}):
        height = HEIGHTS[type(result)]
        figure = Figure(figsize=(FIGURE_WIDTH, height))
        axes = make_axes(result, figure)
        draw_into(result, axes)
        for ax in axes:
            ax.minorticks_off()
        edges = {"left": 0.75 / FIGURE_WIDTH, "right": 1.0 - 0.1 / FIGURE_WIDTH}
        figure.subplots_adjust(**edges, bottom=0.5 / height, top=1.0 - 0.3 / height, wspace=0.22, hspace=0.1)
        FigureCanvasSVG(figure).print_svg(buffer, metadata={"Date": None, "Creator": None})
    return buffer.getvalue()
