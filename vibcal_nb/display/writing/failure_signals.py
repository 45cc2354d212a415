"""A loop's failure signal in words: it is named first, and is no small reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.findings import Finding
from vibcal_nb.display.writing.names import plural
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.model.current_loop import FAILURE_MA


def signal_finding(points: Sequence[JudgedPoint], *, at: str) -> Iterator[Finding]:
    """Yield one finding where the output signalled a failure; ``at`` begins the sentence."""
    signals = [p for p in points if p.failure_signal and not p.excluded]
    if not signals:
        return
    currents = sorted({(p.reading.output, p.reading.output_unit.shown) for p in signals})
    shown = " to ".join(f"{value:g} {unit}" for value, unit in dict.fromkeys((currents[0], currents[-1])))
    low, high = FAILURE_MA
    yield (
        any(p.verdict == FAIL for p in signals),
        f"{at} {shown} at {len(signals)} of {plural(len(points), 'reading')} is a failure signal, no measurement "
        f"(NAMUR NE 43: {low:g} mA or less, {high:g} mA or more): look at transmitter, sensor and wiring",
    )
