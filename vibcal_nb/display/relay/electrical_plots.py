"""Figure of electrical health: each item with its U, on a scale on which its limits lie at 0 and 100."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.relay.electrical import ElectricalResult, ItemRead
from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.marks import NOT_JUDGED, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import Axes, explain, shade_allowed_across
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import with_uncertainty

SHOWS = "Each item that was read at rest, placed between its limits."
_EACH, _FRAME = 0.34, 1.0  # inches


def electrical_height(result: ElectricalResult) -> float:
    """Return the height of the figure, in inches."""
    return _FRAME + _EACH * len(result.items)


def electrical_axes(_: ElectricalResult, figure: Any) -> tuple[Axes, ...]:
    """Return one plot on an empty figure."""
    return axes_beside(figure, widths=(1.0,), top=38.0, left=90.0, right=130.0)


def draw_electrical(result: ElectricalResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a row an item; one without limits stands in the middle."""
    (ax,) = axes
    shade_allowed_across(ax, 0.0, 100.0)
    for place, item in enumerate(result.items):
        at = min(max(_share(item), -45.0), 145.0)
        draw_marks(ax, [at], [place], NOT_JUDGED if item.decision is None else verdict_mark(item.decision.verdict))
        words = f"{with_uncertainty(item.value, item.expanded)} {item.unit}"
        ax.text(1.015, place, words, transform=ax.get_yaxis_transform(), va="center", fontsize=8.5)
    ax.set(xlim=(-50.0, 150.0), ylim=(len(result.items) - 0.4, -0.6))
    ax.set_yticks(range(len(result.items)), [item.row.item for item in result.items])
    ax.grid(visible=False, axis="y")
    ax.set_xlabel("0: lower limit, 100: upper limit")
    ax.set_title(spoken(result.case.condition))
    ax.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    explain(ax, "filled: within its limits, hollow: not, small: no limits", "blue: allowed")


def _share(item: ItemRead) -> float:
    """Where a value lies between its limits, in %; of one limit alone it lies at that or at twice as far."""
    limit = item.limit
    if limit is None or (limit.lower is None and limit.upper is None):
        return 50.0
    if limit.lower is not None and limit.upper is not None:
        return 100.0 * (item.value - limit.lower) / (limit.upper - limit.lower)
    if limit.upper is not None:
        return 100.0 * item.value / limit.upper if limit.upper else 50.0
    return 100.0 * (item.value / limit.lower - 1.0) if limit.lower else 50.0
