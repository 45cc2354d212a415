"""Judged readings as columns of numbers, units in the headings, for whoever calculates on with them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.numbers import sensitivity_unit
from vibcal_nb.model.case import Case

Columns = dict[str, list[Any]]


def point_columns(points: Iterable[JudgedPoint], case: Case, *, value: str) -> Columns:
    """Return the columns of judged readings; ``value`` names what is judged, in %. What does not apply is None."""
    points = list(points)
    unit = sensitivity_unit(case.output_unit, case.input_unit)
    return {
        "row": [p.reading.row for p in points],
        "frequency, Hz": [p.reading.frequency_hz for p in points],
        f"level, {case.input_unit.shown}": [p.x for p in points],
        f"output less zero, {case.output_unit.shown}": [p.y for p in points],
        f"sensitivity, {unit}": [p.sensitivity for p in points],
        f"{value}, %": [p.value_pct for p in points],
        "U, %": [None if p.expanded is None else p.expanded.U for p in points],
        "lower limit, %": [p.lower_pct for p in points],
        "upper limit, %": [p.upper_pct for p in points],
        "left out because": [p.reading.exclude for p in points],
        "verdict": [p.verdict for p in points],
    }
