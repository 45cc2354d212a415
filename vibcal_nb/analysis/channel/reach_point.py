"""One set point at one rotor speed: the true vibration at which it is indicated, and how far that was shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.asset import Rotor

Status = Literal["demonstrated", "inferred", "not verified"]


@dataclass(frozen=True, kw_only=True)
class ReachAnswer:
    """What the tests say of a level to be reached; levels in the channel's input unit.

    ``true_level`` is the vibration at which the channel indicates the set point, with ``expanded``; both are None
    where the status is ``not verified``, and ``reason`` says why; ``extrapolated_level`` then is where the line
    would meet the set point if it went on straight, None where there is none. ``highest_level`` is the highest level
    driven in the test that the answer rests on, ``reached_pct`` that in % of the level to be reached.
    ``extrapolation_adds`` is the part of U that comes from going beyond it. ``basis`` names the tests.
    """

    status: Status
    basis: str
    true_level: float | None = None
    expanded: Expanded | None = None
    extrapolated_level: float | None = None
    highest_level: float | None = None
    reached_pct: float | None = None
    extrapolation_adds: float | None = None
    reason: str | None = None


@dataclass(frozen=True, kw_only=True)
class ReachPoint(ReachAnswer):
    """The answer for one set point at one speed; ``rotor`` is None where the channel names none."""

    rotor: Rotor | None
    frequency_hz: float
    set_point: str
    set_level: float

    @property
    def reading_error_pct(self) -> float | None:
        """What the channel reads wrong at the true level, in % of it."""
        return None if self.true_level is None else 100.0 * (self.set_level / self.true_level - 1.0)

    @property
    def reading_error_expanded_pct(self) -> float | None:
        """Expanded uncertainty of the reading error, in %."""
        if self.true_level is None or self.expanded is None:
            return None
        return 100.0 * self.set_level / self.true_level**2 * self.expanded.U
