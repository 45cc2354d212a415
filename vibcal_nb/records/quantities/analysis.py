"""One analysis as records know it: how it is performed on a visit, its quantities, its notebook."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case, list_cases, select_case
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.quantities.null_reasons import reasons_of_uncertainty


def _reasons(result: Any, found: Any) -> Mapping[str, str]:
    return reasons_of_uncertainty(found, result.undetermined)


@dataclass(frozen=True, kw_only=True)
class Analysis:
    """An analysis as records know it.

    ``notebook`` is its file in the notebooks folder; ``method`` what a report says of the method, in short.
    ``cases`` lists (channel, condition) that a visit holds something of; ``perform`` takes a visit's folder, and
    by name ``channel`` and ``condition``; ``quantities`` gives the JSON of a result under the contract's keys,
    ``undetermined`` why some of it is null. ``needs`` is the table of the channel that it judges by, None where the
    channel alone is enough. ``test`` is the test whose readings it is made from, None where it takes all of the
    channel's in the visit. ``reads_history``: it looks into the asset's earlier visits. ``judges_readings``: its
    verdict is of readings, and does not follow from other verdicts.
    """

    name: str
    notebook: str
    method: str
    cases: Callable[[VisitFolder], Iterable[tuple[str, str]]]
    perform: Callable[..., Result]
    quantities: Callable[[Any], Any]
    undetermined: Callable[[Any, Any], Mapping[str, str]] = _reasons
    needs: str | None = None
    test: str | None = None
    reads_history: bool = False
    judges_readings: bool = False

    def lacking(self, channel: Channel) -> str | None:
        """Say why a channel cannot be judged, or None where it can."""
        if self.needs is None or getattr(channel, self.needs) is not None:
            return None
        table = f"[channels.{channel.tag}.{self.needs}]"
        return f"asset.toml has no table {table} to judge it by; add the table, or name other tests with --analysis"


def analysis_of_test(
    test: str, analyse: Callable[[Case], Result], *, name: str | None = None, **further: Any
) -> Analysis:
    """Return the analysis that belongs to one test of the reading table, named as the test or otherwise.

    ``further`` as in `Analysis`.
    """

    def cases(visit: VisitFolder) -> list[tuple[str, str]]:
        return [(channel, condition) for channel, found, condition in list_cases(visit) if found == test]

    def perform(folder: VisitFolder, *, channel: str, condition: str) -> Result:
        return analyse(select_case(folder, channel=channel, test=test, condition=condition))

    return Analysis(name=name or test, test=test, cases=cases, perform=perform, judges_readings=True, **further)
