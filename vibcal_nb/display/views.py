"""The list of views: for each analysis the module that shows its results, as ``VIEW``.

A line here, a folder beside this file, and a new kind of result is shown wherever results are. Modules are loaded
when a result of theirs is shown: a notebook loads nothing that it does not use.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from vibcal_nb.display.results.view import View
from vibcal_nb.model.names import (
    BAND_RESPONSE,
    CHANNEL_VERDICT,
    DRIFT,
    ELECTRICAL,
    GAP_CURVE,
    INDICATION,
    LINEARITY,
    MODULE_ALONE,
    SENSOR_ALONE,
    SET_POINTS,
    VOTING,
)

VIEWS = {
    LINEARITY: "vibcal_nb.display.linearity.linearity_view",
    BAND_RESPONSE: "vibcal_nb.display.band_response.band_view",
    SENSOR_ALONE: "vibcal_nb.display.sensor_alone.sensor_view",
    MODULE_ALONE: "vibcal_nb.display.linearity.linearity_view",
    INDICATION: "vibcal_nb.display.relay.indication_view",
    SET_POINTS: "vibcal_nb.display.relay.set_points_view",
    VOTING: "vibcal_nb.display.relay.voting_view",
    ELECTRICAL: "vibcal_nb.display.relay.electrical_view",
    GAP_CURVE: "vibcal_nb.display.gap_curve.gap_view",
    DRIFT: "vibcal_nb.display.drift.drift_view",
    CHANNEL_VERDICT: "vibcal_nb.display.channel.channel_view",
}


def view_of(result: Any) -> View:
    """Return how a result is shown. Raises ``KeyError`` for a result of an analysis that is not in the list."""
    return view_named(result.case.test)


def view_named(analysis: str) -> View:
    """Return how the results of an analysis are shown. Raises ``KeyError`` for one that is not in the list."""
    view: View = import_module(VIEWS[analysis]).VIEW
    return view
