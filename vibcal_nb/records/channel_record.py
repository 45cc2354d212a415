"""What the record of a channel verdict calls: open all tests of a channel, and as many earlier visits as it takes."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.channel_tests import analyse_tests
from vibcal_nb.analysis.consequence import has_failed, was_good
from vibcal_nb.display import show
from vibcal_nb.inputs.channel_case import ChannelCase, EarlierVisit, select_channel_case, select_earlier
from vibcal_nb.inputs.folder import VisitFolder, load_visit
from vibcal_nb.inputs.history import earlier_visits
from vibcal_nb.inputs.problems import InputRefused
from vibcal_nb.records import channel_quantities  # noqa: F401  # makes the result's quantities known
from vibcal_nb.records.record import checked_parameters, input_files, sources_table

_SUFFIXES = (".toml", ".csv", ".xlsx")


def open_channel(namespace: Mapping[str, Any], **parameters: object) -> ChannelCase:
    """Load all tests of the channel that a notebook's parameters name, after checking the parameters.

    Where the channel failed as found, earlier visits of the asset are loaded too, the latest first, until one shows
    the channel good. Raises ``ParameterError``, ``InputRefused``, ``NothingToAnalyse``, which the notebook then shows
    as sentences; an earlier visit that cannot be read is noted in the case and refuses nothing.
    """
    texts = checked_parameters(namespace, parameters)
    folder = load_visit(Path(texts["visit_folder"]))
    return load_channel_case(folder, channel=texts["channel"], condition=texts["condition"])


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


def show_channel_provenance(case: ChannelCase, *, visit_folder: str) -> None:
    """Show what the record was made from, earlier visits included, with SHA-256 sums, and versions."""
    folder = Path(visit_folder)
    files = input_files(folder, case.table_file)
    for visit in case.earlier:
        home = Path(os.path.abspath(folder)).parent / visit.name  # noqa: PTH100
        files |= {f"{visit.name}/{path.name}": path for path in sorted(home.glob("*.*")) if path.suffix in _SUFFIXES}
    show.table(sources_table(files))
