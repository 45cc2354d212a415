"""All tests of a channel, with as many earlier visits as a failed as-found asks for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.analysis.channel.consequence import has_failed, was_good
from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import (
    ChannelCase,
    EarlierVisit,
    select_channel_case,
    select_earlier,
    select_tests,
)
from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused

Load = Callable[[Path], VisitFolder]


def load_channel_case(folder: VisitFolder, *, channel: str, condition: str, load: Load = load_visit) -> ChannelCase:
    """Select all tests of a channel from a visit, with as many earlier visits as a failed as-found asks for.

    Earlier visits are asked of ``load``, the latest first and none between left out. Raises ``NothingToAnalyse`` where
    the visit holds nothing of the channel in this condition.
    """
    case = select_channel_case(folder, channel=channel, condition=condition)
    if condition == AS_LEFT and not case.other and folder.visit.outage is not None:
        case = _with_found_in_the_outage(folder, case, load)
    if not case.as_found or not has_failed(analyse_tests(case.channel, case.as_found)):
        return case
    return case.with_earlier(tuple(_back_to_a_good_one(folder, case, load)))


def _with_found_in_the_outage(folder: VisitFolder, case: ChannelCase, load: Load) -> ChannelCase:
    """Add what the latest earlier visit of the same outage found of the channel, where one did."""
    for path in reversed(earlier_visits(folder)):
        other = _read(path, load)
        if other is None:  # said where it is run
            continue
        tag = case.channel.tag
        found = select_tests(other, channel=tag, condition=AS_FOUND) if tag in other.asset.channels else {}
        if other.visit.outage == folder.visit.outage and found:
            return case.with_found(found, at=path.name)
    return case


def _back_to_a_good_one(folder: VisitFolder, case: ChannelCase, load: Load) -> list[EarlierVisit]:
    visits: list[EarlierVisit] = []
    for path in reversed(earlier_visits(folder)):
        if path.name == case.found_at:  # it is what failed
            continue
        earlier = _read(path, load)
        if earlier is not None and earlier.is_planned:
            continue
        visits.append(_left_at(path, earlier, case.channel.tag))
        if was_good(case.channel, visits[-1]):
            break
    return visits


def _read(path: Path, load: Load) -> VisitFolder | None:
    try:
        return load(path)
    except InputRefused:
        return None


def _left_at(path: Path, visit: VisitFolder | None, channel: str) -> EarlierVisit:
    """What a visit left of a channel; one that cannot be read is there with the problem, and refuses nothing."""
    if visit is not None:
        return select_earlier(visit, channel=channel)
    problem = f"the visit {path.name} could not be read"
    return EarlierVisit(name=path.name, date=None, condition=None, cases={}, problem=problem)
