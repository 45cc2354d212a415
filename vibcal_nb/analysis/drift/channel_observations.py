"""All that a channel's visits say of its sensitivities, worked out anew from their readings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.drift.observations import Observation, observe
from vibcal_nb.analysis.relay.indication import analyse_indication
from vibcal_nb.analysis.relay.set_points import analyse_set_points
from vibcal_nb.analysis.result import Result
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case, list_cases, select_case
from vibcal_nb.model.names import INDICATION, SET_POINT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse

OBSERVED: Mapping[str, Callable[[Case], Result]] = {
    **ANALYSE,
    INDICATION: analyse_indication,
    SET_POINT: analyse_set_points,
}
"""The tests whose results are followed over the years."""


def observe_channel(
    history: Iterable[VisitFolder], channel: str, *, tests: Iterable[str] | None = None
) -> tuple[Observation, ...]:
    """Analyse the channel's readings of every visit and return what they say, the earliest first.

    What a visit's readings are not judged by (no table for it in ``asset.toml``) is passed over.
    """
    wanted = [test for test in tests or OBSERVED if test in OBSERVED]
    found: list[Observation] = []
    for visit in history:
        for tag, test, condition in list_cases(visit):
            if tag == channel and test in wanted:
                case = select_case(visit, channel=tag, test=test, condition=condition)
                found += _observe(case)
    return tuple(found)


def _observe(case: Case) -> tuple[Observation, ...]:
    try:
        return observe(OBSERVED[case.test](case))
    except NothingToAnalyse:
        return ()


def like_channels(history: tuple[VisitFolder, ...], channel: str) -> tuple[str, ...]:
    """Return the asset's channels of the same kind: units, nominal sensitivity and tolerance alike, itself included."""
    channels = history[-1].asset.channels
    kind = _kind(channels[channel])
    return tuple(tag for tag, other in channels.items() if _kind(other) == kind)


def _kind(channel: Channel) -> tuple[object, ...]:
    return channel.input_unit, channel.output_unit, channel.nominal_sensitivity, channel.tolerance
