"""The response at one frequency, re the reference: read there, or by the fitted model within the readings."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.band_response.band_model import BandFit, evaluate_band, response_uncertainty
from vibcal_nb.analysis.band_response.corner import BY_MODEL
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.readings.relative_response import RelativeReadings
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand


@dataclass(frozen=True, kw_only=True)
class ResponseAt:
    """The response at a frequency, in %: ``source`` is ``reading`` or ``fitted model``, or None with a reason.

    ``lacks_model`` says that it hangs on the band model, which does not describe the readings.
    """

    frequency_hz: float
    response_pct: float | None
    expanded: Expanded | None
    source: str | None
    reason: str | None = None
    lacks_model: bool = False


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
    reason = _why_unknown(frequency_hz, relative)
    lacks_model = reason is None and (fit is None or fit.inadequate is not None)
    if lacks_model:
        model = "no band model was fitted" if fit is None else fit.inadequate
        reason = f"no reading at {frequency_hz:g} Hz, and {model}"
    if reason is not None or fit is None or relative.reference_sensitivity is None:
        return ResponseAt(
            frequency_hz=frequency_hz,
            response_pct=None,
            expanded=None,
            source=None,
            reason=reason,
            lacks_model=lacks_model,
        )
    value = 100.0 * float(evaluate_band(fit, frequency_hz)) / relative.reference_sensitivity
    u_pct = value * response_uncertainty(fit, frequency_hz, reference_hz=relative.reference_hz)
    expanded = expand(u_pct, fit.fitness.nu, probability=relative.uncertainty.probability)
    return ResponseAt(frequency_hz=frequency_hz, response_pct=value, expanded=expanded, source=BY_MODEL)


def _why_unknown(frequency_hz: float, relative: RelativeReadings) -> str | None:
    used = relative.readings.frequency_hz[relative.usable]
    if relative.why_no_reference is not None:
        return relative.why_no_reference
    if not used.min() <= frequency_hz <= used.max():
        return f"{frequency_hz:g} Hz lies outside the readings, which run from {used.min():g} to {used.max():g} Hz"
    return None
