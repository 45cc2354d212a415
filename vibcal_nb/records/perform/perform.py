"""The analysis behind a record, performed again from the inputs, and its quantities compared with the record's."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.model.case import select_case
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.perform.history import analyse_history, read_history


class NotReperformed(Exception):  # noqa: N818  # a state, named as one says it
    """An analysis that cannot be performed again; the text is one sentence."""


def perform(folder: VisitFolder, *, channel: str, analysis: str, condition: str) -> Any:
    """Perform an analysis on a visit's readings and return its result.

    Raises ``NotReperformed`` where this version has no such analysis, ``NothingToAnalyse`` where the visit has
    no such readings.
    """
    if analysis == DRIFT:
        return analyse_history(read_history(folder.path, channel=channel))
    if analysis == CHANNEL_VERDICT:
        from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
        from vibcal_nb.records.perform.channel import load_channel_case

        return analyse_channel(load_channel_case(folder, channel=channel, condition=condition))
    analyse = ANALYSE.get(analysis)
    if analyse is None:
        raise NotReperformed(f"This version of the software performs no analysis '{analysis}'.")
    return analyse(select_case(folder, channel=channel, test=analysis, condition=condition))
