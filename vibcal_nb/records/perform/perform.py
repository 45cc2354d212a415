"""The analysis behind a record, performed again from the inputs, and its quantities compared with the record's."""

from __future__ import annotations

from vibcal_nb.analysis.result import Result
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NotDone
from vibcal_nb.records.analyses import ANALYSES, analysis_named


class NotReperformed(NotDone):
    """An analysis that cannot be performed again; the text is one sentence."""


def perform(folder: VisitFolder, *, channel: str, analysis: str, condition: str) -> Result:
    """Perform an analysis on a visit's readings and return its result.

    Raises ``NotReperformed`` where this version has no such analysis, ``NothingToAnalyse`` where the visit has
    no such readings.
    """
    if analysis not in ANALYSES:
        raise NotReperformed(f"This version of the software performs no analysis '{analysis}'.")
    return analysis_named(analysis).perform(folder, channel=channel, condition=condition)
