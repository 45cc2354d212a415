"""The limits of a response that apply at one frequency."""

from __future__ import annotations

import math

from vibcal_nb.analysis.readings.grouping import lies_within, same_frequency
from vibcal_nb.model.asset import BandSpecification, SensorSpecification
from vibcal_nb.model.band_requirements import Requirement


def point_limits(
    frequency_hz: float, band: BandSpecification, required: tuple[Requirement, ...]
) -> tuple[float | None, float | None]:
    """Return the tightest limits in % at a frequency: flat part, ``required`` corners and table; None without any."""
    limits = [(r.min_pct, r.max_pct) for r in required if same_frequency(frequency_hz, r.frequency_hz)]
    if in_flat_part(frequency_hz, band):
        limits.append((100.0 - (band.flat_pct or 0.0), 100.0 + (band.flat_pct or 0.0)))
    if not limits:
        return None, None
    return max(low for low, _ in limits), min(high for _, high in limits)


def in_flat_part(frequency_hz: float, part: BandSpecification | SensorSpecification) -> bool:
    """Whether a frequency lies where the response must be flat; without stated ends that is everywhere."""
    return part.flat_pct is not None and bool(lies_within(frequency_hz, *(part.flat_hz or (0.0, math.inf))))
