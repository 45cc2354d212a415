"""A channel's history over the visits, read and analysed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from vibcal_nb.analysis.drift.channel_observations import like_channels, observe_channel
from vibcal_nb.analysis.drift.drift import DriftResult, DriftSettings, analyse_drift
from vibcal_nb.analysis.drift.interval import IntervalSteps
from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.analysis.drift.standing import Standing, standings
from vibcal_nb.inputs.earlier_visits import history_case, load_history
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.inputs_used.stated import given_like

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
    """A channel's observations at all visits up to one, where like channels stood by tag, and the user's settings."""

    case: Case
    visits: tuple[VisitFolder, ...]
    observations: tuple[Observation, ...]
    like: Mapping[str, tuple[Standing, ...]]
    settings: DriftSettings


def read_history(visit_folder: Path, *, channel: str, settings: DriftSettings = USUAL) -> ChannelHistory:
    """Read a channel's history up to a visit. Raises ``InputRefused`` or ``NothingToAnalyse``."""
    visits = load_history(visit_folder, channel=channel)
    given = given_like()
    return ChannelHistory(
        case=history_case(visits, channel=channel),
        visits=visits,
        observations=observe_channel(visits, channel),
        like={tag: stood(visits, tag) for tag in alike(visits, channel)} if given is None else given,
        settings=settings,
    )


def alike(visits: tuple[VisitFolder, ...], channel: str) -> tuple[str, ...]:
    """Return the tags of the channels that are like this one, itself among them, as many as are asked."""
    return like_channels(visits, channel)[:MOST_LIKE]


def stood(visits: tuple[VisitFolder, ...], tag: str) -> tuple[Standing, ...]:
    """Return where a channel stood at the visits."""
    return standings(observe_channel(visits, tag, tests=(LINEARITY,)))


def analyse_history(history: ChannelHistory) -> DriftResult:
    """Analyse the drift of an opened history; the draws for the date's interval are the same every time."""
    generator = np.random.default_rng(1)
    return analyse_drift(
        history.case, history.observations, like=history.like.values(), settings=history.settings, rng=generator
    )
