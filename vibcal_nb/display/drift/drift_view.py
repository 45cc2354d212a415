"""How a drift is shown."""

from __future__ import annotations

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drift.drift_card import drift_quantities, drift_sentence, drift_steps
from vibcal_nb.display.drift.drift_plots import SHOWS, draw_drift, drift_axes, drift_height
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.drift.drift_tables import history_table, trend_table
from vibcal_nb.display.readings.point_columns import Columns
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.table import Table


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
        f"Rule: a pass is within its tolerance with {100.0 * settings.conformity_level:g} % at the end of "
        f"{settings.steps.current_months:g} months"
    )


VIEW = View(
    words=word_drift,
    sentence=drift_sentence,
    quantities=drift_quantities,
    next_steps=drift_steps,
    summary=trend_table,
    columns=_columns,
    points=_points,
    not_shown=_not_shown,
    drawing=Drawing(
        axes=drift_axes,
        draw=draw_drift,
        shows=SHOWS,
        height=drift_height,
        columns=lambda result: len(result.quantities),
    ),
    basis=_basis,
    rule=lambda result: f"{_basis(result)}.",
)
