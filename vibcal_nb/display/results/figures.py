"""Whole figures of results, with alternative text that is computed from the result."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.png import drawn_png
from vibcal_nb.display.drawing.vector_axes import LABELS_BELOW, VectorAxes, page_svg
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.results.view import Drawing
from vibcal_nb.display.style import RECORD_DPI
from vibcal_nb.display.views import view_of


def drawing_of(result: Result) -> Drawing:
    """Return the drawing of a result's kind. Raises TypeError for a kind that has none."""
    drawing = view_of(result).drawing
    if drawing is None:
        raise TypeError(f"{type(result).__name__} has no figure")
    return drawing


def make_axes(result: Result, figure: Any) -> tuple[Any, ...]:
    """Return the axes that a result's figure needs, on an empty figure."""
    return drawing_of(result).axes(result, figure)


def draw_into(result: Result, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    """Draw a result into the axes that `make_axes` made for one of its kind."""
    drawing_of(result).draw(result, axes, speed_axis=speed_axis)


def figure_png(result: Result, *, speed_axis: bool = False, dpi: int = RECORD_DPI) -> bytes:
    """Return the figure of a result as PNG."""
    return drawn_png(
        drawing_of(result).height(result),
        lambda figure: draw_into(result, make_axes(result, figure), speed_axis=speed_axis),
        dpi=dpi,
    )


def alternative_text(result: Result) -> str:
    """Say in words what the figure of a result shows: what is drawn, then the statement."""
    return f"{drawing_of(result).shows} {compose_statement(result)}"


def figure_svg(result: Result, *, width: float) -> str:
    """Return the figure of a result as SVG, ``width`` points wide, its text as text in matplotlib's own font.

    The same result gives the same SVG. It is drawn by axes of our own, in a twentieth of matplotlib's time: a site
    has thousands of figures.
    """
    height = drawing_of(result).height_on_paper
    axes = make_vector_axes(result, width=width, height=height)
    draw_into(result, axes)
    return page_svg(axes, width=width, height=height)


def make_vector_axes(result: Result, *, width: float, height: float) -> tuple[VectorAxes, ...]:
    """Return the axes of a result's figure of this size in points, in the order of `make_axes`."""
    drawing = drawing_of(result)
    rows, columns = drawing.rows, drawing.columns(result)
    left, right, above, between = 38.0, 6.0, 16.0, 6.0
    below = LABELS_BELOW + (2.0 if len(rows) > 1 else 22.0)  # room for a legend of two rows
    inner, column = height - above - below - between * (len(rows) - 1), width / max(columns, 1)
    axes, top = [], above
    for row, share in enumerate(rows):
        for number in range(columns):
            axes.append(
                VectorAxes(
                    left=number * column + left,
                    top=top,
                    width=column - left - right,
                    height=share * inner,
                    numbered=row == len(rows) - 1,
                )
            )
        top += share * inner + between
    return tuple(axes)
