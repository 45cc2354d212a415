"""What the drift notebook calls to open a channel's history, after checking its parameters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from vibcal_nb.analysis.channel_history import like_channels, observe_channel
from vibcal_nb.analysis.drift import DriftResult, DriftSettings, analyse_drift
from vibcal_nb.analysis.history import Observation
from vibcal_nb.analysis.interval import IntervalSteps
from vibcal_nb.display import show
from vibcal_nb.inputs.case import Case
from vibcal_nb.inputs.folder import VisitFolder
from vibcal_nb.inputs.history import history_case, load_history
from vibcal_nb.records.parameters import check_parameters, require_number, require_text
from vibcal_nb.records.plain_errors import ParameterError, show_refusals_plainly
from vibcal_nb.records.record import input_files, sources_table

_TEXTS = ("visit_folder", "channel", "condition")
_STEPS = ("interval_months", "extend_months", "shorten_months", "longest_months")
_SHARES = ("conformity_level", "target_reliability")
_SHARE = "a number between 0 and 1, such as 0.95"
SHORTEST_MONTHS = 1.0  # an interval below this is no interval but a measurement to be repeated now
MOST_LIKE = 24  # like channels whose history is worked out: enough for a rate, and bounded on a large asset

USUAL = DriftSettings(
    steps=IntervalSteps(
        current_months=12.0,
        extend_months=6.0,
        shorten_months=6.0,
        shortest_months=SHORTEST_MONTHS,
        longest_months=36.0,
    )
)
"""The settings of the drift notebook as it stands."""


@dataclass(frozen=True, kw_only=True)
class ChannelHistory:
    """A channel's observations at all visits up to one, those of like channels, and the user's settings."""

    case: Case
    visits: tuple[VisitFolder, ...]
    observations: tuple[Observation, ...]
    like: tuple[tuple[Observation, ...], ...]
    settings: DriftSettings


def open_history(namespace: Mapping[str, Any]) -> ChannelHistory:
    """Open the history that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``NothingToAnalyse``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, (*_TEXTS, *_STEPS, *_SHARES, "inner_pct"))
    visit_folder, channel, _ = (require_text(name, namespace.get(name)) for name in _TEXTS)
    return read_history(Path(visit_folder), channel=channel, settings=_settings(namespace))


def read_history(visit_folder: Path, *, channel: str, settings: DriftSettings = USUAL) -> ChannelHistory:
    """Read a channel's history up to a visit. Raises ``InputRefused`` or ``NothingToAnalyse``."""
    visits = load_history(visit_folder, channel=channel)
    alike = like_channels(visits, channel)[:MOST_LIKE]
    return ChannelHistory(
        case=history_case(visits, channel=channel),
        visits=visits,
        observations=observe_channel(visits, channel),
        like=tuple(observe_channel(visits, tag, tests=("linearity",)) for tag in alike),
        settings=settings,
    )


def analyse_history(history: ChannelHistory) -> DriftResult:
    """Analyse the drift of an opened history; the draws for the date's interval are the same every time."""
    generator = np.random.default_rng(1)
    return analyse_drift(
        history.case, history.observations, like=history.like, settings=history.settings, rng=generator
    )


def show_history_sources(history: ChannelHistory) -> None:
    """Show what the record was made from: the files of every visit with their SHA-256 sums, and versions."""
    files: dict[str, Path] = {}
    for visit in history.visits:
        files |= input_files(visit.path, visit.table.file)
    show.table(sources_table(files))


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
