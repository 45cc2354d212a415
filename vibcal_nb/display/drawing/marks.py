"""Readings as marks: filled where they lie within their limits, hollow where not; small where nothing was judged."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.drawing.light_figure import ROWS
from vibcal_nb.display.style import GREY, INK, PAPER, VERDICT_LOOKS

Axes = Any
Place = Callable[[JudgedPoint], float | None]
Placed = tuple[float, float, float, int]  # across, up, U, and the reading's row

SIZE = 6.0  # points
MOST_MARKS = 2000
"""Readings of one look that are drawn: the highest and lowest tenth of them, and every so many-th between."""


class Mark(NamedTuple):
    """How a reading is drawn: matplotlib's name of the shape, its colour, whether it is filled, its size in points."""

    shape: str
    colour: str
    filled: bool = True
    size: float = SIZE


LEFT_OUT = Mark("x", GREY, size=5.0)
NOT_JUDGED = Mark("o", GREY, size=3.5)


def verdict_mark(verdict: str) -> Mark:
    """Return the mark of a verdict."""
    look = VERDICT_LOOKS[verdict]
    return Mark(look.marker, INK if look.filled else look.colour, look.filled)


def mark_of(point: JudgedPoint) -> Mark:
    """Return the mark of a reading."""
    if point.excluded:
        return LEFT_OUT
    return NOT_JUDGED if point.verdict is None else verdict_mark(point.verdict)


def draw_readings(
    ax: Axes,
    points: Iterable[JudgedPoint],
    x_of: Place,
    y_of: Place,
    *,
    mark: Callable[[JudgedPoint], Mark] = mark_of,
    u_of: Place | None = None,
) -> None:
    """Draw readings at places in the plot's units, as few artists as there are looks; ``u_of`` gives their bars.

    A reading without a place, or outside the axes, is not drawn.
    """
    groups: dict[Mark, list[Placed]] = {}
    for point in points:
        x, y = x_of(point), y_of(point)
        if x is not None and y is not None:
            groups.setdefault(mark(point), []).append(
                (x, y, (u_of(point) if u_of else None) or float("nan"), point.reading.row)
            )
    for look, places in groups.items():
        across, up, u, rows = zip(*thinned(places), strict=True)
        if u_of is not None and look is not LEFT_OUT:
            draw_bars(ax, across, up, u, colour=look.colour)
        draw_marks(ax, across, up, look, rows=rows)


def thinned(places: Sequence[Placed]) -> Sequence[Placed]:
    """Return at most so many places as a figure shows, in their order: who looks at it misses none of the outermost."""
    if len(places) <= MOST_MARKS:
        return places
    by_height = sorted(range(len(places)), key=lambda number: places[number][1])
    edge = MOST_MARKS // 10
    outer = {*by_height[:edge], *by_height[-edge:]}
    step = -(-len(places) // (MOST_MARKS - 2 * edge))
    return [place for number, place in enumerate(places) if number % step == 0 or number in outer]


def draw_marks(ax: Axes, x: Any, y: Any, mark: Mark, *, rows: Iterable[int] = ()) -> None:
    """Draw marks of one look; of readings ``rows`` names them, so that they are known where a person touches them."""
    ax.plot(
        x, y, ls="none", marker=mark.shape, ms=mark.size, mec=mark.colour, mew=1.2, zorder=4,
        mfc=mark.colour if mark.filled else PAPER, gid=ROWS + " ".join(map(str, rows)),
    )  # fmt: skip


def draw_bars(ax: Axes, x: ArrayLike, y: ArrayLike, u: ArrayLike, *, colour: str) -> None:
    """Draw a bar of U up and down at each place; those that have no U are left out."""
    middle, half = np.asarray(y, dtype=float), np.asarray(u, dtype=float)
    ends = np.column_stack([middle - half, middle + half, np.full(len(middle), np.nan)])
    ax.plot(np.repeat(np.asarray(x, dtype=float), 3), ends.ravel(), color=colour, lw=1.0, zorder=3)
