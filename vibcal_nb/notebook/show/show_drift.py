"""What the drift notebook's cells call to show something: one call, one display."""

from __future__ import annotations

import math
from typing import Any

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drawing.png import drawn_png
from vibcal_nb.display.drift.drift_plots import COLUMNS, draw_quantity
from vibcal_nb.display.drift.drift_tables import changes_table, history_table, intervals_table, trend_table
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.notebook.show import show

ROW_HEIGHT = 2.9


def history(result: DriftResult) -> None:
    """Show every visit's deviations."""
    show.table(history_table(result))


def changes(result: DriftResult) -> None:
    """Show what changed from one state to the next."""
    show.table(changes_table(result))


def trend(result: DriftResult) -> None:
    """Show rates, their tests, and dates."""
    show.table(trend_table(result))


def intervals(result: DriftResult) -> None:
    """Show what the interval methods propose."""
    show.table(intervals_table(result))


def figure(result: DriftResult) -> None:
    """Show the history of every quantity with its trend and forecast."""
    show.png(drift_png(result), f"Deviation from nominal over the visits with trend. {compose_statement(result)}")


def drift_png(result: DriftResult) -> bytes:
    """Return the figure of a drift result as PNG."""
    rows = math.ceil(len(result.quantities) / COLUMNS)

    def draw(figure: Any) -> None:
        axes = list(figure.subplots(rows, COLUMNS, squeeze=False).flat)
        for item, ax in zip(result.quantities, axes, strict=False):
            draw_quantity(item, ax)
        for ax in axes[len(result.quantities) :]:
            ax.set_axis_off()

    return drawn_png(ROW_HEIGHT * rows, draw)
