"""Tables of results: one way to ask for those of any test, and the uncertainty budget."""

from __future__ import annotations

from functools import singledispatch

from vibcal_nb.display.band_response.band_tables import band_points, band_summary
from vibcal_nb.display.linearity.linearity_tables import linearity_points, linearity_summary
from vibcal_nb.display.sensor_alone.sensor_tables import sensor_points, sensor_summary
from vibcal_nb.display.writing.table import Table


@singledispatch
def points_tables(result: object) -> tuple[Table, ...]:
    """One row a reading: what was made of it, against which limits."""
    raise TypeError(f"no table for {type(result).__name__}")


@singledispatch
def summary_table(result: object) -> Table:
    """The figures of a result, each with its uncertainty and its limit."""
    raise TypeError(f"no table for {type(result).__name__}")


for _points in (linearity_points, band_points, sensor_points):
    points_tables.register(_points)
for _summary in (linearity_summary, band_summary, sensor_summary):
    summary_table.register(_summary)
