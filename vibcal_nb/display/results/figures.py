"""Whole figures of results, with alternative text that is computed from the result."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.results.view import Drawing
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


def result_picture(result: Result, *, speed_axis: bool = False) -> Picture:
    """Return the figure of a result."""

    def draw(figure: Any) -> None:
        draw_into(result, make_axes(result, figure), speed_axis=speed_axis)

    return draw_picture(drawing_of(result).height(result), draw, text=alternative_text(result))


def alternative_text(result: Result) -> str:
    """Say in words what the figure of a result shows: what is drawn, then the statement."""
    return f"{drawing_of(result).shows} {compose_statement(result)}"
