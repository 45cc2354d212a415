"""What the drift notebook calls to open a channel's history, after checking its parameters."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.drift.drift import DriftResult, DriftSettings
from vibcal_nb.analysis.drift.interval import IntervalSteps
from vibcal_nb.model.names import AS_FOUND
from vibcal_nb.notebook.frame.opened import note_opened
from vibcal_nb.notebook.frame.parameters import check_parameters, require_number, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.touch.drifting import DriftSubject
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.notebook.touch.widget import touch_widget
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.inputs_used.record_inputs import state_history
from vibcal_nb.records.perform.history import SHORTEST_MONTHS, ChannelHistory, read_history

_TEXTS = ("visit_folder", "channel", "condition")
_STEPS = ("interval_months", "extend_months", "shorten_months", "longest_months")
_SHARES = ("conformity_level", "target_reliability")
_SHARE = "a number between 0 and 1, such as 0.95"


def open_history(namespace: Mapping[str, Any]) -> ChannelHistory:
    """Open the history that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``NothingToAnalyse``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, (*_TEXTS, *_STEPS, *_SHARES, "inner_pct"))
    visit_folder, channel, _ = (require_text(name, namespace.get(name)) for name in _TEXTS)
    history = read_history(Path(visit_folder), channel=channel, settings=_settings(namespace))
    statement = state_history(history.visits, channel=channel, like=history.like)
    note_opened(statement, channel=channel, condition=AS_FOUND)
    return history


def explore_drift(history: ChannelHistory, result: DriftResult) -> None:
    """Show the panel of a drift; in a record, one line in its place."""
    visit = history.visits[-1].path.absolute()
    show.widget(
        lambda: touch_widget(TouchPanel(DriftSubject(history, result), visit=visit)),
        otherwise="Visits, interval and probability can be changed here when the notebook is opened and run.",
    )


def _settings(namespace: Mapping[str, Any]) -> DriftSettings:
    months = {name: require_number(name, namespace.get(name)) for name in _STEPS}
    shares = {name: require_number(name, namespace.get(name), _is_share, wanted=_SHARE) for name in _SHARES}
    if months["longest_months"] < SHORTEST_MONTHS:
        raise ParameterError(f"The parameter longest_months is below {SHORTEST_MONTHS:g}; give more.")
    steps = {("current_months" if name == "interval_months" else name): value for name, value in months.items()}
    return DriftSettings(
        steps=IntervalSteps(**steps, shortest_months=SHORTEST_MONTHS),
        inner_pct=require_number("inner_pct", namespace.get("inner_pct")),
        **shares,
    )


def _is_share(value: float) -> bool:
    return 0.0 < value < 1.0
