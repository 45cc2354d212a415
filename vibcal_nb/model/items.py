"""The items a channel is made of: which sensor, cable, converter and monitor were installed, and since when.

An exchange is done in the course of a day: what a visit found on that day was the old item, what it left is the new
one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
        said = [self.type or "unnamed", *([f"since {self.since.isoformat()}"] if self.since else [])]
        return f"{', '.join(said)}, no serial number stated"


@dataclass(frozen=True, kw_only=True)
class Exchange:
    """One item in place of another; None where none was stated before, or none is after."""

    part: str
    before: Item | None
    after: Item | None


def installed(items: Iterable[Item], *, day: date, condition: str) -> tuple[Item, ...]:
    """Return the items that a visit on ``day`` found installed, or (as left) left so; one a part at most.

    Of a part whose first item was installed on that very day there is nothing older to find: then it is that one.
    """
    found = []
    for part in PARTS:
        own = [item for item in items if item.part == part]
        before = [i for i in own if (i.since is None or i.since < day) and (i.until is None or i.until >= day)]
        after = [i for i in own if (i.since is None or i.since <= day) and (i.until is None or i.until > day)]
        found += (after if condition == AS_LEFT else before or after)[:1]
    return tuple(found)


def exchanges(before: Sequence[Item], after: Sequence[Item]) -> tuple[Exchange, ...]:
    """Return the parts whose item is another one, in the order in which the signal passes them.

    Items with the same serial number are the same item, whatever else is stated of them.
    """
    pairs = ((part, _of(before, part), _of(after, part)) for part in PARTS)
    return tuple(Exchange(part=part, before=old, after=new) for part, old, new in pairs if not _is_same(old, new))


def _of(items: Sequence[Item], part: str) -> Item | None:
    return next((item for item in items if item.part == part), None)


def _is_same(first: Item | None, second: Item | None) -> bool:
    if first is None or second is None or first.serial is None:
        return first == second
    return first.serial == second.serial
