"""One result as it stands among thousands: what the site overview is made from.

Named tuples, because there are hundreds of thousands: they take half the time and memory of a frozen dataclass.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from vibcal_nb.analysis.channel.reach_point import DOES_NOT_ACT
from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.analysis.readings.grouping import REACHED
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.model.names import AS_FOUND, AS_LEFT

Day = date  # where a field has the other name


class SetPointReach(NamedTuple):
    """A set point at a rotor's speed, and the highest level read there (None: none was), in the channel's unit.

    ``status`` is that of the channel's reach; None where a test alone tells how far it was driven.
    """

    rotor: str
    frequency_hz: float
    set_point: str
    level: float
    max_applied: float | None
    unit: str
    status: str | None = None

    @property
    def is_known(self) -> bool:
        """Whether it is known where the set point is indicated; by a test alone, whether it was driven to it (3 %)."""
        if self.status is not None:
            return self.status not in (NOT_VERIFIED, DOES_NOT_ACT)
        return self.max_applied is not None and self.max_applied >= REACHED * self.level


class Instrument(NamedTuple):
    """A reference or readout under one certificate."""

    id: str
    kind: str
    serial: str
    calibrated: date
    due: date


class SiteResult(NamedTuple):
    """A result of one channel at one visit; ``record`` is where it is found.

    ``gates`` name what kept a pass from being said, ``missing`` the tests that a whole channel lacks; ``excluded`` and
    ``not_read`` count readings and planned rows that the verdict leaves out.
    ``retired`` is the first day on which the channel is no longer in service, None where it is.
    """

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
    gates: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    excluded: int = 0
    not_read: int = 0
    retired: Day | None = None


def latest_states(results: Sequence[SiteResult]) -> dict[str, tuple[SiteResult, SiteResult]]:
    """Return, by analysis, the channel's latest result as found and as left (the same where nothing was done)."""
    states: dict[str, tuple[SiteResult, SiteResult]] = {}
    for item in sorted(results, key=lambda r: (r.date, r.condition != AS_FOUND)):
        found = states.get(item.analysis)
        same_visit = found is not None and found[0].date == item.date and item.condition == AS_LEFT
        states[item.analysis] = (found[0], item) if same_visit and found is not None else (item, item)
    return states
