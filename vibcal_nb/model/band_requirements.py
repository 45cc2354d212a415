"""The limits of a band response that hold at single frequencies: at the corners, and those of the free table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.model.asset import BandSpecification


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """Limits on the response at one frequency, in % of the reference reading.

    ``name`` says where they come from, ``key`` where they stand in the [band] table of asset.toml.
    """

    name: str
    key: str
    frequency_hz: float
    min_pct: float
    max_pct: float


def requirements_of(band: BandSpecification) -> Iterator[Requirement]:
    """Yield the limits that hold at single frequencies: the corners', then the table's."""
    low, high = (100.0 * 10.0 ** (limit / 20.0) for limit in band.corner_db)
    corners = (
        ("lower corner", "corner_low_hz", band.corner_low_hz),
        ("upper corner", "corner_high_hz", band.corner_high_hz),
    )
    for name, key, corner in corners:
        if corner is not None:
            yield Requirement(name=name, key=key, frequency_hz=corner, min_pct=low, max_pct=high)
    for number, limit in enumerate(band.limits, start=1):
        yield Requirement(
            name=f"limit at {limit.frequency_hz:g} Hz",
            key=f"limits[{number}]",
            frequency_hz=limit.frequency_hz,
            min_pct=limit.min_pct,
            max_pct=limit.max_pct,
        )
