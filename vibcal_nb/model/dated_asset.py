"""An asset over the years: limits that were restated from a date on, items that were exchanged, names that changed.

A visit is judged by what held on its day, for ever: nothing that is stated of a later day changes it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from vibcal_nb.model.asset import Asset, Channel, Rotor, channel_of
from vibcal_nb.model.items import CONVERTER, SENSOR, Item, installed
from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.model.relay.set_points import VotingGroup


@dataclass(frozen=True, kw_only=True)
class DatedChannel:
    """A channel with its limits by date, the first since None (always), and all items that it ever had.

    ``retired`` is the first day on which it is no longer in service.
    """

    limits: tuple[tuple[date | None, Channel], ...]
    items: tuple[Item, ...] = ()
    retired: date | None = None

    @property
    def formerly(self) -> tuple[str, ...]:
        """The older tags of the channel."""
        return self.limits[-1][1].formerly

    def on(self, day: date, condition: str) -> Channel:
        """Return the channel as it should be on a day, with the items that were found, or left, installed."""
        channel = next(channel for since, channel in reversed(self.limits) if since is None or since <= day)
        items = installed(self.items, day=day, condition=condition)
        own = {item.part: item.nominal_sensitivity for item in items if item.nominal_sensitivity is not None}
        changes: dict[str, object] = {"items": items}
        if SENSOR in own and channel.sensor is not None:
            changes["sensor"] = replace(channel.sensor, nominal_sensitivity=own[SENSOR])
        if CONVERTER in own and channel.module is not None:
            changes["module"] = replace(channel.module, nominal_sensitivity=own[CONVERTER])
        return replace(channel, **changes)  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class DatedAsset:
    """An asset with the channels over the years, under their tags of today."""

    tag: str
    name: str
    rotors: tuple[Rotor, ...]
    channels: Mapping[str, DatedChannel]
    formerly: tuple[str, ...] = ()
    retired: date | None = None
    groups: tuple[VotingGroup, ...] = ()

    def on(self, day: date) -> Asset:
        """Return the asset as it was on a day; channels that were retired by then are told apart."""
        gone = {tag: c.retired for tag, c in self.channels.items() if c.retired is not None and c.retired <= day}
        kept = {tag: channel for tag, channel in self.channels.items() if tag not in gone}
        found = {tag: channel.on(day, AS_FOUND) for tag, channel in kept.items()}
        left = {tag: channel.on(day, AS_LEFT) for tag, channel in kept.items()}
        return Asset(
            tag=self.tag,
            name=self.name,
            rotors=self.rotors,
            channels=found,
            as_left={tag: channel for tag, channel in left.items() if channel != found[tag]},
            formerly=self.formerly,
            retired=self.retired,
            retired_channels=gone,
            groups={group.tag: _as_channel(group, found) for group in self.groups if set(group.channels) <= set(found)},
        )


def _as_channel(group: VotingGroup, channels: Mapping[str, Channel]) -> Channel:
    first = channels[group.channels[0]]
    return channel_of(group, input_unit=first.input_unit, output_unit=first.output_unit)
