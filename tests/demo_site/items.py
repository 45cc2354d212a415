"""What is installed at the invented site: serial numbers, and what was exchanged when."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Exchanged:
    """A part of a channel that was exchanged on a day; ``nominal`` is the new one's own where it is another."""

    asset: str
    channel: str
    part: str
    day: str
    nominal: float | None = None


EXCHANGES = (
    Exchanged(asset="STG-1", channel="V32", part="cable", day="2024-06-03"),
    Exchanged(asset="STG-1", channel="V31", part="sensor", day="2025-05-06", nominal=5.2),
    Exchanged(asset="BFP-2", channel="A21", part="sensor", day="2025-05-13"),
    Exchanged(asset="BFP-2", channel="A22", part="sensor", day="2026-04-21"),
)
_LETTERS = {"sensor": "S", "cable": "K", "converter": "C", "monitor": "M"}


def exchanges_of(asset: str, channel: str, part: str) -> list[Exchanged]:
    """The exchanges of one part, in time."""
    return [e for e in EXCHANGES if (e.asset, e.channel, e.part) == (asset, channel, part)]


def sensors_before(asset: str, channel: str, day: str, condition: str) -> list[Exchanged]:
    """The sensor's exchanges up to a visit: one on the very day lies between as found and as left."""
    found = exchanges_of(asset, channel, "sensor")
    return [e for e in found if e.day < day or (e.day == day and condition == "as-left")]


def sensor_nominal(asset: str, channel: str, day: str, condition: str, usual: float) -> float:
    """The nominal sensitivity of the sensor that a visit found, or left."""
    done = sensors_before(asset, channel, day, condition)
    return (done[-1].nominal or usual) if done else usual


def serial(asset: str, channel: str, part: str, number: int) -> str:
    """The serial number of the ``number``-th item of a part."""
    digits = "".join(re.findall(r"\d", f"{asset}{channel}"))
    return f"{_LETTERS[part]}-{digits}{number}"


def items_text(asset: str, channel: str, installed: dict[str, str]) -> str:
    """The keys of the items of a channel; ``installed`` holds by part what all channels' items have alike."""
    return "".join(f"{part} = {_part(asset, channel, part, alike)}\n" for part, alike in installed.items())


def _part(asset: str, channel: str, part: str, alike: str) -> str:
    tables = list(_tables(asset, channel, part, alike))
    return tables[0] if len(tables) == 1 else "[\n" + "".join(f"    {table},\n" for table in tables) + "]"


def _tables(asset: str, channel: str, part: str, alike: str) -> Iterator[str]:
    done = exchanges_of(asset, channel, part)
    for number in range(len(done) + 1):
        keys = [f'serial = "{serial(asset, channel, part, number)}"', alike]
        if number:
            before = done[number - 1]
            keys.append(f"since = {before.day}")
            keys += [] if before.nominal is None else [f"nominal_sensitivity = {before.nominal}"]
        if number < len(done):
            keys.append(f"until = {done[number].day}")
        yield "{ " + ", ".join(keys) + " }"
