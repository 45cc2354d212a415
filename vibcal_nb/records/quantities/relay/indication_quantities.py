"""What the monitor shows as records know it: its quantities."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from vibcal_nb.analysis.relay.indication import IndicationResult, analyse_indication, indication_points
from vibcal_nb.model.names import INDICATION
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.linearity_quantities import LinearityEntry, linearity_entries


class ShownPointEntry(TypedDict):
    """One reading of the display, in the display's unit."""

    row: int
    """Row of the reading table."""
    frequency_hz: float | None
    """Frequency, Hz."""
    applied: float | None
    """The true level."""
    indicated: float | None
    """What was shown."""
    error: float | None
    """Shown less true."""
    error_span_pct: float | None
    """The same, % of full scale."""
    error_reading_pct: float | None
    """The same, % of the level; null at no level."""
    excluded: str | None
    """Why it is not used; null where it is."""
    verdict: str | None
    """Verdict on it; null where it was not judged."""


class IndicationEntry(TypedDict):
    """What the monitor shows."""

    unit: str
    """Unit of the display."""
    full_scale: float
    """Its top."""
    display_step: float | None
    """Step of its last digit; null where it is not stated."""
    points: list[ShownPointEntry]
    """The readings."""
    lines: list[LinearityEntry]
    """The same as lines, one a frequency, as a linearity has them."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: IndicationResult) -> IndicationEntry:
    return IndicationEntry(
        unit=result.indication.unit.text,
        full_scale=result.indication.full_scale,
        display_step=result.indication.display_step,
        points=[
            ShownPointEntry(
                row=item.row,
                frequency_hz=_plain(item.frequency_hz),
                applied=_plain(item.applied),
                indicated=_plain(item.indicated),
                error=_plain(item.error, beside=result.indication.full_scale),
                error_span_pct=_plain(item.error_span_pct, beside=100.0),
                error_reading_pct=_plain(item.error_reading_pct, beside=100.0),
                excluded=item.excluded,
                verdict=item.verdict,
            )
            for item in indication_points(result)
        ],
        lines=linearity_entries(result.line),
        verdict=result.verdict,
    )


def _undetermined(result: IndicationResult, _: Any) -> Mapping[str, str]:
    return {
        f"{name} at {item.frequency_hz:.5g} Hz": reason
        for item in result.line.frequencies
        for name, reason in item.undetermined.items()
    }


ANALYSIS = analysis_of_test(
    INDICATION,
    analyse_indication,
    notebook="indication.ipynb",
    needs=INDICATION,
    method="the display as a line of its own: straight line by ISO/TS 28037:2010",
    quantities=_quantities,
    undetermined=_undetermined,
)
