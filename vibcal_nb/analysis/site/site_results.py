"""One result as it stands among thousands: what the site overview is made from.

Named tuples, because there are hundreds of thousands: they take half the time and memory of a frozen dataclass.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.analysis.readings.grouping import REACHED
from vibcal_nb.model.names import AS_FOUND, AS_LEFT


class SetPointReach(NamedTuple):
    """A set point at a rotor's speed, and the highest level read there (None: none was), in the channel's unit."""

    rotor: str
    frequency_hz: float
    set_point: str
    level: float
    max_applied: float | None
    unit: str

    @property
    def demonstrated(self) -> bool:
        """Whether the channel was driven to the set point, levels within 3 % being one level."""
        return self.max_applied is not None and self.max_applied >= REACHED * self.level


class Instrument(NamedTuple):
    """A reference or readout under one certificate."""

    id: str
    kind: str
    serial: str
    calibrated: date
    due: date


class SiteResult(NamedTuple):
    """A result of one channel at one visit; ``record`` is where it is found."""

    asset: str
    channel: str
    location: str
    visit: str
    date: date
    analysis: str
    condition: str
    verdict: str
    margin_pct: float | None
    worst: str | None
    record: str
    observations: tuple[Observation, ...]
    set_points: tuple[SetPointReach, ...]
    equipment: tuple[Instrument, ...]


def latest_states(results: Sequence[SiteResult]) -> dict[str, tuple[SiteResult, SiteResult]]:
    """Return, by analysis, the channel's latest result as found and as left (the same where nothing was done)."""
    states: dict[str, tuple[SiteResult, SiteResult]] = {}
    for item in sorted(results, key=lambda r: (r.date, r.condition != AS_FOUND)):
        found = states.get(item.analysis)
        same_visit = found is not None and found[0].date == item.date and item.condition == AS_LEFT
        states[item.analysis] = (found[0], item) if same_visit and found is not None else (item, item)
    return states
