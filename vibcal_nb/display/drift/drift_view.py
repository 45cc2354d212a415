"""How a drift is shown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drift.drift_card import drift_quantities, drift_sentence
from vibcal_nb.display.drift.drift_plots import COLUMNS, draw_quantity
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.drift.drift_tables import history_table, trend_table
from vibcal_nb.display.results.point_columns import Columns
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.table import Table

ROW_HEIGHT = 2.6  # inches


def _axes(result: DriftResult, figure: Any) -> tuple[Any, ...]:
    rows = max(math.ceil(len(result.quantities) / COLUMNS), 1)
    grid = axes_grid(figure, columns=COLUMNS, heights=(1.0,) * rows, down=44.0)
    return tuple(ax for row in grid for ax in row)


def _draw(result: DriftResult, axes: Sequence[Any], *, speed_axis: bool = False) -> None:
    for item, ax in zip(result.quantities, axes, strict=False):
        draw_quantity(item, ax)
        ax.tick_params(labelbottom=True)
    for ax in axes[len(result.quantities) :]:
        ax.set_axis_off()


def _points(result: DriftResult) -> tuple[Table, ...]:
    return (history_table(result),)


def _columns(result: DriftResult) -> Columns:
    found = [item for quantity in result.quantities for item in quantity.observations]
    return {
        "quantity": [item.quantity for item in found],
        "date": [item.date for item in found],
        "condition": [item.condition for item in found],
        "deviation from nominal, %": [item.deviation_pct for item in found],
        "standard uncertainty, %": [item.u_pct for item in found],
        "tolerance, ± %": [item.tolerance_pct for item in found],
    }


def _not_shown(_: DriftResult) -> tuple[str, ...]:
    return ("that the channel will go on as it did: a forecast knows no faults, and no change of use",)


def _basis(result: DriftResult) -> str:
    settings = result.settings
    return (
        f"Pass: within tolerance with {100.0 * settings.conformity_level:g} % at the end of "
        f"{settings.steps.current_months:g} months"
    )


VIEW = View(
    words=word_drift,
    sentence=drift_sentence,
    quantities=drift_quantities,
    next_steps=lambda _: (),
    summary=trend_table,
    columns=_columns,
    points=_points,
    not_shown=_not_shown,
    drawing=Drawing(
        axes=_axes,
        draw=_draw,
        shows="Deviation from nominal over the visits with trend.",
        height=lambda result: ROW_HEIGHT * max(math.ceil(len(result.quantities) / COLUMNS), 1),
        columns=lambda result: len(result.quantities),
    ),
    basis=_basis,
    rule=lambda result: f"{_basis(result)}.",
)
