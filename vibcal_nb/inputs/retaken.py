"""Rows of a sheet that were given up and read again further down: they are no longer open, and say where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from vibcal_nb.model.readings import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT, PendingRow, Reading
from vibcal_nb.units import convert, is_convertible


def close_retaken(pending: Sequence[PendingRow], readings: Sequence[Reading]) -> Iterator[PendingRow]:
    """Yield the rows without an output; one that a later row reads again has that as its reason."""
    by_test: dict[tuple[str, str, str], list[Reading]] = {}
    for reading in readings:
        by_test.setdefault((reading.channel, reading.test, reading.condition), []).append(reading)
    for row in pending:
        again = [r for r in by_test.get((row.channel, row.test, row.condition), ()) if _is_again(row, r)]
        yield replace(row, exclude=f"read again in row {again[0].row}") if again and row.exclude is None else row


def _is_again(row: PendingRow, reading: Reading) -> bool:
    """Whether a reading below is of the row's frequency, level, direction and pass."""
    if row.frequency_hz is None or row.level is None or row.applied_unit is None or reading.row < row.row:
        return False
    if (row.direction, row.repeat) != (reading.direction, reading.repeat):
        return False
    if not is_convertible(reading.applied_unit, row.applied_unit):
        return False
    level = convert(reading.applied, reading.applied_unit, row.applied_unit, frequency_hz=reading.frequency_hz)
    near = abs(reading.frequency_hz / row.frequency_hz - 1.0) <= SAME_FREQUENCY_PCT / 100.0
    return near and abs(level - row.level) <= SAME_LEVEL_PCT / 100.0 * row.level
