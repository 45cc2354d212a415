"""Tables of results: one way to ask for those of any kind."""

from __future__ import annotations

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.table import Table


def points_tables(result: Result) -> tuple[Table, ...]:
    """One row a reading: what was made of it, against which limits."""
    return view_of(result).points(result)


def summary_table(result: Result) -> Table:
    """The figures of a result, each with its uncertainty and its limit."""
    return view_of(result).summary(result)
