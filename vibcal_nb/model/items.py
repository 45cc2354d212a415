"""The items a channel is made of: which sensor, cable, converter and monitor were installed, and since when.

An exchange is done in the course of a day: what a visit found on that day was the old item, what it left is the new
one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from vibcal_nb.model.names import AS_LEFT

SENSOR: Final = "sensor"
CABLE: Final = "cable"
CONVERTER: Final = "converter"
MONITOR: Final = "monitor"
PARTS = (SENSOR, CABLE, CONVERTER, MONITOR)
"""The parts of a channel, in the order in which the signal passes them."""


@dataclass(frozen=True, kw_only=True)
class Item:
    """One item: ``since`` None means from the beginning, ``until`` None until today; what is not stated is None.

    ``nominal_sensitivity`` is the item's own, in the units of the part that it is (the sensor's, or the module's for a
    converter); it holds while the item is installed.
    """

    part: str
    serial: str | None = None
    type: str | None = None
    since: date | None = None
    until: date | None = None
    nominal_sensitivity: float | None = None
    length_m: float | None = None
    slot: str | None = None

    @property
    def name(self) -> str:
        """What tells the item from others of its part: its serial number, else its type, else since when."""
        if self.serial is not None:
            return self.serial
        if self.type is None and self.since is None:
            return "not stated"
        since = [f"since {self.since.isoformat()}"] if self.since else []
        return ", ".join([self.type or self.part, *since, "no serial number stated"])


@dataclass(frozen=True, kw_only=True)
class Exchange:
    """One item in place of another, each by its name."""

    part: str
    before: str
    after: str


def installed(items: Iterable[Item], *, day: date, condition: str) -> tuple[Item, ...]:
    """Return the items that a visit on ``day`` found installed, or (as left) left so; one a part at most.

    Of a part whose first item was installed on that very day there is nothing older to find: then it is that one. Of
    earlier days it is an item of which nothing is stated.
    """
    found = []
    for part in PARTS:
        own = [item for item in items if item.part == part]
        before = [i for i in own if (i.since is None or i.since < day) and (i.until is None or i.until >= day)]
        after = [i for i in own if (i.since is None or i.since <= day) and (i.until is None or i.until > day)]
        found += (after if condition == AS_LEFT else before or after)[:1] or _unstated(own, day)
    return tuple(found)


def _unstated(own: Sequence[Item], day: date) -> list[Item]:
    first = min((item.since for item in own if item.since is not None), default=day)
    return [Item(part=own[0].part, until=first)] if day < first else []


def names_of(items: Iterable[Item]) -> dict[str, str]:
    """Return the items' names by part."""
    return {item.part: item.name for item in items}


def exchanges(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[Exchange, ...]:
    """Return the parts whose item has another name, in the order in which the signal passes them.

    Of a part that one side does not name nothing is known, and nothing is said.
    """
    return tuple(
        Exchange(part=part, before=before[part], after=after[part])
        for part in PARTS
        if part in before and part in after and before[part] != after[part]
    )
