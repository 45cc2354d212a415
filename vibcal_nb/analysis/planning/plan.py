"""A plan: the readings to take of one channel, and what the shaker cannot show."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.planning.expected_output import Expectation, ExpectedOutput
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True)
class PlannedPoint:
    """One reading to take: level in ``applied_unit``, output in ``output_unit`` as a good channel gives it.

    ``output`` is None where nothing tells what that is: of a gap curve without a stated voltage.
    ``reduced`` says that the shaker does not reach the level that was wanted. ``direction`` and ``repeat`` tell
    readings of the same level apart. ``expectation`` says what a good channel gives at any other level.
    """

    channel: str
    test: str
    frequency_hz: float
    level: float
    applied_unit: Unit
    output: ExpectedOutput | None
    output_unit: Unit
    purpose: str
    reduced: bool = False
    direction: str | None = None
    repeat: int | None = None
    expectation: Expectation | None = None


@dataclass(frozen=True, kw_only=True)
class OutOfReach:
    """What the shaker cannot show: the level wanted and reached, in ``unit``, and what would cover it."""

    what: str
    test: str
    frequency_hz: float
    level: float
    reached: float
    unit: Unit
    limited_by: str
    covers: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ChannelPlan:
    """The plan for one channel on one shaker, with what it was made from.

    Where ``mass_known`` is False nobody states what the shaker would carry: no level is held against what it reaches.
    """

    channel: Channel
    shaker: Shaker
    moving_mass_kg: float
    points: tuple[PlannedPoint, ...]
    out_of_reach: tuple[OutOfReach, ...]
    cautions: tuple[str, ...]
    mass_known: bool = True

    def of_test(self, test: str) -> tuple[PlannedPoint, ...]:
        """Return the points of one test."""
        return tuple(point for point in self.points if point.test == test)
