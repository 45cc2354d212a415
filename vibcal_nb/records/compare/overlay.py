"""The judged readings of two records in one figure: the earlier hollow and grey, the later filled."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import explain
from vibcal_nb.display.style import GREY, INK
from vibcal_nb.records.compare.comparison import Comparison

_HEIGHT = 3.4  # inches
_KINDS = {"deviation_pct": "deviation, %", "response_pct": "response, % of that at the reference"}


class _Point(NamedTuple):
    x: float
    y: float
    expanded: float
    over: str
    kind: str


def overlay(comparison: Comparison) -> Picture | None:
    """Draw the readings of both records, each with its U; None where they share no scale or hold no readings."""
    old, new = (list(_points(record.result.get("quantities"))) for record in (comparison.before, comparison.after))
    scales = {(point.over, point.kind) for point in (*old, *new)}
    if not old or not new or len(scales) != 1:
        return None
    ((over, kind),) = scales

    def draw(figure: Any) -> None:
        ((ax,),) = axes_grid(figure)
        _draw(ax, old, GREY, "none")
        _draw(ax, new, INK, INK)
        if over == "frequency_hz":
            ax.set_xscale("log")
        ax.set_xlabel("frequency, Hz" if over == "frequency_hz" else "level applied, in the channel's unit")
        ax.set_ylabel(_KINDS[kind])
        explain(ax, "○ before", "● after", "bar: U")

    return draw_picture(_HEIGHT, draw, text=f"{len(old)} readings before (hollow) and {len(new)} after (filled).")


def _draw(ax: Any, points: list[_Point], colour: str, fill: str) -> None:
    x, y, u = (np.array([getattr(point, name) for point in points]) for name in ("x", "y", "expanded"))
    ax.errorbar(x, y, yerr=u, fmt="o", ms=5, mfc=fill, mec=colour, ecolor=colour, elinewidth=0.8)


def _points(quantities: Any) -> Iterator[_Point]:
    """Yield the readings of a result that were judged or could be, from its lists of points."""
    for part in quantities if isinstance(quantities, list) else [quantities]:
        points = part.get("points", ()) if isinstance(part, Mapping) else ()
        for point in filter(_is_mapping, points):
            kind = next((name for name in _KINDS if _is_number(point.get(name))), None)
            over = "applied" if _is_number(point.get("applied")) else "frequency_hz"
            if kind is not None and _is_number(point.get(over)) and not point.get("excluded"):
                expanded = point.get("expanded_uncertainty_pct")
                yield _Point(point[over], point[kind], expanded if _is_number(expanded) else 0.0, over, kind)


def _is_mapping(value: Any) -> bool:
    return isinstance(value, Mapping)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
