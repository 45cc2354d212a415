"""A judged reading's value as it is written in tables and sentences: with its U, to the same place."""

from __future__ import annotations

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.numbers import coverage_factor_text, frequency, percent, percent_with_uncertainty


def value_text(point: JudgedPoint, *, less: float = 0.0) -> str:
    """Write a judged reading's value in %, ``less`` so much, with its U where it has one."""
    value = (point.value_pct or 0.0) - less
    text = percent(value) if point.expanded is None else percent_with_uncertainty(value, point.expanded)
    return f"{text} of span" if point.of_span else text


def worst_text(point: JudgedPoint, *, less: float = 0.0) -> str:
    """Write the value of the worst reading, where it was read, and the k of its U."""
    text = f"{value_text(point, less=less)} at {frequency(point.reading.frequency_hz)}"
    if point.expanded is None or point.expanded.U == 0.0:
        return text
    return f"{text} ({coverage_factor_text(point.expanded)})"
