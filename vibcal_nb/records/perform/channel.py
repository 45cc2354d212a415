"""All tests of a channel, with as many earlier visits as a failed as-found asks for."""

from __future__ import annotations

from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.analysis.channel.consequence import has_failed, was_good
from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import ChannelCase, EarlierVisit, select_channel_case, select_earlier
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused


def load_channel_case(folder: VisitFolder, *, channel: str, condition: str) -> ChannelCase:
    """Select all tests of a channel from a visit, with as many earlier visits as a failed as-found asks for.

    Raises ``NothingToAnalyse`` where the visit holds nothing of the channel in this condition.
    """
    case = select_channel_case(folder, channel=channel, condition=condition)
    if not case.as_found or not has_failed(analyse_tests(case.channel, case.as_found)):
        return case
    return case.with_earlier(tuple(_back_to_a_good_one(folder, case)))


def _back_to_a_good_one(folder: VisitFolder, case: ChannelCase) -> list[EarlierVisit]:
    visits: list[EarlierVisit] = []
    for path in reversed(earlier_visits(folder)):
        try:
            visits.append(select_earlier(load_visit(path), channel=case.channel.tag))
        except InputRefused:
            problem = f"the visit {path.name} could not be read"
            visits.append(EarlierVisit(name=path.name, date=None, condition=None, cases={}, problem=problem))
        if was_good(case.channel, visits[-1]):
            break
    return visits
