"""Phases as quantities, within a band response and a sensor alone."""

from __future__ import annotations

from typing import TypedDict

from vibcal_nb.analysis.judged_quantity import JudgedQuantity
from vibcal_nb.analysis.phase.phase import PhaseResult
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.records.quantities.digits import plain


class PhasePointEntry(TypedDict):
    """The phase of one reading."""

    row: int
    """Row of the reading table, as a spreadsheet counts."""
    frequency_hz: float | None
    """Frequency of the reading, Hz."""
    phase_deg: float | None
    """Phase of the output against the part's own input quantity, degrees, above -180 to 180; a lag is negative."""
    expanded_uncertainty_deg: float | None
    """U of it, degrees."""
    off_line_deg: float | None
    """Phase less that of the line, degrees; null where there is none, or the reading is excluded."""
    excluded: str | None
    """Why the reading is not used; null where it is used."""


class PhaseLimitEntry(TypedDict):
    """A judged quantity of the phase."""

    name: str
    """``polarity`` (degrees from the stated one), ``delay`` (ms), or ``at N Hz`` (degrees)."""
    value: float | None
    """What was found."""
    expanded_uncertainty: float | None
    """U of it."""
    min: float
    """Lower limit."""
    max: float
    """Upper limit."""
    verdict: str | None
    """Verdict on it; null where it was not determined."""


class PhaseEntry(TypedDict):
    """What the phases of a test show."""

    polarity: str | None
    """``+`` or ``-``."""
    delay_ms: float | None
    """Delay: the slope of the line through the phases over -360 degrees, ms."""
    delay_expanded_uncertainty_ms: float | None
    """U of it, ms."""
    intercept_deg: float | None
    """Where the line meets 0 Hz, degrees, above -180 to 180."""
    intercept_expanded_uncertainty_deg: float | None
    """U of it, degrees."""
    shape: str | None
    """``straight line``, or ``straight line, bent by filters``."""
    rms_residual_deg: float | None
    """Root mean square of phase less line, degrees."""
    judged: list[PhaseLimitEntry]
    """What was held against limits."""
    points: list[PhasePointEntry]
    """The readings that have a phase."""


def phase_quantities(phase: PhaseResult | None) -> PhaseEntry | None:
    """Return what phases show, None where none was read."""
    if phase is None or not phase.points:
        return None
    return PhaseEntry(
        polarity=phase.polarity,
        delay_ms=plain(phase.delay_ms.value),
        delay_expanded_uncertainty_ms=_expanded(phase.delay_ms),
        intercept_deg=plain(phase.intercept_deg.value),
        intercept_expanded_uncertainty_deg=_expanded(phase.intercept_deg),
        shape=None if phase.line is None else phase.line.shape,
        rms_residual_deg=None if phase.line is None else plain(phase.line.rms_residual_deg),
        judged=[_judged(item) for item in phase.judged],
        points=[
            PhasePointEntry(
                row=item.reading.row,
                frequency_hz=plain(item.reading.frequency_hz),
                phase_deg=plain(item.phase_deg),
                expanded_uncertainty_deg=plain(item.expanded.U),
                off_line_deg=plain(item.off_line_deg),
                excluded=item.reading.exclude,
            )
            for item in phase.points
        ],
    )


def _expanded(estimate: Estimate) -> float | None:
    return None if estimate.expanded is None else plain(estimate.expanded.U)


def _judged(item: JudgedQuantity) -> PhaseLimitEntry:
    return PhaseLimitEntry(
        name=item.name,
        value=plain(item.estimate.value),
        expanded_uncertainty=_expanded(item.estimate),
        min=item.limits[0],
        max=item.limits[1],
        verdict=None if item.decision is None else item.decision.verdict,
    )
