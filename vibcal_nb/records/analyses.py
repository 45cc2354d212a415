"""The list of analyses: for each the module that knows how it is performed and what it finds, as ``ANALYSIS``.

A line here, a file in ``quantities/``, and a new analysis is run, kept, verified and reported as the others are.
Modules are loaded when an analysis of theirs is asked for: a notebook loads nothing that it does not use.
"""

from __future__ import annotations

from importlib import import_module

from vibcal_nb.model.names import (
    BAND_RESPONSE,
    CHANNEL_VERDICT,
    DRIFT,
    ELECTRICAL,
    GAP_CURVE,
    INDICATION,
    LINEARITY,
    SENSOR_ALONE,
    SET_POINTS,
    VOTING,
)
from vibcal_nb.records.quantities.analysis import Analysis

ANALYSES = {
    LINEARITY: "vibcal_nb.records.quantities.linearity_quantities",
    BAND_RESPONSE: "vibcal_nb.records.quantities.band_quantities",
    SENSOR_ALONE: "vibcal_nb.records.quantities.sensor_quantities",
    INDICATION: "vibcal_nb.records.quantities.relay.indication_quantities",
    SET_POINTS: "vibcal_nb.records.quantities.relay.set_points_quantities",
    VOTING: "vibcal_nb.records.quantities.relay.voting_quantities",
    ELECTRICAL: "vibcal_nb.records.quantities.relay.electrical_quantities",
    GAP_CURVE: "vibcal_nb.records.quantities.gap_quantities",
    DRIFT: "vibcal_nb.records.quantities.drift_quantities",
    CHANNEL_VERDICT: "vibcal_nb.records.quantities.channel_quantities",
}


def analysis_named(name: str) -> Analysis:
    """Return an analysis by its name. Raises ``KeyError`` for one that is not in the list."""
    analysis: Analysis = import_module(ANALYSES[name]).ANALYSIS
    return analysis


def judges_readings(name: str) -> bool:
    """Whether an analysis is known here, and its verdict is of readings and does not follow from other verdicts."""
    return name in ANALYSES and analysis_named(name).judges_readings


def reads_history(name: object) -> bool:
    """Whether an analysis is known here and looks into the asset's earlier visits."""
    return isinstance(name, str) and name in ANALYSES and analysis_named(name).reads_history
