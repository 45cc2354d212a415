"""Which reference a level is known by: of those that the visit names, the one whose certificate covers its frequency.

Of several that cover it the one of the smallest U counts. Where ranges meet at the frequency the larger figure counts,
because nothing tells on which side of the edge the reading lies. Rows may name their reference, which alone counts at
their frequency then.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, lies_within, same_frequency
from vibcal_nb.model.equipment import Reference, ReferenceBand
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.reference.reference_curve import u_interpolation_pct


@dataclass(frozen=True, kw_only=True)
class ChosenReference:
    """A reference and the range of its certificate that counts at one frequency.

    ``covers`` is False where the frequency lies outside all ranges of all references named: these are the nearest
    then, and nothing is verified by them.
    """

    reference: Reference
    band: ReferenceBand
    covers: bool = True

    @property
    def u_pct(self) -> float:
        """Standard uncertainty by the certificate, in % of the level."""
        return self.band.expanded_pct / self.band.k


def reference_at(
    references: Sequence[Reference], readings: Iterable[Reading], frequency_hz: float
) -> ChosenReference | None:
    """Return the reference by which readings at ``frequency_hz`` are known; None where none is named.

    Of those that the readings there name, or of all where they name none.
    """
    named = {
        reading.reference
        for reading in readings
        if reading.reference is not None and reading.frequency_hz and same_frequency(reading.frequency_hz, frequency_hz)
    }
    return choose_reference([item for item in references if item.id in named] or references, frequency_hz)


def choose_reference(references: Sequence[Reference], frequency_hz: float) -> ChosenReference | None:
    """Return the reference by which a level at ``frequency_hz`` is known; None where none is named.

    A reference whose ranges go on to both sides of the frequency goes before one that ends at it. Among equals the
    last calibrated counts. Up to 1 % beyond its end a range still covers: no shaker holds a frequency more closely.
    """
    covering = [found for item in references if (found := _covering(item, frequency_hz)) is not None]
    inside = [found for found in covering if _goes_on(found.reference, frequency_hz)]
    if inside:
        return min(inside, key=_preference)
    if covering:
        return max(covering, key=lambda found: found.u_pct)
    near = [_near(item, band, frequency_hz) for item in references for band in item.uncertainty]
    return min(near, key=lambda found: (_beyond(found.band, frequency_hz), *_preference(found)), default=None)


def _preference(found: ChosenReference) -> tuple[float, int]:
    return found.u_pct, -found.reference.calibrated.toordinal()


def known_at(reference: Reference, band: ReferenceBand, frequency_hz: float) -> ReferenceBand:
    """Return a range with what interpolating the reference's sensitivity at a frequency adds to its uncertainty."""
    if reference.sensitivity is None:
        return band
    u = math.hypot(band.expanded_pct / band.k, u_interpolation_pct(reference.sensitivity, frequency_hz))
    return replace(band, expanded_pct=u * band.k)


def _covering(reference: Reference, frequency_hz: float) -> ChosenReference | None:
    """The reference with the wider of the ranges that hold the frequency: at a shared edge two do."""
    holding = [
        ChosenReference(reference=reference, band=known_at(reference, band, frequency_hz))
        for band in reference.uncertainty
        if lies_within(frequency_hz, band.from_hz, band.to_hz)
    ]
    return max(holding, key=lambda found: found.u_pct, default=None)


def _goes_on(reference: Reference, frequency_hz: float) -> bool:
    bands = reference.uncertainty
    below = any(band.from_hz < frequency_hz <= band.to_hz for band in bands)
    return below and any(band.from_hz <= frequency_hz < band.to_hz for band in bands)


def _near(reference: Reference, band: ReferenceBand, frequency_hz: float) -> ChosenReference:
    covers = _beyond(band, frequency_hz) <= 1.0 + SAME_FREQUENCY_PCT / 100.0
    return ChosenReference(reference=reference, band=known_at(reference, band, frequency_hz), covers=covers)


def _beyond(band: ReferenceBand, frequency_hz: float) -> float:
    """How far a frequency lies beyond a range, as a ratio of 1 or more."""
    return max(band.from_hz / frequency_hz, frequency_hz / band.to_hz, 1.0)
