"""What acts on a channel: its set points with their relays, its monitor's display, and the groups that vote."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.model.names import RISING
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True)
class SetPoint:
    """A set point and its relay; ``level`` in the channel's input unit.

    ``tolerance`` is how far the level of action may lie from ``level``; None where the channel's own tolerance holds.
    ``delay_s`` (lowest, highest) is from the level being exceeded to the relay, in seconds; None where none is stated.
    ``direction`` is the way of the level on which it acts; a ``latching`` relay stays until it is reset.
    """

    name: str
    level: float
    tolerance: Tolerance | None = None
    delay_s: tuple[float, float] | None = None
    direction: str = RISING
    latching: bool = False


@dataclass(frozen=True, kw_only=True)
class Indication:
    """What the monitor shows: ``full_scale`` and ``display_step`` in ``unit``.

    ``tolerance``, its parts in ``unit``, is how far it may lie from the true level; None where the channel's own holds.
    """

    unit: Unit
    full_scale: float
    display_step: float | None = None
    tolerance: Tolerance | None = None


@dataclass(frozen=True, kw_only=True)
class VotingGroup:
    """Channels whose set points are voted on: the group acts where ``needed`` of its ``channels`` are in trip.

    ``logic`` is as it is written, ``2oo3``; ``set_point`` names the set point of each channel that votes.
    """

    tag: str
    logic: str
    needed: int
    channels: tuple[str, ...]
    set_point: str
