"""One set point at one rotor speed: the true vibration at which it is indicated, and how far that was shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.asset import Rotor

Status = Literal["proved", "demonstrated", "inferred", "not verified", "does not act"]
PROVED: Final = "proved"
DEMONSTRATED: Final = "demonstrated"
INFERRED: Final = "inferred"
DOES_NOT_ACT: Final = "does not act"


@dataclass(frozen=True, kw_only=True)
class ReachAnswer:
    """What the tests say of a level to be reached; levels in the channel's input unit.

    ``true_level`` is the vibration at which the channel indicates the set point, with ``expanded``; both are None
    where the status is ``not verified`` or ``does not act``. ``reason`` says why it is not verified;
    ``extrapolated_level`` then is where the line would come to the set point, None where there is none or where that
    is so far off that it says nothing. ``highest_level`` is the highest level driven in the test that the answer rests
    on, ``reached_pct`` the highest indication, in % of the set point. Of a channel that does not act ``highest_level``
    is the level at which it did not, and ``silent_pct`` what it indicated there, in % of the set point (None where its
    relay was tried).
    ``extrapolation_adds`` is the part of U that comes from going beyond the readings. ``basis`` names the tests.
    """

    status: Status
    basis: str
    true_level: float | None = None
    expanded: Expanded | None = None
    extrapolated_level: float | None = None
    highest_level: float | None = None
    reached_pct: float | None = None
    silent_pct: float | None = None
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
