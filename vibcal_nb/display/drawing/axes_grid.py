"""Where the plots of a figure stand: fixed places, in points, which nothing has to seek."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

_POINTS = 72.0  # an inch


def axes_grid(
    figure: Any,
    *,
    columns: int = 1,
    heights: Sequence[float] = (1.0,),
    left: float = 50.0,
    right: float = 10.0,
    top: float = 24.0,
    bottom: float = 36.0,
    across: float = 50.0,
    down: float = 12.0,
) -> list[list[Any]]:
    """Return plots on an empty figure, a list a row, rows as high as ``heights`` are to one another.

    ``left``, ``right``, ``top``, ``bottom``: the margins; ``across``, ``down``: what lies between plots; in points.
    Only the lowest row of plots has its numbers below.
    """
    width, height = figure.get_size_inches() * _POINTS
    each = (width - left - right - across * (columns - 1)) / columns
    inner = height - top - bottom - down * (len(heights) - 1)
    rows, above = [], top
    for number, share in enumerate(heights):
        high = inner * share / sum(heights)
        low = height - above - high
        places = ((left + column * (each + across), low, each, high) for column in range(columns))
        rows.append([_axes(figure, place, (width, height)) for place in places])
        if number < len(heights) - 1:
            for ax in rows[-1]:
                ax.tick_params(labelbottom=False)
        above += high + down
    return rows


def axes_beside(
    figure: Any,
    *,
    widths: Sequence[float],
    left: float = 50.0,
    right: float = 10.0,
    top: float = 24.0,
    bottom: float = 36.0,
    across: float = 50.0,
) -> tuple[Any, ...]:
    """Return plots side by side on an empty figure, as wide as ``widths`` are to one another; margins in points."""
    width, height = figure.get_size_inches() * _POINTS
    inner = (width - left - right - across * (len(widths) - 1)) / sum(widths)
    starts = [left + inner * sum(widths[:number]) + across * number for number in range(len(widths))]
    places = [
        (start, bottom, inner * share, height - top - bottom) for start, share in zip(starts, widths, strict=True)
    ]
    return tuple(_axes(figure, place, (width, height)) for place in places)


def place_axes(figure: Any, *, left: float, low: float, wide: float, high: float) -> Any:
    """Return a plot at a place of an empty figure, from its lower left corner; lengths in points."""
    return _axes(figure, (left, low, wide, high), figure.get_size_inches() * _POINTS)


def _axes(figure: Any, place: Sequence[float], size: Sequence[float]) -> Any:
    """Plots whose axes have their names where they stand, since finding out how wide numbers are takes long."""
    left, low, wide, high = place
    ax = figure.add_axes((left / size[0], low / size[1], wide / size[0], high / size[1]))
    ax.xaxis.set_label_coords(0.5, -20.0 / high)
    ax.yaxis.set_label_coords(-36.0 / wide, 0.5)
    return ax
