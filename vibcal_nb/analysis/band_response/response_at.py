"""The response at one frequency, re the reference: read there, or by the fitted model within the readings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from vibcal_nb.analysis.band_response.band_model import BandFit, evaluate_band, evaluate_band_uncertainty
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.readings.relative_response import RelativeReadings
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine


@dataclass(frozen=True, kw_only=True)
class ResponseAt:
    """The response at a frequency, in %: ``source`` is ``reading`` or ``fitted model``, or None with a reason."""

    frequency_hz: float
    response_pct: float | None
    expanded: Expanded | None
    source: str | None
    reason: str | None = None


def find_response(
    frequency_hz: float, relative: RelativeReadings, points: tuple[JudgedPoint, ...], fit: BandFit | None
) -> ResponseAt:
    """Return the reading at a frequency where there is one, else the fitted model; or why neither says anything."""
    read = [
        p for p in points if p.used and p.value_pct is not None and same_frequency(p.reading.frequency_hz, frequency_hz)
    ]
    if read:
        nearest = min(read, key=lambda p: abs(p.reading.frequency_hz - frequency_hz))
        return ResponseAt(
            frequency_hz=frequency_hz, response_pct=nearest.value_pct, expanded=nearest.expanded, source="reading"
        )
    reason = _why_no_model(frequency_hz, relative, fit)
    if reason is not None or fit is None or relative.reference_sensitivity is None:
        return ResponseAt(frequency_hz=frequency_hz, response_pct=None, expanded=None, source=None, reason=reason)
    value = 100.0 * float(evaluate_band(fit, frequency_hz)) / relative.reference_sensitivity
    model_pct = 100.0 * float(evaluate_band_uncertainty(fit, frequency_hz))
    leverage = 1.0 + (relative.reference_leverage - 1.0) * 100.0 / value
    shared = math.hypot(
        relative.uncertainty.u_common_ratio_pct(frequency_hz, relative.reference_hz), relative.readout_pct(leverage)
    )
    own = math.hypot(relative.reference_own_pct, relative.uncertainty.u_frequency_pct)
    scale = value / 100.0
    expanded = combine(
        (scale * math.hypot(shared, own), math.inf),
        (scale * model_pct, max(fit.degrees_of_freedom, 1)),
        probability=relative.uncertainty.probability,
    )
    return ResponseAt(frequency_hz=frequency_hz, response_pct=value, expanded=expanded, source="fitted model")


def _why_no_model(frequency_hz: float, relative: RelativeReadings, fit: BandFit | None) -> str | None:
    used = relative.readings.frequency_hz[relative.usable]
    if relative.why_no_reference is not None:
        return relative.why_no_reference
    if not used.min() <= frequency_hz <= used.max():
        return f"{frequency_hz:g} Hz lies outside the readings, which run from {used.min():g} to {used.max():g} Hz"
    if fit is None or not fit.adequate:
        return f"no reading at {frequency_hz:g} Hz, and no band model describes the readings"
    return None
