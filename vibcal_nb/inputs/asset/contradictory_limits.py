"""Limits of a band response that no reading could meet together are a slip of the pen, and are said at once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.asset import BandSpecification
from vibcal_nb.model.band_requirements import requirements_of

NEAR = 0.01  # readings within 1 % of a frequency count as taken at it


def note_contradictions(table: TomlTable, band: BandSpecification) -> None:
    """Note every two limits that apply at one frequency and leave no response that meets both."""
    for first, second in combinations(_ranges(band), 2):
        (name, hz, pct), (other, other_hz, other_pct) = first, second
        touch = hz[0] * (1 - NEAR) <= other_hz[1] * (1 + NEAR) and other_hz[0] * (1 - NEAR) <= hz[1] * (1 + NEAR)
        if touch and max(pct[0], other_pct[0]) > min(pct[1], other_pct[1]):
            asked = f"{pct[0]:.4g} to {pct[1]:.4g} %"
            found = f"{other_pct[0]:.4g} to {other_pct[1]:.4g} % at {other_hz[0]:g} Hz where {name} asks {asked}"
            table.note(other, found, "keep the flat part, the corners and the limits from overlapping")


_Range = tuple[str, tuple[float, float], tuple[float, float]]


def _ranges(band: BandSpecification) -> Iterator[_Range]:
    """Each limit as its key, the frequencies it applies at, and the response it allows, in %."""
    if band.flat_hz is not None and band.flat_pct is not None:
        yield "flat_hz", band.flat_hz, (100.0 - band.flat_pct, 100.0 + band.flat_pct)
    for item in requirements_of(band):
        yield item.key, (item.frequency_hz, item.frequency_hz), (item.min_pct, item.max_pct)
