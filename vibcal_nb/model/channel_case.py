"""One channel in one condition with all its tests: what a verdict on the whole channel is made from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case, list_cases, require_channel, select_case
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, CHANNEL_VERDICT, CONDITIONS, VOTING
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True)
class EarlierVisit:
    """What an earlier visit left of the channel: the tests of its last condition.

    ``problem`` says in a sentence why the visit could not be read or holds nothing of the channel; ``cases`` is
    empty then.
    """

    name: str
    date: date | None
    condition: str | None
    cases: Mapping[str, Case]
    problem: str | None = None


@dataclass(frozen=True, kw_only=True)
class ChannelCase:
    """All that a visit holds of one channel, seen in one condition.

    ``tests`` are the cases of ``condition`` by test; ``other`` those of the other condition (empty where there
    are none); where those were found at an earlier visit of the same outage, ``found_at`` names it. ``earlier`` are
    earlier visits, the latest first, as far back as was looked.
    """

    asset_tag: str
    asset_name: str
    visit_name: str
    channel: Channel
    condition: str
    tests: Mapping[str, Case]
    other: Mapping[str, Case]
    references: tuple[Reference, ...]
    readouts: tuple[Readout, ...]
    visit: Visit
    table_file: str
    earlier: tuple[EarlierVisit, ...] = ()
    found_at: str | None = None
    test: str = CHANNEL_VERDICT

    @property
    def input_unit(self) -> Unit:
        """Unit of the channel's level, in which set points are stated."""
        return self.channel.input_unit

    @property
    def as_found(self) -> Mapping[str, Case]:
        """The cases as found, by test; empty where nothing was read as found."""
        return self.tests if self.condition == AS_FOUND else self.other

    @property
    def as_left(self) -> Mapping[str, Case]:
        """The cases as left, by test; empty where nothing was read as left."""
        return self.tests if self.condition == AS_LEFT else self.other

    def with_found(self, cases: Mapping[str, Case], *, at: str) -> ChannelCase:
        """Return the case, as left, with what an earlier visit of the same outage found."""
        return replace(self, other=cases, found_at=at)

    def with_earlier(self, earlier: tuple[EarlierVisit, ...]) -> ChannelCase:
        """Return the case with what earlier visits showed."""
        return replace(self, earlier=earlier)


def select_channel_case(folder: VisitFolder, *, channel: str, condition: str) -> ChannelCase:
    """Select all tests of one channel from a visit.

    Raises ``NothingToAnalyse`` with a sentence where the asset has no such channel or the visit no reading of it in
    this condition.
    """
    require_channel(folder, channel)
    by_condition = {name: select_tests(folder, channel=channel, condition=name) for name in CONDITIONS}
    if not by_condition.get(condition):
        held = ", ".join(name for name, cases in by_condition.items() if cases) or "nothing"
        raise NothingToAnalyse(
            f"{folder.table.file} holds no readings of {channel} {condition}; it holds {held} of this channel."
        )
    cases = [case for found in by_condition.values() for case in found.values()]
    return ChannelCase(
        asset_tag=folder.asset.tag,
        asset_name=folder.asset.name,
        visit_name=folder.path.name,
        channel=folder.asset.channel(channel, condition),
        condition=condition,
        tests=by_condition[condition],
        other=next(cases for name, cases in by_condition.items() if name != condition),
        references=tuple(item for item in folder.references if any(item in case.references for case in cases)),
        readouts=tuple(item for item in folder.readouts if any(item in case.readouts for case in cases)),
        visit=folder.visit,
        table_file=folder.table.file,
    )


def select_tests(folder: VisitFolder, *, channel: str, condition: str) -> dict[str, Case]:
    """Select the cases of one channel in one condition, by test; empty where there are none."""
    return {
        test: select_case(folder, channel=channel, test=test, condition=condition)
        for tag, test, found in list_cases(folder)
        if (tag, found) == (channel, condition)
    }


def list_channel_cases(folder: VisitFolder) -> list[tuple[str, str]]:
    """List (channel, condition) for which the visit holds readings, in the asset's order of channels."""
    order = {tag: number for number, tag in enumerate(folder.asset.channels)}
    found = {(tag, condition) for tag, test, condition in list_cases(folder) if test != VOTING}
    return sorted(found, key=lambda item: (order.get(item[0], math.inf), item[1]))


def select_earlier(folder: VisitFolder, *, channel: str) -> EarlierVisit:
    """Select what a visit left of a channel: as left where that was read, else as found."""
    for condition in (AS_LEFT, AS_FOUND):
        cases = select_tests(folder, channel=channel, condition=condition) if channel in folder.asset.channels else {}
        if cases:
            return EarlierVisit(name=folder.path.name, date=folder.visit.date, condition=condition, cases=cases)
    problem = f"the visit {folder.path.name} holds no reading of {channel}"
    return EarlierVisit(name=folder.path.name, date=folder.visit.date, condition=None, cases={}, problem=problem)
