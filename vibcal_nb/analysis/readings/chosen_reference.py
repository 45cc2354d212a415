"""Which reference a level is known by: of those that the visit names, the one whose certificate covers its frequency.

Of several that cover it the one of the smallest U counts. Where ranges meet at the frequency the larger figure counts,
because nothing tells on which side of the edge the reading lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, lies_within
from vibcal_nb.model.equipment import Reference, ReferenceBand


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


def _covering(reference: Reference, frequency_hz: float) -> ChosenReference | None:
    """The reference with the wider of the ranges that hold the frequency: at a shared edge two do."""
    holding = [
        ChosenReference(reference=reference, band=band)
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
    return ChosenReference(reference=reference, band=band, covers=covers)


def _beyond(band: ReferenceBand, frequency_hz: float) -> float:
    """How far a frequency lies beyond a range, as a ratio of 1 or more."""
    return max(band.from_hz / frequency_hz, frequency_hz / band.to_hz, 1.0)
