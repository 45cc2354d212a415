"""Tables of phases: each reading's, and the figures of the line through them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from vibcal_nb.analysis.phase.phase import PhasePoint, PhaseResult
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.phase.phase_words import estimate_text, polarity_text
from vibcal_nb.display.writing.numbers import NONE, coverage, fixed, rounded_pair
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.units import Unit


def phase_points(phase: PhaseResult | None, *, input_unit: Unit) -> tuple[Table, ...]:
    """One table where phases were read: each reading's phase against the part's own quantity, in table order."""
    if phase is None or not phase.points:
        return ()
    probability = phase.points[0].expanded.probability
    return (
        Table(
            caption=f"Phase of the output against {input_unit.quantity}",
            headings=("row", "frequency, Hz", "as read, °", "phase, °", "U, °", "off the line, °"),
            rows=tuple(
                Row(cells=tuple(_cells(item)), struck=item.reading.exclude is not None) for item in phase.points
            ),
            text_columns=(),
            note="As read: against the level as it was applied; a lag is negative. Whole turns do not count. "
            f"U: {coverage(probability)}.",
        ),
    )


def _cells(item: PhasePoint) -> Iterator[str]:
    reading = item.reading
    yield str(reading.row)
    yield f"{reading.frequency_hz:.5g}"
    yield fixed(reading.phase_deg or 0.0, decimals=2 if reading.phase_decimals is None else reading.phase_decimals)
    yield from rounded_pair(item.phase_deg, item.expanded)
    yield NONE if item.off_line_deg is None else fixed(item.off_line_deg, signed=True)


def phase_rows(phase: PhaseResult | None) -> Iterator[Row]:
    """Yield the figures of the line through the phases, to stand in a summary."""
    if phase is not None and phase.points:
        yield Row(cells=("polarity, from the phase", polarity_text(phase)))
        yield Row(cells=("line through the phases at 0 Hz", estimate_text(phase.intercept_deg, "°")))
        yield Row(cells=("delay, from the phase", estimate_text(phase.delay_ms, "ms")))


def phase_columns(phase: PhaseResult | None, points: Iterable[JudgedPoint]) -> dict[str, list[Any]]:
    """Return the phase of each judged reading with its U as columns; none where no phase was read."""
    if phase is None or not phase.points:
        return {}
    by_row = {item.reading.row: item for item in phase.points}
    found = [by_row.get(point.reading.row) for point in points]
    return {
        "phase, °": [None if item is None else item.phase_deg for item in found],
        "U of phase, °": [None if item is None else item.expanded.U for item in found],
    }
