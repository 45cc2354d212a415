"""What to try from the output to the relay: the approach to each set point, the states of a vote, the electrical items.

An approach closes in from below in steps of parts of the tolerance, goes on until the relay acts, and comes back from
above until it lets go; it is made twice. Votes are tried state by state, the fewest in trip first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from vibcal_nb.metrology.switching.voting_logic import states_of
from vibcal_nb.model.asset import Asset, Channel
from vibcal_nb.model.names import DIRECTIONS, ELECTRICAL, RISING, SET_POINT, VOTING

TOWARDS = (-4.0, -2.0, -1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0, 1.5)
"""Levels towards a set point, as parts of its tolerance from where it is set."""
BACK = (0.5, 0.0, -0.5, -1.0, -2.0, -4.0)
APPROACHES = 2


@dataclass(frozen=True, kw_only=True)
class PlannedCheck:
    """One row to try: what of it is stated depends on its test; ``level``, ``lower`` and ``upper`` in ``unit``."""

    channel: str
    test: str
    purpose: str
    frequency_hz: float | None = None
    level: float | None = None
    unit: str | None = None
    set_point: str | None = None
    direction: str | None = None
    repeat: int | None = None
    in_trip: str | None = None
    item: str | None = None
    lower: float | None = None
    upper: float | None = None


def plan_checks(
    asset: Asset, tags: Iterable[str], *, tests: Iterable[str], condition: str, reach: Callable[[Channel, float], float]
) -> tuple[PlannedCheck, ...]:
    """Plan the rows of set points, votes and electrical items of some channels, as far as ``tests`` names them.

    ``reach`` returns the highest level of a channel that the shaker reaches at a frequency, in its input unit; nothing
    above it is planned.
    """
    wanted, chosen = tuple(tests), tuple(tags)
    found: list[PlannedCheck] = []
    for tag in chosen:
        channel = asset.channel(tag, condition)
        found += [*_items(channel)] if ELECTRICAL in wanted else []
        found += [*_approaches(channel, reach)] if SET_POINT in wanted else []
    for tag, channel in asset.groups.items() if VOTING in wanted else ():
        group = channel.group
        if group is not None and set(group.channels) & set(chosen):
            found += [
                PlannedCheck(channel=tag, test=VOTING, purpose=group.logic, in_trip=" ".join(state))
                for state in states_of(group.channels)
            ]
    return tuple(found)


def _items(channel: Channel) -> Iterator[PlannedCheck]:
    for limit in channel.electrical:
        purpose = "before anything is shaken"
        yield PlannedCheck(
            channel=channel.tag,
            test=ELECTRICAL,
            purpose=purpose,
            item=limit.item,
            unit=limit.unit,
            lower=limit.lower,
            upper=limit.upper,
        )


def _approaches(channel: Channel, reach: Callable[[Channel, float], float]) -> Iterator[PlannedCheck]:
    """Yield the approaches at the slowest speed, where a shaker reaches most."""
    if not channel.rotors:
        return
    hz = min(rotor.speed_hz for rotor in channel.rotors)
    most = reach(channel, hz)
    for name, _ in channel.set_points:
        relay = channel.relay_of(name)
        tolerance = relay.tolerance or channel.tolerance
        allowed = tolerance.allowed(relay.level, full_scale=channel.full_scale)
        sign = 1.0 if relay.direction == RISING else -1.0
        other = next(direction for direction in DIRECTIONS if direction != relay.direction)
        timed = "" if relay.delay_s is None else ", take the delay"
        ways: list[tuple[str, tuple[float, ...], str]] = [(relay.direction, TOWARDS, f"{name}: until it acts{timed}")]
        ways += [] if relay.latching else [(other, BACK, f"{name}: until it lets go")]
        for repeat in range(1, APPROACHES + 1):
            for direction, parts, purpose in ways:
                for part in parts:
                    level = relay.level + sign * part * allowed
                    if level > most:
                        continue
                    yield PlannedCheck(
                        channel=channel.tag,
                        test=SET_POINT,
                        purpose=purpose,
                        frequency_hz=hz,
                        level=level,
                        unit=channel.input_unit.text,
                        set_point=name,
                        direction=direction,
                        repeat=repeat,
                    )
